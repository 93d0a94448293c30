"""Lines merged into trees of moves.

In: lines. Out: one tree for each position that they start from, in which moves that are the
same by the same way there are one node. Built and walked with loops: a line may be thousands of
plies long, and variations as deep.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import chess

from builder.model import Line, Ply, Position, PositionKey


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """A move by one way: `plies` are all the authored plies that play it, `ply` the first.

    `children` are in the order in which the author wrote them.
    """

    ply: Ply
    plies: tuple[Ply, ...] = field(repr=False)
    children: tuple[Node, ...] = field(repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class Tree:
    """Everything that starts from one position."""

    start: Position
    children: tuple[Node, ...] = field(repr=False)

    def walk(self) -> Iterator[tuple[Node, int]]:
        """Every node with its depth (0 for first moves), depth first in authored order."""
        stack = [(node, 0) for node in reversed(self.children)]
        while stack:
            node, depth = stack.pop()
            yield node, depth
            stack.extend((child, depth + 1) for child in reversed(node.children))


def move_trees(lines: Iterable[Line]) -> tuple[Tree, ...]:
    """The trees of `lines`, in the order in which their first moves stand.

    The moves that lead to a line's start in another line are part of its tree, also where that
    line is not among `lines`. Starts that differ in the move number are different starts.
    """
    growing = _Growing()
    for line in lines:
        for ply in line.plies():
            growing.add(ply)
    return growing.freeze()


@dataclass(slots=True, eq=False)
class _Sprout:
    """A node, or (`plies` empty) a tree, while it grows."""

    start: Position
    plies: list[Ply] = field(default_factory=list)
    children: dict[chess.Move, _Sprout] = field(default_factory=dict)


@dataclass(slots=True)
class _Growing:
    roots: dict[tuple[PositionKey, int], _Sprout] = field(default_factory=dict)
    sprouts: list[_Sprout] = field(default_factory=list)  # every parent before its children
    of_ply: dict[str, _Sprout] = field(default_factory=dict)

    def add(self, ply: Ply) -> None:
        """Adds a ply and what leads to it, as far as it isn't there yet."""
        missing: list[Ply] = []
        step: Ply | None = ply
        while step is not None and step.anchor not in self.of_ply:
            missing.append(step)
            step = step.parent
        for step in reversed(missing):
            self._add_behind(self._base(step), step)

    def _base(self, ply: Ply) -> _Sprout:
        if ply.parent is not None:
            return self.of_ply[ply.parent.anchor]
        key = (ply.before.key, ply.before.ply_number)
        return self.roots.setdefault(key, _Sprout(ply.before))

    def _add_behind(self, base: _Sprout, ply: Ply) -> None:
        sprout = base.children.get(ply.move)
        if sprout is None:
            sprout = base.children[ply.move] = _Sprout(ply.after)
            self.sprouts.append(sprout)
        sprout.plies.append(ply)
        self.of_ply[ply.anchor] = sprout

    def freeze(self) -> tuple[Tree, ...]:
        nodes: dict[int, Node] = {}

        def children(sprout: _Sprout) -> tuple[Node, ...]:
            return tuple(nodes[id(child)] for child in sprout.children.values())

        for sprout in reversed(self.sprouts):
            nodes[id(sprout)] = Node(sprout.plies[0], tuple(sprout.plies), children(sprout))
        return tuple(Tree(root.start, children(root)) for root in self.roots.values())
