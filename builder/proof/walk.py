"""What the checks ask of a booklet's lines: who recommends what, and where lines end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from builder.model import Booklet, Chapter, Line, Ply, VariationEnd, VariationStart


@dataclass(frozen=True, slots=True)
class Step:
    """A ply of a line.

    `alternative` tells that a variation begins with it, and so that it stands in another
    move's place. `against` holds the sides that left their own recommendation on the way here.
    `leaf` tells that its variation ends with it.
    """

    ply: Ply
    line: Line = field(repr=False)
    chapter: Chapter = field(repr=False)
    alternative: bool
    against: frozenset[bool]
    leaf: bool

    def recommends(self) -> bool:
        """Whether the line gives this move as the one to play in its position.

        Not when a variation offers it in place of the line's own move, nor when anything on
        the way here was such an offer of the same side, nor when the author criticises it.
        """
        return (
            not self.ply.is_pass
            and self.ply.by_white not in self.against
            and not set(self.ply.nags) & {2, 4, 6}
        )


def lines_by_anchor(booklet: Booklet) -> dict[str, Line]:
    return {line.anchor: line for chapter in booklet.chapters for line in chapter.lines}


def steps(booklet: Booklet, solutions: bool = False) -> Iterator[Step]:
    """Every ply of the booklet's lines in reading order; of solutions only on request."""
    for chapter in booklet.chapters:
        for line in chapter.lines:
            if solutions or line.kind != "solution":
                yield from line_steps(chapter, line)


def line_steps(chapter: Chapter, line: Line) -> Iterator[Step]:
    """The plies of one line, in reading order."""
    leaves = _leaves(line)
    # For each level, the sides that left their own recommendation on the way into it.
    against: list[frozenset[bool]] = [frozenset()]
    first = line.kind == "aside"
    for item in line.items:
        if isinstance(item, VariationStart):
            against.append(against[-1])
            first = True
        elif isinstance(item, VariationEnd):
            against.pop()
            first = False
        elif isinstance(item, Ply):
            if first:
                against[-1] = against[-1] | {item.by_white}
            yield Step(item, line, chapter, first, against[-1], item.anchor in leaves)
            first = False


def _leaves(line: Line) -> set[str]:
    """The anchors of the plies that end their variation."""
    found: set[str] = set()
    last: list[Ply | None] = [None]
    for item in line.items:
        if isinstance(item, VariationStart):
            last.append(None)
        elif isinstance(item, VariationEnd):
            ply = last.pop()
            if ply is not None:
                found.add(ply.anchor)
        elif isinstance(item, Ply):
            last[-1] = item
    if last[0] is not None:
        found.add(last[0].anchor)
    return found
