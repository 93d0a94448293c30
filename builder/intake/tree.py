"""Trees of moves as a file has them, and how they are joined.

A tree is made while a game is read and changed while trees are joined; nothing here recurses,
since files may nest as deep as they like.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import chess

from builder.model import Position, PositionKey, position_key

MOST_COMMENTS = 100  # at one move


@dataclass(slots=True, eq=False, repr=False)
class Node:
    """A move and what follows it; the first of `children` is the main one.

    A root has no move: it stands for the start. `san` is as written until `spell` has seen it.
    `ply` counts half-moves as the move number tells them. `before` are comments in front of a move
    that begins a variation, `after` those behind; `same_as` is the node of the same position where
    the moves go on. `games` counts the games that went through.
    """

    move: chess.Move | None
    san: str
    ply: int
    nags: tuple[int, ...] = ()
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    children: list[Node] = field(default_factory=list)
    same_as: Node | None = None
    games: int = 0

    @property
    def number(self) -> int:
        """The move's number."""
        return (self.ply + 1) // 2

    @property
    def by_white(self) -> bool:
        return self.ply % 2 == 1

    @property
    def label(self) -> str:
        """The move with its number in standard letters, as `Ply.label`."""
        return f"{self.number}{'.' if self.by_white else '...'}{self.san}"

    @property
    def comment(self) -> str:
        return " ".join(dict.fromkeys(self.after))

    @property
    def opening(self) -> str:
        """The words in front of the move."""
        return " ".join(dict.fromkeys(self.before))

    def child(self, move: chess.Move) -> Node | None:
        return next((node for node in self.children if node.move == move), None)


@dataclass(slots=True, eq=False)
class MoveTree:
    """Everything that starts from one position."""

    start: Position
    root: Node

    @staticmethod
    def at(start: Position) -> MoveTree:
        return MoveTree(start, Node(None, "", start.ply_number))

    def size(self) -> int:
        """How many moves the tree has."""
        return nodes_at((self.root,)) - 1


@dataclass(frozen=True, slots=True)
class Visit:
    """A node on a walk: `depth` counts the variations round it."""

    node: Node
    parent: Node | None
    depth: int


def walk(root: Node) -> Iterator[Visit]:
    """Every node, parents before children, in the order of the file."""
    stack = [Visit(root, None, 0)]
    while stack:
        visit = stack.pop()
        yield visit
        for index in reversed(range(len(visit.node.children))):
            child = visit.node.children[index]
            stack.append(Visit(child, visit.node, visit.depth + (index > 0)))


def spell(tree: MoveTree) -> None:
    """Gives every move its one proper SAN."""
    board = tree.start.board()
    for visit in walk(tree.root):
        node = visit.node
        if node.move is not None:
            _take_back(board, node)
            node.san = board.san_and_push(node.move)


def _take_back(board: chess.Board, node: Node) -> None:
    """Makes the board, which a walk has come along with, ready for the node's move."""
    while board.ply() >= node.ply:
        board.pop()


# --- joining -----------------------------------------------------------------------------------


def adopt(parent: Node, node: Node) -> Node:
    """Puts `node` behind `parent`; where its move stands there already, that one takes its signs
    and comments. The node that stands there then.

    Words in front of a main move belong behind the move before.
    """
    there = parent.child(node.move) if node.move is not None else None
    if there is None:
        if node.before and not parent.children:
            parent.after, node.before = _all(parent.after, node.before), ()
        parent.children.append(node)
        return node
    if node.nags:
        there.nags = tuple(dict.fromkeys((*there.nags, *node.nags)))
    if node.before and there is not parent.children[0]:
        there.before = _all(there.before, node.before)
    elif node.before:
        there.after = _all(there.after, node.before)
    if node.after:
        there.after = _all(there.after, node.after)
    return there


def merge(into: Node, other: Node) -> int:
    """Joins `other` and all behind it to `into`, which stands for the same position. How many
    moves are new there."""
    into.after = _all(into.after, other.after)
    into.games += other.games
    new = 0
    todo = [(into, other)]
    while todo:
        target, source = todo.pop()
        for child in source.children:
            there = adopt(target, child)
            if there is child:
                new += nodes_at((child,))
            else:
                there.games += child.games
                todo.append((there, child))
    return new


def _all(*comments: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for texts in comments for text in texts))[:MOST_COMMENTS]


def join_transpositions(tree: MoveTree) -> int:
    """Where two orders of moves come to one position and both go on, what follows is moved to one
    of them: the one in fewer variations, then the earlier. How many others there were.

    Positions behind a pass are left as they are, and so are those with another move number.
    """
    keys, ranks = _positions(tree)
    count = 0
    level = [tree.root]
    while level:
        groups: dict[PositionKey, list[Node]] = {}
        for node in level:
            if node.children and id(node) in keys:
                groups.setdefault(keys[id(node)], []).append(node)
        for group in groups.values():
            first, *others = sorted(group, key=lambda node: ranks[id(node)])
            for other in others:
                behind = Node(None, "", other.ply, children=other.children)
                merge(first, behind)
                other.children, other.same_as = [], first
                count += 1
        level = [child for node in level for child in node.children]
    return count


def _positions(tree: MoveTree) -> tuple[Mapping[int, PositionKey], Mapping[int, tuple[int, int]]]:
    """For the nodes, by `id`: the position's key (none behind a pass), and how near to the main
    line they stand."""
    keys: dict[int, PositionKey] = {}
    ranks: dict[int, tuple[int, int]] = {}
    board = tree.start.board()
    passes: list[int] = []  # the plies of passes on the way to the board
    for order, visit in enumerate(walk(tree.root)):
        node = visit.node
        ranks[id(node)] = (visit.depth, order)
        if node.move is None:
            continue
        _take_back(board, node)
        while passes and passes[-1] >= node.ply:
            passes.pop()
        board.push(node.move)
        if not node.move:
            passes.append(node.ply)
        if not passes:
            keys[id(node)] = position_key(board)
    return keys, ranks


def covers(whole: MoveTree, part: MoveTree) -> bool:
    """Whether all of `part`, its signs and comments too, stands in `whole`."""
    if whole.start.fen != part.start.fen:
        return False
    todo = [(whole.root, part.root)]
    while todo:
        there, node = todo.pop()
        if not (set(node.nags) <= set(there.nags) and set(node.after) <= set(there.after)
                and set(node.before) <= set(there.before)):  # fmt: skip
            return False
        for child in node.children:
            match = there.child(child.move) if child.move is not None else None
            if match is None:
                return False
            todo.append((match, child))
    return True


# --- thinning out --------------------------------------------------------------------------------


def shorten(root: Node, last_ply: int) -> None:
    """Takes away what follows the half-move `last_ply`."""
    for visit in walk(root):
        if visit.node.ply >= last_ply:
            visit.node.children = []


def thin(root: Node, least: int) -> int:
    """Takes away the moves that fewer than `least` games play; how many they were."""
    lost = 0
    for visit in list(walk(root)):
        kept = [child for child in visit.node.children if child.games >= least]
        for child in visit.node.children:
            if child.games < least and visit.node.games >= least:
                lost += sum(1 for _ in walk(child))
        visit.node.children = kept
    return lost


def by_games(root: Node) -> None:
    """The moves that more games play come first."""
    for visit in walk(root):
        visit.node.children.sort(key=lambda node: -node.games)


def nodes_at(roots: Iterable[Node]) -> int:
    """How many nodes there are, the roots and all behind them."""
    count, stack = 0, list(roots)
    while stack:
        count += 1
        stack += stack.pop().children
    return count
