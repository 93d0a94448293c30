"""Whether a game can still come to a position of the booklet, told from its moves as written.

Every man of a position must stand there already, or a later move of the game must bring it. Which
man a written move brings where can be told without a board (`Nbd2` a knight to d2, `O-O` a king and a
rook), so that a game which never comes back is left where it leaves the booklet, and no count is
lost: only what can't be is ruled out. Castling rights don't come back either (FIDE Laws 3.8.2).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple, TypeAlias

import chess

from builder.model import PositionKey, position_key

_LETTERS = b"NBRQK"
_MOVE = re.compile(rb"([a-h][1-8])=?([NBRQnbrq]?)\Z")
_CASTLING = {  # the squares of king and rook behind it, for White
    b"O-O": (chess.G1, chess.F1), b"0-0": (chess.G1, chess.F1),
    b"O-O-O": (chess.C1, chess.D1), b"0-0-0": (chess.C1, chess.D1),
}  # fmt: skip
_MOST_KNOWN = 50_000  # written moves

# A man of some kind on a square is a bit of a number, or a set of them several. Kinds: Black's pawns,
# knights, bishops, rooks, queens and king, then White's, then castling rights on the rooks' squares.
Men: TypeAlias = int
_RIGHTS = 12


def _man(kind: int, square: int) -> Men:
    return 1 << (64 * kind + square)


def _men(key: PositionKey) -> Men:
    """What stands in a position."""
    white = key[6]
    sets = (*(men & ~white for men in key[:6]), *(men & white for men in key[:6]), key[8])
    return sum(squares << (64 * kind) for kind, squares in enumerate(sets))


# What is never there again once it is gone.
_LASTING: Men = (chess.BB_RANK_7 << 0) | (chess.BB_RANK_2 << 64 * 6) | (chess.BB_ALL << 64 * _RIGHTS)

# What a position lacks: a man, and the wanted positions that don't need it.
Lacks: TypeAlias = tuple[tuple[Men, int], ...]


class Reach:
    """The positions to be reached, in which a question about all of them is answered at once: they
    are the bits of one number."""

    def __init__(self, keys: Sequence[PositionKey]) -> None:
        self._all = (1 << len(keys)) - 1
        self._men = [_men(key) for key in keys]
        self._needs = _in_rounds(_needs(self._men))
        self._brings = (_Brings(chess.BLACK), _Brings(chess.WHITE))

    def left(self, board: chess.Board) -> tuple[int, Lacks]:
        """The positions that may still come, since they need no pawn at home and no castling right
        that is gone; and what they need beside what stands here."""
        there = _men(position_key(board))
        missing = [need for need in self._needs if not need.man & there]
        left = self._all
        for need in missing:
            if need.man & _LASTING:
                left &= need.without
        return left, tuple(need.lack for need in missing if need.having & left)

    def hope(self, left: int, lacks: Lacks, white: bool, words: Sequence[bytes],
             seen: Iterable[int]) -> int:  # fmt: skip
        """Those of the positions that are `left` here, beside those that a game has `seen`, that can
        come where these moves are played; White plays the first if it is his turn. 0 for none."""
        for number in seen:
            left &= ~(1 << number)
        brought = self._brought(white, words)
        for man, without in lacks:
            if not man & brought:
                left &= without
                if not left:
                    break
        return left

    def narrowed(self, hope: int, board: chess.Board, words: Sequence[bytes]) -> int:
        """The same for the few positions that there was hope for a move before."""
        there = _men(position_key(board)) | self._brought(board.turn, words)
        found, rest = 0, hope
        while rest:
            one = rest & -rest
            if not self._men[one.bit_length() - 1] & ~there:
                found |= one
            rest ^= one
        return found

    def _brought(self, white: bool, words: Sequence[bytes]) -> Men:
        brought = 0
        for brings, moves in ((self._brings[white], words[::2]), (self._brings[not white], words[1::2])):
            for word in moves:
                brought |= brings[word]
        return brought


class _Brings(dict[bytes, Men]):
    """The men that a side's written moves bring somewhere; those met once are known."""

    def __init__(self, white: bool) -> None:
        self._white = white

    def __missing__(self, word: bytes) -> Men:
        found = self._read(word)
        if len(self) < _MOST_KNOWN:
            self[word] = found
        return found

    def _read(self, word: bytes) -> Men:
        base = 6 if self._white else 0
        if word in _CASTLING:
            up = 0 if self._white else 56  # to rank 8
            king, rook = _CASTLING[word]
            return _man(base + 5, king + up) | _man(base + 3, rook + up)
        move = _MOVE.search(word)
        if move is None:
            return 0  # a pass
        letter = move.group(2).upper() or word[:1]
        square = chess.parse_square(move.group(1).decode())
        return _man(base + _LETTERS.find(letter) + 1, square)


class _Need(NamedTuple):
    """A man, the positions that need it, those without, and both as a position lacks it: one pair
    for all nodes, of which there are thousands."""

    man: Men
    having: int
    without: int
    lack: tuple[Men, int]


def _needs(positions: Iterable[Men]) -> list[_Need]:
    found: dict[Men, int] = {}
    for number, men in enumerate(positions):
        while men:
            man = men & -men
            found[man] = found.get(man, 0) | 1 << number
            men ^= man
    return [_Need(man, having, ~having, (man, ~having)) for man, having in sorted(found.items())]


def _in_rounds(needs: Iterable[_Need]) -> list[_Need]:
    """The needs in such an order that each round of them is had by all positions together: games
    that can't come back are mostly found out by the first few."""
    waiting = list(needs)
    order: list[_Need] = []
    while waiting:
        open_ = -1
        while waiting:
            best = max(waiting, key=lambda need: (need.having & open_).bit_count())
            if not best.having & open_:
                break
            waiting.remove(best)
            order.append(best)
            open_ &= best.without
    return order
