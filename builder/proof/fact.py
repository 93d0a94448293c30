"""What a claim turns out to be: facts, and the words that they are told in.

A fact function takes a `Case` and returns a `Fact`. It may play on the case's board, but leaves
it as it was. It raises `Senseless` when the claim presumes something that isn't so, as a pawn on
an empty square: then neither the claim nor its denial is true.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import chess

from builder.book.explain import explain_move
from builder.model import Claim, ClaimTerm, NamedPosition

# Common practice, no source: the values that the contract gives for counting material.
VALUES = (0, 1, 3, 3, 5, 9, 0)  # By piece type; a king is never exchanged.


@dataclass(frozen=True, slots=True)
class Fact:
    """Whether what is claimed holds, what the truth is, and how to write a true claim."""

    holds: bool
    finding: str
    remedy: str = ""


class Senseless(Exception):
    """The claim presumes what isn't so. Caught by `prove`."""

    def __init__(self, finding: str, remedy: str = "", code: str = "claim-false") -> None:
        super().__init__(finding)
        self.finding = finding
        self.remedy = remedy
        self.code = code


@dataclass(frozen=True, slots=True)
class Case:
    """A claim, a board of its own to look at, and the booklet's named positions."""

    claim: Claim
    board: chess.Board = field(repr=False)
    names: Mapping[str, NamedPosition] = field(repr=False)

    @property
    def term(self) -> ClaimTerm:
        return self.claim.term

    @property
    def square(self) -> chess.Square:
        return self.term.squares[0]

    @property
    def side(self) -> chess.Color:
        return bool(self.term.side)

    def piece(self, square: chess.Square) -> chess.Piece:
        """What stands on the square. Raises `Senseless` where nothing does."""
        piece = self.board.piece_at(square)
        if piece is None:
            raise Senseless(f"nothing stands on {chess.square_name(square)}")
        return piece

    def pawn(self, square: chess.Square) -> chess.Color:
        """The side of the pawn on the square. Raises `Senseless` where there is no pawn."""
        piece = self.board.piece_at(square)
        if piece is None or piece.piece_type != chess.PAWN:
            stands = f": {at(self.board, square)}" if piece else ""
            raise Senseless(f"no pawn stands on {chess.square_name(square)}{stands}")
        return piece.color

    def passed(self) -> chess.Board:
        """The board when the side to move passes. Raises `Senseless` when it is in check."""
        if self.board.is_check():
            raise Senseless(
                f"{side_name(self.board.turn)} is in check and can't pass",
                "a threat is what the side not to move would play",
            )
        board = self.board.copy(stack=False)
        board.push(chess.Move.null())
        return board


@dataclass(frozen=True, slots=True)
class Unplayable:
    """Why a move can't be played, and what could."""

    finding: str
    hint: str

    @property
    def reason(self) -> str:
        """The finding with the first thing that explains it."""
        because = self.hint.split("   ")[0]
        return f"{self.finding}: {because}" if because else self.finding


def read_move(board: chess.Board, san: str) -> chess.Move | Unplayable:
    """The legal move that the SAN means. Raises `Senseless` when it means none or two."""
    try:
        return board.parse_san(san)
    except ValueError as error:
        told = explain_move(san, board, error)
        if told.code != "move-illegal":
            raise Senseless(told.message, told.hint, "claim-move") from None
        return Unplayable(told.message, told.hint)


def played(board: chess.Board, san: str) -> chess.Move:
    """The legal move that the SAN means. Raises `Senseless` when there is none, and when its
    written `+` or `#` isn't so."""
    move = read_move(board, san)
    if isinstance(move, Unplayable):
        raise Senseless(move.finding, move.hint)
    wrong = wrong_sign(board, san, move)
    if wrong:
        raise Senseless(wrong, f"write {san.rstrip('+#')}{true_sign(board, move)}")
    return move


def true_sign(board: chess.Board, move: chess.Move) -> str:
    """`#` for a move that mates, `+` for one that gives check."""
    if not board.gives_check(move):
        return ""
    board.push(move)
    mate = board.is_checkmate()
    board.pop()
    return "#" if mate else "+"


def wrong_sign(board: chess.Board, san: str, move: chess.Move) -> str:
    """What is wrong with a `+` or `#` that is written; empty when nothing is."""
    sign = true_sign(board, move) if san[-1] in "+#" else san[-1]
    if san[-1] == sign:
        return ""
    gives = {"": "no check", "+": "check, but not mate", "#": "mate"}[sign]
    return f"{san} gives {gives}"


# --- words -------------------------------------------------------------------------------------


def side_name(side: chess.Color) -> str:
    return "White" if side else "Black"


def at(board: chess.Board, square: chess.Square) -> str:
    """`Nc6`, `pawn e5`; the square alone when it is empty."""
    kind = board.piece_type_at(square)
    name = chess.square_name(square)
    if kind == chess.PAWN:
        return f"pawn {name}"
    return chess.piece_symbol(kind).upper() + name if kind else name


def listed(board: chess.Board, squares: Iterable[chess.Square]) -> str:
    """The pieces on the squares, the cheaper first; `none` when there are none."""
    by_kind = sorted(squares, key=lambda square: (board.piece_type_at(square) or 0, square))
    return ", ".join(at(board, square) for square in by_kind) or "none"


def squares_listed(squares: Iterable[chess.Square]) -> str:
    return ", ".join(chess.square_name(square) for square in squares) or "none"


def counted(case: Case, what: str, items: str, value: int) -> Fact:
    """A fact of a claim that compares a count with a number."""
    term = case.term
    wanted = int(term.numbers[0])
    holds = {"=": value == wanted, ">=": value >= wanted, "<=": value <= wanted}[term.comparison]
    sign = "" if term.comparison == "=" else f"{term.comparison} "
    wrong = "" if holds else f", not {sign}{wanted}"
    written = re.sub(r"\s*[<>=≤≥]+[^<>=≤≥]*$", "", case.claim.text)
    remedy = "" if holds else f"write {written} = {value}"
    return Fact(holds, f"{what}: {items} = {value}{wrong}", remedy)
