"""Boards as text: a plain board for terminals and tests, and the words that tell a position.

The words come from a `Words`, English by default; another language gives its own.
"""

from __future__ import annotations

from dataclasses import dataclass

from builder.draw.board import (
    EMPTY, FILES, BoardView, Mark, file_letters, rank_digits, ranks, rows, square_name,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Words:
    """What a described board says, in one language.

    Pieces are written as they stand in a list: `king g1`, `rooks a1 f1`. `{…}` marks where
    squares, a side's pieces or an author's text go; every field keeps its marks.
    """

    white: str = "White"
    black: str = "Black"
    king: str = "king"
    kings: str = "kings"
    queen: str = "queen"
    queens: str = "queens"
    rook: str = "rook"
    rooks: str = "rooks"
    bishop: str = "bishop"
    bishops: str = "bishops"
    knight: str = "knight"
    knights: str = "knights"
    pawn: str = "pawn"
    pawns: str = "pawns"
    no_pieces: str = "no pieces"
    side: str = "{side}: {pieces}."
    piece: str = "{piece} {squares}"
    comma: str = ", "
    white_to_move: str = "White to move."
    black_to_move: str = "Black to move."
    from_black: str = "Seen from Black's side."
    last_move: str = "Last move: {squares}."
    plan: str = "Plan: {squares}."
    threat: str = "Threat: {squares}."
    guard: str = "Protected: {squares}."
    key: str = "Key squares: {squares}."
    weak: str = "Weak squares: {squares}."
    label: str = "At {squares}: “{text}”."


ENGLISH = Words()

_ORDER = "KQRBNP"


def board_text(view: BoardView) -> str:
    """The board as lines of letters, `.` for an empty square, without a line end at the end."""
    lines = [" ".join(row) for row in rows(view)]
    if view.coordinates:
        digits = rank_digits(view.flip)
        lines = [f"{digit} {line}" for digit, line in zip(digits, lines, strict=True)]
        lines.append("  " + " ".join(file_letters(view.flip)))
    if view.white_to_move is not None:
        sign = "□" if view.white_to_move else "■"
        at = 7 if view.white_to_move != view.flip else 0
        lines[at] += f" {sign}"
    return "\n".join(lines)


def describe(view: BoardView, words: Words = ENGLISH) -> str:
    """The text alternative of a board: who stands where, who moves, what is marked."""
    standing = _standing(view)
    said = [_side(standing, words, white=True), _side(standing, words, white=False)]
    if view.white_to_move is not None:
        said.append(words.white_to_move if view.white_to_move else words.black_to_move)
    if view.flip:
        said.append(words.from_black)
    if view.last_move:
        said.append(_filled(words.last_move, squares=_path(view.last_move)))
    said += [_mark(mark, words) for mark in view.marks]
    return " ".join(said)


def _standing(view: BoardView) -> dict[str, list[str]]:
    """The squares of each kind of piece (a letter of the FEN), in alphabetical order."""
    seen = ranks(view.placement)
    found: dict[str, list[str]] = {}
    for column, file in enumerate(FILES):
        for row in range(7, -1, -1):
            letter = seen[row][column]
            if letter != EMPTY:
                found.setdefault(letter, []).append(f"{file}{8 - row}")
    return found


def _side(standing: dict[str, list[str]], words: Words, *, white: bool) -> str:
    groups = []
    for letter in _ORDER:
        squares = standing.get(letter if white else letter.lower())
        if squares:
            piece = _piece(letter, len(squares), words)
            groups.append(_filled(words.piece, piece=piece, squares=" ".join(squares)))
    return _filled(words.side, side=words.white if white else words.black,
                   pieces=words.comma.join(groups) or words.no_pieces)  # fmt: skip


def _piece(letter: str, count: int, words: Words) -> str:
    one, many = {
        "K": (words.king, words.kings), "Q": (words.queen, words.queens),
        "R": (words.rook, words.rooks), "B": (words.bishop, words.bishops),
        "N": (words.knight, words.knights), "P": (words.pawn, words.pawns),
    }[letter]  # fmt: skip
    return one if count == 1 else many


def _mark(mark: Mark, words: Words) -> str:
    if mark.kind in ("plan", "threat", "guard"):
        squares = _path(mark.squares)
    else:
        squares = " ".join(square_name(square) for square in mark.squares)
    return _filled(getattr(words, mark.kind), squares=squares, text=mark.text)


def _path(squares: tuple[int, ...]) -> str:
    return "–".join(square_name(square) for square in squares)


def _filled(pattern: str, **given: str) -> str:
    """The pattern with each `{name}` replaced. An author's text must come last: its own braces
    stay as they are."""
    for name, text in given.items():
        pattern = pattern.replace(f"{{{name}}}", text)
    return pattern
