"""What the checks ask of a booklet's lines: who recommends what, and where lines end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from builder.model import Booklet, Chapter, Line, Ply, VariationEnd, VariationStart
from builder.place import Place
from builder.proof.prose import prose_moves

PRAISE, BLAME = frozenset({1, 3}), frozenset({2, 4, 6})  # NAGs for !, !! and ?, ??, ?!


@dataclass(frozen=True, slots=True)
class Step:
    """A ply of a line.

    `against` holds the sides that left their own recommendation on the way here, this ply
    included. `leaf` tells that its variation ends with it.
    """

    ply: Ply
    line: Line = field(repr=False)
    chapter: Chapter = field(repr=False)
    against: frozenset[bool]
    leaf: bool

    def recommends(self) -> bool:
        """Whether the line gives this move as the one to play in its position.

        Not when a variation offers it in place of the line's own move, unless the author
        criticises that one; nor when the author criticises this one; nor when anything on the
        way here was such a move of the same side, also in the line that this one starts from.
        """
        return not self.ply.is_pass and self.ply.by_white not in self.against


@dataclass(slots=True)
class _Level:
    """One level of nesting: the sides that left their recommendation, now and before the last
    ply, which a variation replaces."""

    against: frozenset[bool]
    before: frozenset[bool]


def lines_by_anchor(booklet: Booklet) -> dict[str, Line]:
    return {line.anchor: line for chapter in booklet.chapters for line in chapter.lines}


def steps(booklet: Booklet, solutions: bool = False) -> Iterator[Step]:
    """Every ply of the booklet's lines in reading order; of solutions only on request."""
    inherited = _inherited(booklet)
    for chapter in booklet.chapters:
        for line in chapter.lines:
            if line.is_taught or (solutions and line.kind == "solution"):
                yield from _line_steps(chapter, line, inherited[line.anchor])


@dataclass(frozen=True, slots=True)
class Signed:
    """A move with its signs, where they are written: behind it in a line, or in the prose."""

    ply: Ply
    nags: tuple[int, ...]
    chapter: str
    place: Place


def signed_moves(booklet: Booklet, solutions: bool = False) -> Iterator[Signed]:
    """Every move that has signs, in reading order; of solutions only on request."""
    for chapter in booklet.chapters:
        found = [
            Signed(ply, ply.nags, chapter.slug, ply.place)
            for line in chapter.lines if line.is_taught or (solutions and line.kind == "solution")
            for ply in line.plies()
        ] + [
            Signed(ply, nags, chapter.slug, moves.place)
            for moves in prose_moves(chapter)
            for ply, nags in zip(moves.plies, moves.nags, strict=True)
            if ply.anchor not in moves.new
        ]  # fmt: skip
        yield from sorted((one for one in found if one.nags), key=lambda one: one.place)


def _inherited(booklet: Booklet) -> dict[str, frozenset[bool]]:
    """For each line the sides that had left their recommendation where it starts.

    A line may start in a later one, so they are walked in rounds.
    """
    found: dict[str, frozenset[bool]] = {}
    at_ply: dict[str, frozenset[bool]] = {}
    waiting = [(chapter, line) for chapter in booklet.chapters for line in chapter.lines]
    while waiting:
        later = []
        for chapter, line in waiting:
            start = line.start_ply
            if start is not None and start.anchor not in at_ply:
                later.append((chapter, line))
                continue
            found[line.anchor] = at_ply[start.anchor] if start else frozenset()
            for step in _line_steps(chapter, line, found[line.anchor]):
                at_ply[step.ply.anchor] = step.against
        if len(later) == len(waiting):
            # After errors: what they start from is not in the booklet.
            return found | {line.anchor: frozenset() for _, line in later}
        waiting = later
    return found


def _line_steps(chapter: Chapter, line: Line, inherited: frozenset[bool]) -> Iterator[Step]:
    """The plies of one line, in reading order."""
    leaves = _leaves(line)
    levels = [_Level(inherited, inherited)]
    # A side-line of the prose goes its own way from the beginning, as a variation does.
    deviates = line.kind == "aside"
    for item in line.items:
        if isinstance(item, VariationStart):
            levels.append(_Level(levels[-1].before, levels[-1].before))
            deviates = not _blamed(item.instead_of)
        elif isinstance(item, VariationEnd):
            levels.pop()
            deviates = False
        elif isinstance(item, Ply):
            level = levels[-1]
            level.before = level.against
            if deviates or _blamed(item):
                level.against = level.against | {item.by_white}
            yield Step(item, line, chapter, level.against, item.anchor in leaves)
            deviates = False


def _blamed(ply: Ply) -> bool:
    return bool(BLAME & set(ply.nags))


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
