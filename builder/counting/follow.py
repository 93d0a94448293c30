"""Games followed by moves that are known already, as far as they can come to the booklet.

A game's first moves are nearly always those of another game. So the walk goes along a graph whose
edges are moves as they are written, and needs a board only where a game leaves it. Positions that
several games leave by new moves get nodes of their own behind these; positions of the booklet are
one node each, however they are reached. A game is left when it can't reach the booklet any more
(`reach.py`), and at its `plies`th half-move.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import islice
from typing import TypeAlias

import chess

from builder.counting.reach import Lacks, Reach
from builder.counting.text import Game, Words, games
from builder.model import PositionKey, position_key

MOST_NODES = 20_000  # about 3 kB each
MOST_SPELLINGS = 500  # of the moves at a position
FEW = 2  # new moves at a position before those behind them are remembered
MOST_SLIPS = 20  # games of a file that are told one by one
_UNREAD = chess.Move.null()
# Real files have castling rights and en-passant squares that can't be; the rest counts.
_IMPOSSIBLE = ~(chess.STATUS_BAD_CASTLING_RIGHTS | chess.STATUS_INVALID_EP_SQUARE)
_ORTHODOX = (b"", b"standard", b"chess", b"from position")


@dataclass(frozen=True, slots=True)
class Slip:
    """A game that can't be read to its end, or at all: the line, and why."""

    line: int
    words: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """The positions to count at, in the order of their numbers, and how many half-moves of a game
    are looked at."""

    keys: tuple[PositionKey, ...]
    plies: int


@dataclass(slots=True)
class Found:
    """What was counted: `counts` by number of the position, move (None: the game ended there) and
    index of the result."""

    games: int = 0
    latest: str = ""
    counts: Counter[tuple[int, chess.Move | None, int]] = field(default_factory=Counter)
    slips: list[Slip] = field(default_factory=list)
    unread: int = 0

    def add(self, other: Found) -> None:
        self.games += other.games
        self.latest = max(self.latest, other.latest)
        self.counts.update(other.counts)
        self.slips = sorted(self.slips + other.slips, key=lambda slip: slip.line)[:MOST_SLIPS]
        self.unread += other.unread

    def slip(self, line: int, words: str) -> None:
        self.unread += 1
        if len(self.slips) < MOST_SLIPS:
            self.slips.append(Slip(line, words))


Seen: TypeAlias = dict[int, chess.Move | None]


class _Unreadable(Exception):
    """A game stops being readable at an offset; `seen` is what it had until then."""

    def __init__(self, at: int, words: str, seen: Seen) -> None:
        super().__init__(words)
        self.at, self.words, self.seen = at, words, seen


_Edge: TypeAlias = "tuple[chess.Move, _Node | None]"


@dataclass(slots=True, eq=False)
class _Node:
    """A position. `number` is that of the wanted position, -1 for another one; `left` are those that
    may still come, and `lacks` what they need (see `Reach`); `edges` lead on by moves as they are
    written, and `moves` tells these where nothing is known behind.

    A node that is not kept has no `lacks`: it serves one game only, of which `left` are the hopes, and
    its board is handed on to the next one.
    """

    board: chess.Board
    number: int
    left: int
    lacks: Lacks | None = None
    edges: dict[bytes, _Edge] = field(default_factory=dict)
    moves: dict[bytes, chess.Move] = field(default_factory=dict)
    misses: int = 0  # how often a game went on by a new move

    @property
    def kept(self) -> bool:
        return self.lacks is not None


class Follower:
    """Counts games one after another; what it has learnt of one helps with the next."""

    def __init__(self, wanted: Wanted) -> None:
        self.found = Found()
        self._plies = wanted.plies
        self._number = {key: number for number, key in enumerate(wanted.keys)}
        self._pawns = {key[0] for key in wanted.keys}
        self._reach = Reach(wanted.keys)
        self._words = Words()
        self._nodes: dict[int, _Node] = {}  # of wanted positions, by their numbers
        self._size = 0
        self._root = self._begin_at(chess.Board())

    def read(self, first_line: int, text: bytes) -> None:
        """Counts the games of a chunk."""
        for game in games(text):
            self.found.games += 1
            self.found.latest = max(self.found.latest, game.date().decode())
            try:
                seen = self._read_game(game)
            except _Unreadable as slip:
                line = first_line + text.count(b"\n", 0, slip.at)
                self.found.slip(line, slip.words)
                seen = slip.seen
            if seen:
                result = game.result()
                for number, move in seen.items():
                    self.found.counts[number, move, result] += 1

    def _read_game(self, game: Game) -> Seen:
        """The wanted positions of a game with the move that it played there first; None where it
        ended there. Raises _Unreadable."""
        if b"[Variant " in game.tags and game.tag(b"Variant").lower() not in _ORTHODOX:
            name = game.tag(b"Variant")[:40].decode("latin-1")
            raise _Unreadable(game.start, f"it is played by other rules ({name})", {})
        if b"[FEN " not in game.tags:
            return self._walk(self._root, game, self._plies)
        try:
            board = chess.Board(game.tag(b"FEN").decode("latin-1"))
        except ValueError:
            raise _Unreadable(game.start, "its FEN is no position", {}) from None
        if board.status() & _IMPOSSIBLE:
            raise _Unreadable(game.start, "its FEN is a position that can't be", {})
        return self._walk(self._begin_at(board), game, self._plies - board.ply())

    def _begin_at(self, board: chess.Board) -> _Node:
        return self._kept_node(board, self._number_of(board))

    def _number_of(self, board: chess.Board) -> int:
        # The pawns alone tell most that aren't wanted.
        return self._number.get(position_key(board), -1) if board.pawns in self._pawns else -1

    # --- one game --------------------------------------------------------------------------------

    def _walk(self, node: _Node, game: Game, plies: int) -> Seen:
        """The wanted positions after at most `plies` half-moves. Raises _Unreadable."""
        seen: Seen = {}
        words = game.moves(max(0, plies + 1), self._words)
        for index, word in enumerate(words):
            edge = node.edges.get(word)
            if edge is None:
                try:
                    edge = self._new_edge(node, words[index:], seen)
                except ValueError:
                    if node.number >= 0:
                        seen.setdefault(node.number, None)
                    at = next(islice(game.offsets(), index, None))
                    raise _Unreadable(at, f"{word.decode()} can't be played", seen) from None
            move, target = edge
            if node.number >= 0 and seen.get(node.number) is None:
                seen[node.number] = move
            if target is None:
                return seen
            node = target
        if node.number >= 0 and len(words) <= plies:
            seen.setdefault(node.number, None)
        return seen

    def _new_edge(self, node: _Node, words: list[bytes], seen: Seen) -> _Edge:
        """Plays a move that is new here. Raises ValueError where it is none.

        The way on is None where no wanted position can follow. It is remembered where it leads to
        one, and where several games left by new moves before.
        """
        hope = self._hope(node, words, seen)
        if not hope:
            return self._last_move(node, words[0]), None
        move = _played(node.board, words[0])
        board = node.board.copy(stack=False) if node.kept else node.board
        board.push(move)
        number = self._number_of(board)
        node.misses += 1
        if number >= 0 and number not in self._nodes:
            self._nodes[number] = self._kept_node(board.copy(stack=False), number)
        keep = node.kept and self._size < MOST_NODES and (node.misses > FEW or number >= 0)
        if number >= 0:
            target = self._nodes[number]
        else:
            target = self._kept_node(board, number) if keep else _Node(board, number, hope)
        if keep:
            self._size += 1
            node.edges[words[0]] = (move, target)
        return move, target

    def _hope(self, node: _Node, words: list[bytes], seen: Seen) -> int:
        """The wanted positions, beside those seen, that may come from here by these moves."""
        if node.lacks is None:
            return self._reach.narrowed(node.left, node.board, words)
        here = (node.number,) if node.number >= 0 else ()
        return self._reach.hope(node.left, node.lacks, node.board.turn, words, (*seen, *here))

    def _kept_node(self, board: chess.Board, number: int) -> _Node:
        return _Node(board, number, *self._reach.left(board))

    def _last_move(self, node: _Node, word: bytes) -> chess.Move:
        """The move with which a game leaves for good, which counts at a wanted position only."""
        if node.number < 0:
            return _UNREAD
        move = node.moves.get(word)
        if move is None:
            move = _played(node.board, word)
            if len(node.moves) < MOST_SPELLINGS:
                node.moves[word] = move
        return move


def _played(board: chess.Board, word: bytes) -> chess.Move:
    """A legal move. Raises ValueError where it is none; a pass is none."""
    move = board.parse_san(word.decode("ascii"))
    if not move:
        raise ValueError("a pass is no move")
    return move
