"""The tree of moves that grows while one listens.

`Nodes` knows every move that any hearing has thought of, each once: a node is a number. A `Grown`
tree is what one hearing holds of it; it is never changed, so that many hearings can share it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import chess

from builder.openings.book import Book, Played
from builder.speech.costs import Costs
from builder.speech.shapes import Fit, Legal, Shape, fitting, legal_moves
from builder.speech.soundness import given_away

ROOT = 0
_MUCH = 3  # pawns from which on it is no matter how much is given away
_LIKELY = 0.05  # the share of a move from which on it may go without saying
_MOST_LIKELY = 5
_NEW, _LEAST_NEW = (2.0, 8.0), 0.015  # see `_new_share`


@dataclass(frozen=True, slots=True)
class Known:
    """A move: the node before it, what it was, and what it took."""

    parent: int
    move: chess.Move | None
    ply: int
    took: int | None
    piece: int | None


@dataclass(slots=True)
class Nodes:
    """All moves by their numbers; the root is `ROOT`."""

    start: chess.Board
    costs: Mapping[str, float]
    book: Book
    known: list[Known] = field(default_factory=list)
    _numbers: dict[tuple[int, chess.Move], int] = field(default_factory=dict)
    _boards: dict[int, chess.Board] = field(default_factory=dict)
    _homes: dict[int, dict[int, int]] = field(default_factory=dict)
    _legal: dict[int, Mapping[int | None, list[Legal]]] = field(default_factory=dict)
    _fits: dict[tuple[int, Shape], tuple[Fit, ...]] = field(default_factory=dict)
    _played: dict[int, Played] = field(default_factory=dict)
    _likely: dict[int, tuple[int, ...]] = field(default_factory=dict)
    _sound: dict[int, str] = field(default_factory=dict)

    @staticmethod
    def at(start: chess.Board, costs: Mapping[str, float], book: Book) -> Nodes:
        nodes = Nodes(start, costs, book)
        nodes.known.append(Known(-1, None, start.ply(), None, None))
        nodes._boards[ROOT] = start
        nodes._homes[ROOT] = {square: square for square in start.piece_map()}
        return nodes

    def child(self, parent: int, move: chess.Move) -> int:
        """The node of a move behind `parent`."""
        number = self._numbers.get((parent, move))
        if number is None:
            number = len(self.known)
            self._numbers[parent, move] = number
            board = self.board(parent)
            took = chess.PAWN if board.is_en_passant(move) else board.piece_type_at(move.to_square)
            if board.is_castling(move):
                took = None
            self.known.append(Known(parent, move, self.known[parent].ply + 1, took,
                                    board.piece_type_at(move.from_square)))  # fmt: skip
        return number

    def board(self, node: int) -> chess.Board:
        """The position behind a node. It is shared: leave it as it is."""
        board = self._boards.get(node)
        if board is None:
            known = self.known[node]
            assert known.move is not None
            board = self.board(known.parent).copy(stack=False)
            board.push(known.move)
            board.clear_stack()
            self._boards[node] = board
        return board

    def homes(self, node: int) -> dict[int, int]:
        """Where each piece on the board stood first, by its square."""
        homes = self._homes.get(node)
        if homes is None:
            known = self.known[node]
            move = known.move
            assert move is not None
            homes = dict(self.homes(known.parent))
            before = self.board(known.parent)
            homes[move.to_square] = homes.pop(move.from_square, move.from_square)
            if before.is_castling(move):
                short = before.is_kingside_castling(move)
                rank = chess.square_rank(move.to_square)
                rook = chess.square(7 if short else 0, rank)
                homes[chess.square(5 if short else 3, rank)] = homes.pop(rook, rook)
            self._homes[node] = homes
        return homes

    def legal(self, node: int, to: int | None) -> list[Legal]:
        """The legal moves behind a node, to one square or (None) all."""
        found = self._legal.get(node)
        if found is None:
            by_square: dict[int | None, list[Legal]] = {None: []}
            for one in legal_moves(self.board(node), self.homes(node)):
                by_square[None].append(one)
                by_square.setdefault(one.move.to_square, []).append(one)
            found = self._legal[node] = by_square
        return found.get(to, [])

    def fits(self, node: int, shape: Shape) -> tuple[Fit, ...]:
        """The moves behind a node that a shape can mean."""
        key = (node, shape)
        found = self._fits.get(key)
        if found is None:
            known = self.known[node]
            before = self.known[known.parent] if known.parent >= 0 else None
            mine = before.move.to_square if before is not None and before.move else None
            found = self._fits[key] = fitting(
                shape, self.board(node), self.legal(node, shape.to), known.move,
                known.took is not None, mine, self.costs,
            )  # fmt: skip
        return found

    def played(self, node: int) -> Played:
        """What is played in games behind a node."""
        found = self._played.get(node)
        if found is None:
            found = self._played[node] = self.book.at(self.board(node))
        return found

    def likely(self, node: int) -> tuple[int, ...]:
        """The moves that one may well have made without saying so: those that are often played, and those
        that take back where something was taken."""
        found = self._likely.get(node)
        if found is None:
            known = self.known[node]
            shares = self.played(node).shares
            moves = [move for move, share in shares.items() if share >= _LIKELY][:_MOST_LIKELY]
            if known.move is not None and known.took:
                moves += [one.move for one in self.legal(node, known.move.to_square)]
            found = self._likely[node] = tuple(self.child(node, move) for move in dict.fromkeys(moves))
        return found

    def theory(self, parent: int, node: int) -> Costs:
        """How likely a move is by what is played in games."""
        played = self.played(parent)
        if not played.count:
            return ()
        move = self.known[node].move
        assert move is not None
        share = played.shares.get(move)
        if share is None:
            return (("new_move", -math.log(_new_share(played.count))),)
        return (("played", 1.0), ("seldom_played", -math.log(share)))

    def sense(self, node: int) -> str:
        """How much sense a move makes, by what it gives away: the name of a cost."""
        found = self._sound.get(node)
        if found is None:
            known = self.known[node]
            assert known.move is not None
            pawns = given_away(self.board(known.parent), known.move, self.board(node))
            found = self._sound[node] = f"gives_{min(pawns, _MUCH)}"
        return found

    def path(self, node: int) -> list[int]:
        """The nodes from `node` back to the root, both with it."""
        path = [node]
        while path[-1] != ROOT:
            path.append(self.known[path[-1]].parent)
        return path

    def fullmove_number(self, node: int) -> int:
        """The number of the move that comes next."""
        return self.known[node].ply // 2 + 1

    def white_to_move(self, node: int) -> bool:
        return self.board(node).turn

    def forget(self) -> None:
        """Lets go of what can be computed anew: memory is bounded."""
        self._fits.clear()
        self._legal.clear()
        for node in [node for node in self._boards if node != ROOT]:
            del self._boards[node]
        for node in [node for node in self._homes if node != ROOT]:
            del self._homes[node]


@dataclass(frozen=True, slots=True, eq=False)
class Grown:
    """The nodes that a hearing holds, in the order in which they came; `children` in order too."""

    children: Mapping[int, tuple[int, ...]] = field(default_factory=lambda: {ROOT: ()})

    def __contains__(self, node: int) -> bool:
        return node in self.children

    def with_node(self, node: int, parent: int) -> Grown:
        if node in self.children:
            return self
        children = dict(self.children)
        children[node] = ()
        children[parent] = (*children[parent], node)
        return Grown(children)

    def without(self, node: int, parent: int) -> Grown:
        """Takes back a node behind which there is nothing."""
        if self.children.get(node) != ():
            return self
        children = dict(self.children)
        del children[node]
        children[parent] = tuple(child for child in children[parent] if child != node)
        return Grown(children)

    def main(self) -> Iterator[int]:
        """The main line: the first move, and the first behind it, and so on."""
        node = ROOT
        while True:
            yield node
            following = self.children[node]
            if not following:
                return
            node = following[0]


def _new_share(count: int) -> float:
    """How often a move is one that was not played in a position that was come to `count` times. Counted
    in the talks of `tests/speech/scripts/dev`: 23 % where it is 2 or 3, 7 % about 10, 1.4 % above 128."""
    share, more = _NEW
    return max(_LEAST_NEW, share / (count + more))
