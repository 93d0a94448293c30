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
_CASTLING = {  # the files of king and rook behind it
    b"O-O": (chess.BB_G1, chess.BB_F1), b"0-0": (chess.BB_G1, chess.BB_F1),
    b"O-O-O": (chess.BB_C1, chess.BB_D1), b"0-0-0": (chess.BB_C1, chess.BB_D1),
}  # fmt: skip
_TO_RANK_8 = 56  # by how many bits rank 8 lies above rank 1
_MOST_KNOWN = 50_000  # written moves

# The men that a move brings somewhere: kind (index of the piece in _LETTERS and 1, 0 for a pawn) and
# square.
_Brought: TypeAlias = tuple[tuple[int, int], ...]


class Reach:
    """The positions to be reached, in which a question about all of them is answered at once: they
    are the bits of one number."""

    def __init__(self, keys: Sequence[PositionKey]) -> None:
        self._all = (1 << len(keys)) - 1
        needs = _needs(keys)
        lasting = [need for need in needs if need.square & _LASTING[need.kind]]
        self._lasting = tuple(_in_rounds(lasting))
        self._others = tuple(_in_rounds(need for need in needs if need not in lasting))
        self._known: dict[bytes, tuple[_Brought, _Brought]] = {}

    def left(self, board: chess.Board) -> int:
        """The positions that need no pawn at home, and no castling right, that is gone."""
        there = _men(position_key(board))
        return _having(self._all, self._lasting, there)

    def is_hopeless(self, left: int, board: chess.Board, words: Iterable[bytes],
                    seen: Iterable[int]) -> bool:  # fmt: skip
        """Whether none of the positions that are `left` here, beside those that a game has `seen`,
        can come where these moves are played."""
        for number in seen:
            left &= ~(1 << number)
        if not left:
            return True
        there = _men(position_key(board))
        white = board.turn
        for word in words:
            known = self._known.get(word) or self._learn(word)
            for kind, squares in known[white]:
                there[kind + 6 * white] |= squares
            white = not white
        return not _having(left, self._others, there)

    def _learn(self, word: bytes) -> tuple[_Brought, _Brought]:
        """What a written move brings, played by Black and by White."""
        brought = _brought(word)
        castling = word in _CASTLING
        found = tuple((kind, square << _TO_RANK_8) for kind, square in brought) if castling else brought
        if len(self._known) < _MOST_KNOWN:
            self._known[word] = found, brought
        return found, brought


def _brought(word: bytes) -> _Brought:
    if word in _CASTLING:
        king, rook = _CASTLING[word]
        return ((5, king), (3, rook))
    move = _MOVE.search(word)
    if move is None:
        return ()  # a pass
    letter = move.group(2).upper() or word[:1]
    kind = _LETTERS.find(letter) + 1
    return ((kind, chess.BB_SQUARES[chess.parse_square(move.group(1).decode())]),)


def _having(positions: int, needs: Iterable[_Need], there: Sequence[int]) -> int:
    """Those of the positions that need nothing beside what is `there`, by kinds."""
    for kind, square, _, without in needs:
        if not there[kind] & square:
            positions &= without
            if not positions:
                break
    return positions


class _Need(NamedTuple):
    """A man of a kind on a square (as a bit): the positions that have it, and those without."""

    kind: int
    square: int
    having: int
    without: int


def _needs(keys: Sequence[PositionKey]) -> list[_Need]:
    found: dict[tuple[int, int], int] = {}
    for number, key in enumerate(keys):
        for kind, squares in enumerate(_men(key)):
            for square in chess.scan_forward(squares):
                need = (kind, chess.BB_SQUARES[square])
                found[need] = found.get(need, 0) | 1 << number
    return [_Need(*need, having, ~having) for need, having in sorted(found.items())]


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


# Kinds: Black's pawns, knights, bishops, rooks, queens and king, then White's, then castling rights
# as the squares of the rooks.
_RIGHTS = 12
# What is never there again once it is gone.
_LASTING = {kind: 0 for kind in range(_RIGHTS)} | {
    0: chess.BB_RANK_7, 6: chess.BB_RANK_2, _RIGHTS: chess.BB_ALL,
}  # fmt: skip


def _men(key: PositionKey) -> list[int]:
    """The squares of what stands in a position, by kinds."""
    white = key[6]
    return [*(men & ~white for men in key[:6]), *(men & white for men in key[:6]), key[8]]
