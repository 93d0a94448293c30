"""Positions pasted as FEN, or drawn as a board of letters.

A FEN stands on one line; what EPD writes behind it is passed over, but for an `id`. A board is eight
lines of eight squares, as `plyleaf diagram` prints one: pieces as letters or as Unicode's figures,
a sign for an empty square, with or without numbers, letters and a frame round it. A line of words
in front of a position is its caption.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import chess

from builder.intake.reading import read_position
from builder.model import Position
from builder.pgn.lines import Line
from builder.pgn.tell import Teller
from builder.pgn.words import clean
from builder.place import Place

MOST_POSITIONS = 1000
_HEAD_LINES = 40  # that tell what a file holds

_FEN = re.compile(
    r"\s*(?P<fen>(?:[pnbrqkPNBRQK1-8]{1,8}/){7}[pnbrqkPNBRQK1-8]{1,8}"
    r"(?:[ \t]+[wb](?:[ \t]+(?:-|[KQkq]{1,4}))?(?:[ \t]+(?:-|[a-h][36]))?(?:[ \t]+\d+){0,2})?)"
    r"(?P<rest>(?:\s.*)?)$"
)
_ID = re.compile(r'\bid\s+"([^"]*)"')
_FIGURES = str.maketrans("♔♕♖♗♘♙♚♛♜♝♞♟", "KQRBNPkqrbnp")
_EMPTY = ".-_*·•+#:□■○◦⭘"
_FRAME = re.compile(r"[|¦│║]")
_BORDER = re.compile(r"[\s|¦│║+\-=─═┌┐└┘├┤┬┴┼╔╗╚╝╠╣╦╩╬]*")
_FILES = re.compile(r"[\s|+]*(a\s*b\s*c\s*d\s*e\s*f\s*g\s*h|h\s*g\s*f\s*e\s*d\s*c\s*b\s*a)[\s|+]*", re.I)
_SIDE = re.compile(r"\s*(?:(white|w)|(black|b))(?:\s+(?:to\s+move|to\s+play|moves))?\s*[.:]?\s*", re.I)
_ROW = re.compile(r"\s*(?P<rank>[1-8])?(?P<cells>.*?)(?P<after>[1-8])?\s*(?P<sign>[□■])?\s*")


@dataclass(frozen=True, slots=True)
class Given:
    """A position as it was given, and the words that stood with it."""

    position: Position
    caption: str


@dataclass(frozen=True, slots=True)
class _Row:
    """Eight squares, the rank's number if one stood there, and whose move a sign tells."""

    squares: str
    rank: str
    sign: str


def holds_positions(lines: Iterable[Line]) -> bool:
    """Whether a file begins with a FEN or a board rather than with a game."""
    rows = 0
    for line in lines:
        if line.number > _HEAD_LINES or line.text.lstrip().startswith("["):
            return False
        if _FEN.match(line.text):
            return True
        rows = rows + 1 if _row(line.text) else (rows if _BORDER.fullmatch(line.text) else 0)
        if rows == 8:
            return True
    return False


def read_positions(lines: Iterable[Line], tell: Teller) -> Iterator[Given]:
    """The positions of a file in order; what is wrong with one is an error at its line."""
    board = _Board()
    caption = ""
    count = 0
    for line in lines:
        found: Position | None = None
        fen = _FEN.match(line.text)
        row = None if fen else _row(line.text)
        if fen:
            yield from _finished(board, caption, tell)
            place = Place(tell.file, line.number, fen.start("fen") + 1, fen.end("fen") + 1)
            found = read_position(fen.group("fen"), place, tell)
            caption = _epd_words(fen.group("rest"), place, tell) or caption
        elif row:
            if len(board.rows) == 8:
                yield from _finished(board, caption, tell)
                caption = ""
            board.add(row, line)
        elif side := _SIDE.fullmatch(line.text):
            board.white = side.group(1) is not None
        elif _FILES.fullmatch(line.text):
            board.flipped = board.flipped or line.text.strip(" |+")[0] in "hH"
        elif not _BORDER.fullmatch(line.text):
            yield from _finished(board, caption, tell)
            caption = clean(line.text)[:200]
        if found is not None:
            yield Given(found, caption)
            caption = ""
        count += fen is not None or (row is not None and len(board.rows) == 8)
        if count > MOST_POSITIONS:
            tell.error("pgn-large", Place(tell.file, line.number, 1, 2),
                       f"the file holds more than {MOST_POSITIONS:,} positions; the rest is left "
                       "out", "split the file")  # fmt: skip
            return
    yield from _finished(board, caption, tell)


def _epd_words(rest: str, place: Place, tell: Teller) -> str:
    """The `id` of an EPD line; its other operations have no place in a diagram."""
    found = _ID.search(rest)
    if (_ID.sub("", rest)).strip(" \t;"):
        tell.leave("what stands behind a position is left out", lambda: place)
    return clean(found.group(1))[:200] if found else ""


# --- boards ---------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Board:
    """The rows of a board so far."""

    rows: list[_Row] = field(default_factory=list)
    line: int = 0
    white: bool | None = None
    flipped: bool = False

    def add(self, row: _Row, line: Line) -> None:
        self.rows.append(row)
        self.line = self.line or line.number


def _finished(board: _Board, caption: str, tell: Teller) -> Iterator[Given]:
    """The board's position, if there is one; the board is empty then."""
    rows, line = board.rows, board.line
    place = Place(tell.file, max(1, line), 1, 2)
    if len(rows) == 8:
        position = _position(board, place, tell)
        if position is not None:
            yield Given(position, caption)
    elif rows:
        tell.error("board", place, f"a board has eight rows; this one has {len(rows)}",
                   "write a sign, as a full stop, for every empty square")  # fmt: skip
    if rows:
        board.rows, board.line, board.white, board.flipped = [], 0, None, False


def _position(board: _Board, place: Place, tell: Teller) -> Position | None:
    rows = [row.squares for row in board.rows]
    if board.flipped or board.rows[0].rank == "1":
        rows = [row[::-1] for row in reversed(rows)]
    placement = "/".join(re.sub(r"\.+", lambda run: str(len(run.group())), row) for row in rows)
    white = board.white
    signs = [row.sign for row in board.rows if row.sign]
    if white is None and signs:
        white = signs[0] == "□"
    if white is None:
        white = True
        tell.leave("a board that does not say whose move it is has White to move", lambda: place)
    rights = _rights(placement)
    if rights != "-":
        tell.leave("a board tells no castling rights: kings and rooks at home are taken to have them",
                   lambda: place)  # fmt: skip
    return read_position(f"{placement} {'w' if white else 'b'} {rights} - 0 1", place, tell)


def _rights(placement: str) -> str:
    board = chess.Board(None)
    board.set_board_fen(placement)
    board.castling_rights = chess.BB_A1 | chess.BB_H1 | chess.BB_A8 | chess.BB_H8
    board.castling_rights = board.clean_castling_rights()
    return board.castling_xfen() or "-"


def _row(text: str) -> _Row | None:
    """A line as a row of a board, or None."""
    text = text.translate(_FIGURES)
    if len(text) > 100:
        return None
    match = _ROW.fullmatch(text)
    if match is None:
        return None
    squares = _squares(match.group("cells"))
    if squares is None:
        return None
    return _Row(squares, match.group("rank") or match.group("after") or "", match.group("sign") or "")


def _squares(text: str) -> str | None:
    """Eight letters, `.` for an empty square."""
    cells: Sequence[str]
    if len(_FRAME.findall(text)) >= 7 + text.count("||"):
        cells = [cell.strip() or "." for cell in _FRAME.split(text.strip().strip("|¦│║"))]
    else:
        cells = "".join(_FRAME.sub(" ", text).split())
    if len(cells) != 8 or any(len(cell) != 1 for cell in cells):
        return None
    row = "".join("." if cell in _EMPTY else cell for cell in cells)
    return row if re.fullmatch(r"[KQRBNPkqrbnp.]{8}", row) else None
