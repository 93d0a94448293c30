"""A tree of moves to pieces of a chapter's size.

Cut is between siblings, from the last one on, so that alternatives keep their order: a piece
holds neighbouring alternatives behind one move, and all behind them that is not cut off itself.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from builder.intake.tree import MoveTree, Node, walk

MOST_PLIES = 400  # of a chapter, about
LEAST_PLIES = 60  # what is smaller stays where it is


@dataclass(frozen=True, slots=True)
class Piece:
    """The moves `first` behind the node `at`, with what follows them as far as `cuts` leave it."""

    tree: MoveTree
    at: Node
    first: tuple[Node, ...]


@dataclass(slots=True)
class Cuts:
    """How many of a node's children stay with it, where some don't."""

    kept: dict[int, int] = field(default_factory=dict)

    def kids(self, node: Node) -> list[Node]:
        return node.children[: self.kept.get(id(node), len(node.children))]

    def parts(self, node: Node) -> bool:
        """Whether another piece goes on from the node."""
        return id(node) in self.kept


def split_by_size(tree: MoveTree, cuts: Cuts, most: int = MOST_PLIES) -> list[Piece]:
    """Pieces of about `most` moves, the one from the start first."""
    visits = list(walk(tree.root))
    sizes: dict[int, int] = {}
    groups: dict[int, list[tuple[Node, ...]]] = {}
    for visit in reversed(visits):
        node = visit.node
        left, rest = _cut_behind(node, sizes, most)
        if rest:
            cuts.kept[id(node)] = len(left)
            groups[id(node)] = rest
        sizes[id(node)] = 1 + sum(sizes[id(child)] for child in left)
    return _in_order(tree, visits, groups, cuts)


def split_at(tree: MoveTree, cuts: Cuts, ply: int) -> list[Piece]:
    """A piece for every way to go on from the half-move `ply` of the tree, counted from its
    start; what is too small for one stays in the first piece."""
    visits = list(walk(tree.root))
    sizes: dict[int, int] = {}
    for visit in reversed(visits):
        sizes[id(visit.node)] = 1 + sum(sizes[id(child)] for child in visit.node.children)
    groups: dict[int, list[tuple[Node, ...]]] = {}
    at = [v.node for v in visits if v.node.ply == tree.root.ply + ply]
    for node in at if len(at) > 1 else ():
        if sizes[id(node)] > LEAST_PLIES // 4:
            cuts.kept[id(node)] = 0
            groups[id(node)] = [tuple(node.children)]
    return _in_order(tree, visits, groups, cuts)


def _cut_behind(node: Node, sizes: dict[int, int],
                most: int) -> tuple[list[Node], list[tuple[Node, ...]]]:  # fmt: skip
    """The children that stay, and groups of those that don't, in order."""
    left = list(node.children)
    groups: list[tuple[Node, ...]] = []
    while left and sum(sizes[id(child)] for child in left) > most:
        group: list[Node] = []
        size = 0
        # Words in front of a group's first move would come to stand at the chapter's beginning,
        # which is behind the move before.
        while left and (size < LEAST_PLIES or group[0].before
                        or size + sizes[id(left[-1])] <= most):  # fmt: skip
            size += sizes[id(left[-1])]
            group.insert(0, left.pop())
        groups.insert(0, tuple(group))
    return left, groups


def _in_order(tree: MoveTree, visits: list, groups: dict[int, list[tuple[Node, ...]]],
              cuts: Cuts) -> list[Piece]:  # fmt: skip
    first = tuple(cuts.kids(tree.root))
    pieces = [Piece(tree, tree.root, first)] if first else []
    for visit in visits:
        pieces += [Piece(tree, visit.node, group) for group in groups.get(id(visit.node), ())]
    return pieces
