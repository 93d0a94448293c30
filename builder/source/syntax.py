"""What the author wrote, parsed but not yet played out or resolved.

The prose nodes of `builder.model` serve here too; this module adds the nodes that the rules
of chess have still to turn into positions. `builder.book` replaces each of them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from builder import model
from builder.place import Place, Source
from builder.source.claims import ParsedClaim

# --- movetext --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NumberToken:
    """A move number: `dots` is 3 for Black's move, 1 for White's, 0 where none were written."""

    number: int
    dots: int
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class MoveToken:
    """A move as written, without its `!?`; `--` is a pass."""

    text: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class NagToken:
    value: int
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class NameToken:
    name: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class ResultToken:
    text: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class OpenToken:
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class CloseToken:
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class CommentToken:
    inlines: tuple[Inline, ...]
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class DiagramOptions:
    """What stands in `(D …)` and its like."""

    caption: tuple[Inline, ...] = ()
    flip: bool = False
    size: Literal["small", "normal", "large"] = "normal"
    marks: tuple[model.Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class DiagramToken:
    options: DiagramOptions
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class ClaimToken:
    claim: ParsedClaim
    text: str
    place: Place = field(repr=False)


MoveItem: TypeAlias = (
    NumberToken | MoveToken | NagToken | NameToken | ResultToken | OpenToken | CloseToken
    | CommentToken | DiagramToken | ClaimToken
)  # fmt: skip
ProseItem: TypeAlias = NumberToken | MoveToken | NagToken  # what moves in the prose are made of


@dataclass(frozen=True, slots=True)
class Start:
    """Where moves start: a name, a FEN position, or (both None) the initial position.

    `broken` tells that what was written could not be read (a fault was told): then nothing
    is played from it.
    """

    name: str | None = None
    position: model.Position | None = None
    place: Place | None = None
    broken: bool = False


# --- blocks ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class LineSource:
    given_id: str | None
    start: Start
    items: tuple[MoveItem, ...]
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class DiagramSource:
    """A diagram of a position given by name or by FEN, in a block or in the prose."""

    start: Start
    options: DiagramOptions
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class ExerciseSource:
    given_id: str
    start: Start
    options: DiagramOptions
    task: tuple[Block, ...]
    hint: tuple[Block, ...]
    solution: tuple[MoveItem, ...]
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class GameSource:
    """A game of a PGN file, whose places most of `items` have.

    `begins` is the number of the first main move that is set in full, from 0; None where the
    author leaves it to the booklet. `cut` tells that the game goes on behind what is set;
    `broken` that a fault was told in its movetext.
    """

    start: Start
    items: tuple[MoveItem, ...]
    tags: model.GameTags
    begins: int | None
    cut: bool
    file: str
    broken: bool
    place: Place = field(repr=False)

    @property
    def given_id(self) -> None:
        """A game has no name of its own."""
        return None


@dataclass(frozen=True, slots=True, eq=False)
class TableSource:
    """An opening table of the chapter's line `of`, or (None) of the whole booklet."""

    of: str | None
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class PlayedSource:
    """How often the moves at a position are played."""

    start: Start
    place: Place = field(repr=False)


# --- in the prose ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class MovesSource:
    """`[5.Nxc6 bxc6]`, or with `line` `[main: 5.Nxc6]`.

    `maybe` is for words of a PGN file that look like moves: the words as they stand, which are
    kept without a fault where no such moves are found.
    """

    line: str | None
    items: tuple[ProseItem, ...]
    place: Place = field(repr=False)
    maybe: str = ""


@dataclass(frozen=True, slots=True)
class PositionSource:
    """`[@pin]`, or with `words` `[the pin](@pin)`."""

    name: str
    words: tuple[Inline, ...] | None
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class ClaimSource:
    """`[words]{claim}`; `claim` is None when it could not be read."""

    words: tuple[Inline, ...]
    claim: ParsedClaim | None
    text: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class ChapterLink:
    """A link to another chapter's file, as written, relative to the booklet."""

    file: str
    title: str
    children: tuple[Inline, ...]
    place: Place = field(repr=False)


# Blocks of ours, which a reader of prose meets where it looks for words.
OwnBlock: TypeAlias = (
    LineSource | DiagramSource | ExerciseSource | GameSource | TableSource | PlayedSource
)
Inline: TypeAlias = (
    model.Inline | MovesSource | PositionSource | ClaimSource | DiagramSource | ChapterLink
)
Block: TypeAlias = model.Block | OwnBlock


@dataclass(frozen=True, slots=True)
class ChapterSource:
    """A chapter's file, parsed. `footnotes[n - 1]` are the blocks of footnote n."""

    source: Source
    slug: str
    title: str
    side: Literal["white", "black", "both"] | None
    eco: str
    summary: str
    draft: bool
    blocks: tuple[Block, ...]
    footnotes: tuple[tuple[Block, ...], ...]
