"""Transpositions: where two ways come to the same position.

In: the booklet. Out: for each ply, the other ways to its position. A meeting is told only where
the ways come together, not at every move after it; a position that comes back in one and the
same line is a repetition and no meeting.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from builder.book.tree import Node, Tree, move_trees
from builder.model import Booklet, Diagram, Ply, PositionKey


@dataclass(frozen=True, slots=True)
class Meeting:
    """Another way to a position.

    `ply` is the other way's last ply, `moves` the part of that way after the two ways part (the
    whole of it where they start from different positions), `diagram` the diagram that stands
    at its end, if any.
    """

    ply: Ply = field(repr=False)
    moves: tuple[Ply, ...]
    diagram: Diagram | None = field(repr=False)


def meetings(booklet: Booklet) -> Mapping[str, tuple[Meeting, ...]]:
    """For the anchors of the plies that meet another way: the other ways in reading order.

    Of several plies that go the same way the first one stands for it. Solutions of exercises
    and what follows a pass are left out (see `Booklet.reached`).
    """
    lines = [line for chapter in booklet.chapters for line in chapter.lines
             if line.is_taught]  # fmt: skip
    plies = (ply for line in lines for ply in line.plies())
    order = {ply.anchor: number for number, ply in enumerate(plies)}
    diagrams = _diagrams_at(booklet)
    met: dict[str, list[Meeting]] = {}
    for group in _groups(move_trees(lines), booklet):
        for here in group:
            for other in group:
                if not _meet(here, other):
                    continue
                found = Meeting(_first(other, order), _tail(here, other),
                                _diagram(other, diagrams))  # fmt: skip
                for ply in here.node.plies:
                    met.setdefault(ply.anchor, []).append(found)
    return MappingProxyType({
        anchor: tuple(sorted(found, key=lambda one: order[one.ply.anchor]))
        for anchor, found in met.items() if anchor in order
    })  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """A node in its tree: `first` to `last` number it and everything behind it."""

    node: Node
    tree: Tree
    parent: _Way | None
    depth: int
    first: int
    last: int


def _groups(trees: tuple[Tree, ...], booklet: Booklet) -> Iterator[tuple[_Way, ...]]:
    """The ways to each position that more than one way reaches."""
    counted = {ply.anchor for plies in booklet.reached.values() for ply in plies}
    groups: dict[PositionKey, list[_Way]] = {}
    for tree in trees:
        for way in _ways(tree):
            if any(ply.anchor in counted for ply in way.node.plies):
                groups.setdefault(way.node.ply.after.key, []).append(way)
    return (tuple(group) for group in groups.values() if len(group) > 1)


def _ways(tree: Tree) -> list[_Way]:
    walked = list(tree.walk())
    last = list(range(len(walked)))
    above: list[int] = []
    parents: list[int | None] = []
    for number, (_, depth) in enumerate(walked):
        del above[depth:]
        parents.append(above[-1] if above else None)
        above.append(number)
    for number in reversed(range(len(walked))):
        parent = parents[number]
        if parent is not None:
            last[parent] = max(last[parent], last[number])
    ways: list[_Way] = []
    for number, (node, depth) in enumerate(walked):
        parent = parents[number]
        above_it = ways[parent] if parent is not None else None
        ways.append(_Way(node, tree, above_it, depth, number, last[number]))
    return ways


def _meet(here: _Way, other: _Way) -> bool:
    """Two ways come together here: they didn't before, and neither goes on from the other."""
    if here is other or here.node.ply.before.key == other.node.ply.before.key:
        return False
    return here.tree is not other.tree or not (
        here.first <= other.first <= here.last or other.first <= here.first <= other.last
    )


def _tail(here: _Way, other: _Way) -> tuple[Ply, ...]:
    """The plies of the other way after the last node that both have."""
    tail: list[Ply] = []
    mine: _Way | None = here
    theirs: _Way | None = other
    while theirs is not None and theirs is not mine:
        if mine is None or theirs.depth >= mine.depth:
            tail.append(theirs.node.ply)
            theirs = theirs.parent
        else:
            mine = mine.parent
    return tuple(reversed(tail))


def _first(way: _Way, order: Mapping[str, int]) -> Ply:
    return min(way.node.plies, key=lambda ply: order.get(ply.anchor, len(order)))


def _diagrams_at(booklet: Booklet) -> Mapping[str, Diagram]:
    found: dict[str, Diagram] = {}
    for diagram in booklet.diagrams:
        if diagram.ply is not None:
            found.setdefault(diagram.ply.anchor, diagram)
    return found


def _diagram(way: _Way, diagrams: Mapping[str, Diagram]) -> Diagram | None:
    return next((diagrams[ply.anchor] for ply in way.node.plies if ply.anchor in diagrams), None)
