"""Moves: plies, and lines of them with variations.

A line's moves are not nested objects but one flat stream in reading order, in which
`VariationStart` and `VariationEnd` bracket the variations: every traversal is a loop, and the
depth of an author's nesting costs no stack. The tree is in `Ply.parent`, which also crosses
from a line that starts at a named position into the line that reaches it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, TypeAlias

import chess

from builder.model.parts import Claim, Diagram
from builder.model.position import Position
from builder.place import Place

if TYPE_CHECKING:
    from builder.model.prose import Inline

LineKind: TypeAlias = Literal["line", "solution", "aside", "game"]


@dataclass(frozen=True, slots=True, eq=False)
class Ply:
    """One half-move, where it stands in the booklet.

    `depth` is 0 in a line's main moves, 1 in its variations and in side-lines of the prose,
    and so on. `parent` is the ply before, across lines; None after a start position.
    `name` is the position's name where the author gave one here.
    """

    anchor: str
    chapter: str
    line: str
    move: chess.Move
    san: str
    nags: tuple[int, ...]
    before: Position = field(repr=False)
    after: Position = field(repr=False)
    parent: Ply | None = field(repr=False)
    depth: int
    place: Place = field(repr=False)
    name: str | None = None

    @property
    def number(self) -> int:
        """The move number printed before the move."""
        return self.before.move_number

    @property
    def by_white(self) -> bool:
        return self.before.white_to_move

    @property
    def is_pass(self) -> bool:
        return not self.move

    @property
    def label(self) -> str:
        """The move with its number in standard letters: `5.Nxc6`, `5...bxc6`."""
        return f"{self.number}{'.' if self.by_white else '...'}{self.san}"

    def path(self) -> tuple[Ply, ...]:
        """The plies from the start position to this one, this one included."""
        steps: list[Ply] = []
        step: Ply | None = self
        while step is not None:
            steps.append(step)
            step = step.parent
        return tuple(reversed(steps))


@dataclass(frozen=True, slots=True)
class VariationStart:
    """A variation opens; `instead_of` is the ply that its first move replaces."""

    instead_of: Ply = field(repr=False)
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class VariationEnd:
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Comment:
    """Words between moves; `after` is the ply they stand after, None at a line's start."""

    inlines: tuple[Inline, ...]
    after: Ply | None = field(repr=False)
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Result:
    """`1-0`, `0-1`, `1/2-1/2` or `*`."""

    text: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Line:
    """A sequence of moves with variations: a `line` block, an exercise's solution, a side-line
    that the prose goes into, or a game with the side-lines in its comments (`kind` tells which).

    `given_id` is the author's name for it, unique in the chapter, or None.
    """

    anchor: str
    chapter: str
    kind: LineKind
    given_id: str | None
    start: Position
    start_ply: Ply | None = field(repr=False)
    start_name: str | None
    items: tuple[LineItem, ...]
    place: Place = field(repr=False)

    @property
    def is_taught(self) -> bool:
        """Whether it is the booklet's own word: neither an exercise's solution nor somebody's game."""
        return self.kind in ("line", "aside")

    def plies(self) -> Iterator[Ply]:
        """Every ply, variations included, in reading order."""
        return (item for item in self.items if isinstance(item, Ply))

    def main_plies(self) -> tuple[Ply, ...]:
        """The plies outside all variations."""
        depth = 0
        found: list[Ply] = []
        for item in self.items:
            if isinstance(item, VariationStart):
                depth += 1
            elif isinstance(item, VariationEnd):
                depth -= 1
            elif isinstance(item, Ply) and depth == 0:
                found.append(item)
        return tuple(found)


LineItem: TypeAlias = (
    Ply | Comment | VariationStart | VariationEnd | Diagram | Claim | Result
)  # fmt: skip
