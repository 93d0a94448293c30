"""The games of a file gathered: each by itself, or all of them joined into one tree a start.

A file of many games is read as a stream: beyond `MOST_CHAPTERS` games the trees are joined, and
when the joined tree grows too large for memory, the moves that fewest games play go.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from builder.intake.play import Budget, Known
from builder.intake.reading import Game, Guide
from builder.intake.tree import MoveTree, Node, merge, nodes_at, shorten, thin
from builder.model import Position, PositionKey
from builder.pgn.games import RawGame
from builder.pgn.tell import Teller

MOST_CHAPTERS = 200  # games that may be a chapter each, unless that is asked for
CROWD_PLIES = 30  # half-moves that are kept of a crowd of games, counted from the start
MOST_NODES = 250_000
_HEAVY_CROWD = 2_000  # games; of later ones not all moves are read
_FRESH = 4  # moves that each of them may add to the tree: what many games play grows all the same
_UNLIMITED = 1 << 62
# A move in SAN with nothing at it, behind its number.
_PLAIN_MOVE = re.compile(
    r"\s*(?:\d+\s*\.+\s*)?((?:[KQRBN]?[a-h]?[1-8]?x?[a-h][1-8](?:=[QRBN])?|O-O(?:-O)?)[+#]?)(?=\s)"
)

By: TypeAlias = Literal["auto", "game", "branch", "depth"]


@dataclass(frozen=True, slots=True)
class Split:
    """How chapters are made: a game each, or the branches of all games joined, parted by size or
    at a depth in half-moves. `join` has transposing lines joined."""

    by: By = "auto"
    depth: int = 8
    join: bool = True


@dataclass(slots=True)
class Gathered:
    """`games` are those kept apart, `trees` those joined; `raws` the tags of the first games.

    A `crowd` has more games than could be a chapter each. `thinned` counts moves that had to go
    while the games were read, `joined` the lines that were joined to others.
    """

    games: list[Game] = field(default_factory=list)
    trees: dict[tuple[PositionKey, int], MoveTree] = field(default_factory=dict)
    raws: list[RawGame] = field(default_factory=list)
    count: int = 0
    is_joined: bool = False
    crowd: bool = False
    thinned: int = 0
    joined: int = 0


# The games of a file, read with the help of what is known of them.
Source: TypeAlias = Callable[[Guide], Iterator[Game]]


def gather(source: Source, split: Split, budget: Budget, tell: Teller,
           shorten_crowd: bool) -> Gathered:  # fmt: skip
    """Reads all games. For a crowd the budget is changed: its moves are without number, but with
    `shorten_crowd` only its first half-moves are wanted."""
    gathering = _Gathering(Gathered(is_joined=split.by in ("branch", "depth")))
    found = gathering.found
    for game in source(gathering.known):
        if not game.tree.root.children and not (game.tree.root.after and game.raw.tags):
            tell.leave("games without moves are left out", lambda: game.raw.place)
            continue
        found.count += 1
        if found.count <= MOST_CHAPTERS:
            found.raws.append(game.raw)
        gathering.add(game)
        if found.count == _HEAVY_CROWD and found.crowd:
            budget.fresh = _FRESH
        if found.count > MOST_CHAPTERS and split.by != "game" and not found.crowd:
            found.crowd = True
            budget.moves = _UNLIMITED
            if shorten_crowd:
                budget.plies = CROWD_PLIES
            gathering.join_all(budget.plies)
    return found


@dataclass(slots=True)
class _Gathering:
    found: Gathered
    nodes: int = 0

    def known(self, start: Position, text: str, at: int) -> Known:
        """The first moves of a game so far as the joined tree has them: most games of a crowd go
        well-known ways, which need no board."""
        tree = self.found.trees.get((start.key, start.ply_number))
        if tree is None or not self.found.is_joined:
            return Known((), at)
        nodes: list[Node] = []
        node = tree.root
        while (move := _PLAIN_MOVE.match(text, at)) is not None:
            san = move.group(1)
            following = next((child for child in node.children if child.san == san), None)
            if following is None:
                break
            node, at = following, move.end()
            nodes.append(node)
        return Known(tuple(nodes), at, tree.root)

    def add(self, game: Game) -> None:
        if self.found.is_joined:
            self._join(game.tree)
        else:
            self.found.games.append(game)

    def join_all(self, plies: int) -> None:
        """Joins what was kept apart so far, as far as moves are wanted."""
        self.found.is_joined = True
        for game in self.found.games:
            self._join(game.tree)
        self.found.games.clear()
        for tree in self.found.trees.values():
            shorten(tree.root, tree.root.ply + plies)

    def _join(self, tree: MoveTree) -> None:
        key = (tree.start.key, tree.start.ply_number)
        there = self.found.trees.setdefault(key, tree)
        self.nodes += tree.size() if there is tree else merge(there.root, tree.root)
        if self.nodes > MOST_NODES:
            self._make_room()

    def _make_room(self) -> None:
        roots = [tree.root for tree in self.found.trees.values()]
        self.nodes, least = nodes_at(roots), 2
        while self.nodes > MOST_NODES // 2:
            self.found.thinned += sum(thin(root, least) for root in roots)
            self.nodes, least = nodes_at(roots), least + 1
