"""Games set from PGN files, and opening tables."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from builder.model.line import Line, Ply, VariationEnd, VariationStart
from builder.place import Place

if TYPE_CHECKING:
    from builder.model.parts import Diagram


@dataclass(frozen=True, slots=True)
class GameTags:
    """A game's tag pairs as its file has them (PGN standard 8.1), cleaned."""

    pairs: tuple[tuple[str, str], ...]

    def get(self, name: str) -> str:
        """The tag's value; empty where it is missing or not known (8.1.1: `?`)."""
        value = next((value for key, value in self.pairs if key == name), "")
        return "" if value.strip("?.- ") == "" else value

    @property
    def white(self) -> str:
        return self.get("White")

    @property
    def black(self) -> str:
        return self.get("Black")

    @property
    def result(self) -> str:
        """`1-0`, `0-1`, `1/2-1/2`, or `*` where it isn't told."""
        value = self.get("Result")
        return value if value in ("1-0", "0-1", "1/2-1/2") else "*"


@dataclass(frozen=True, slots=True)
class Parting:
    """Where a game leaves the booklet's lines for good.

    `ply` is the game's last move whose position the lines reach, `met` the ply that reaches it
    there; `diagram` is the last diagram on the way to `met`. `goes_on` are the moves that the
    lines give there; none where they end too. `chapter` is the number of the chapter of `met`.
    `transposed` tells that the game came by another
    order of moves.
    """

    ply: Ply = field(repr=False)
    met: Ply = field(repr=False)
    diagram: Diagram | None = field(repr=False)
    goes_on: tuple[Ply, ...] = field(repr=False)
    chapter: int
    transposed: bool


@dataclass(frozen=True, slots=True)
class Game:
    """A whole game, or a part of it, from a PGN file of the booklet.

    `begins` is the first of the line's main moves that is set in full: those before it are set
    short, and have neither comments nor variations. None: no move is set in full. `cut` tells
    that the game went on behind the line's last move. `number` runs through the booklet.
    """

    anchor: str
    chapter: str
    number: int
    tags: GameTags
    line: Line
    begins: Ply | None = field(repr=False)
    cut: bool
    parting: Parting | None
    place: Place = field(repr=False)

    def lead(self) -> tuple[Ply, ...]:
        """The moves that are set short."""
        found: list[Ply] = []
        for ply in self.line.main_plies():
            if ply is self.begins:
                break
            found.append(ply)
        return tuple(found)


# --- opening tables ---------------------------------------------------------------------------

NoteItem: TypeAlias = Ply | VariationStart | VariationEnd


@dataclass(frozen=True, slots=True)
class TableNote:
    """A side-line below an opening table: `instead_of` is the move that it replaces. `items` is
    a stream like a line's; `cut` tells that the text goes on behind it."""

    number: int
    instead_of: Ply = field(repr=False)
    items: tuple[NoteItem, ...] = field(repr=False)
    cut: bool

    @property
    def first(self) -> Ply:
        return next(item for item in self.items if isinstance(item, Ply))


@dataclass(frozen=True, slots=True)
class RunsInto:
    """The end of a column is a position of another one: after its move `ply`."""

    column: int
    ply: Ply = field(repr=False)


@dataclass(frozen=True, slots=True)
class TableColumn:
    """A way through the booklet's lines.

    `plies` lead from the table's start position to the column's end; columns that begin with
    the same moves hold the same plies. From `own` on they are the column's alone or shared
    with later ones. `notes` belong to plies of the column, and `sign` is the NAG that
    judges its end. `number` counts from 1; `chapter` is the number of the chapter where the
    column's own moves stand.
    """

    number: int
    plies: tuple[Ply, ...] = field(repr=False)
    own: int
    chapter: int
    notes: tuple[TableNote, ...] = field(repr=False)
    sign: int | None
    runs_into: RunsInto | None


@dataclass(frozen=True, slots=True)
class OpeningTable:
    """An opening table: columns in the order in which they share most with their neighbours.

    `of` is the line's name; None for the whole booklet's table.
    """

    anchor: str
    chapter: str
    of: str | None
    columns: tuple[TableColumn, ...]
    place: Place = field(repr=False)
