"""What a board drawing is made from, and where its squares lie.

Nothing here knows the booklet: the drawing of boards stands on its own. Squares are numbered
0 = a1 … 63 = h8. On the drawn board, columns and rows count from 0 at the top left corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

MarkKind: TypeAlias = Literal["plan", "threat", "guard", "key", "weak", "label"]

EMPTY = "."
PIECES = "KQRBNPkqrbnp"
FILES = "abcdefgh"
_GAPS = {ord(digit): EMPTY * int(digit) for digit in "12345678"}


@dataclass(frozen=True, slots=True)
class Mark:
    """An annotation, by what it means.

    `squares` is a path of two or more for plan, threat and guard; one or more for key and
    weak; one for label, whose words are `text`.
    """

    kind: MarkKind
    squares: tuple[int, ...]
    text: str = ""

    def __post_init__(self) -> None:
        """Raises ValueError for squares that are none, or too few or many for the kind."""
        fewest = 2 if self.kind in ("plan", "threat", "guard") else 1
        if len(self.squares) < fewest or (self.kind == "label" and len(self.squares) > 1):
            raise ValueError(f"{self.kind} can't be drawn on {len(self.squares)} squares")
        if not all(0 <= square < 64 for square in self.squares):
            raise ValueError(f"not squares of the board: {self.squares}")


@dataclass(frozen=True, slots=True)
class BoardView:
    """A position as somebody sees it.

    `placement` is the piece placement field of a FEN. `white_to_move` None draws no mark for
    the side to move. `flip` shows the board from Black's side. `last_move` is from, to.
    """

    placement: str
    white_to_move: bool | None = None
    flip: bool = False
    marks: tuple[Mark, ...] = ()
    last_move: tuple[int, int] | None = None
    coordinates: bool = True


def ranks(placement: str) -> tuple[str, ...]:
    """The ranks 8 to 1, each as eight letters of `PIECES` or `EMPTY`.

    Raises ValueError when `placement` is not the placement field of a FEN (PGN standard,
    16.1.3.1).
    """
    found = []
    for written in placement.split("/"):
        rank = written.translate(_GAPS)
        if len(rank) != 8 or EMPTY in written or rank.strip(PIECES + EMPTY):
            raise ValueError(f"not a piece placement: {placement!r}")
        found.append(rank)
    if len(found) != 8:
        raise ValueError(f"not a piece placement: {placement!r}")
    return tuple(found)


def placement(board_ranks: tuple[str, ...]) -> str:
    """The FEN field for ranks as `ranks` gives them."""
    fields = []
    for rank in board_ranks:
        for count in range(8, 0, -1):
            rank = rank.replace(EMPTY * count, str(count))
        fields.append(rank)
    return "/".join(fields)


def rows(view: BoardView) -> tuple[str, ...]:
    """The rows of the drawn board from top to bottom, each from left to right."""
    seen = ranks(view.placement)
    return tuple(rank[::-1] for rank in reversed(seen)) if view.flip else seen


def column_row(square: int, flip: bool) -> tuple[int, int]:
    """Where a square lies on the drawn board."""
    column, row = square & 7, 7 - (square >> 3)
    return (7 - column, 7 - row) if flip else (column, row)


def square_name(square: int) -> str:
    return f"{FILES[square & 7]}{(square >> 3) + 1}"


def file_letters(flip: bool) -> str:
    """The letters under the board, left to right."""
    return FILES[::-1] if flip else FILES


def rank_digits(flip: bool) -> str:
    """The digits beside the board, top to bottom."""
    return "12345678" if flip else "87654321"
