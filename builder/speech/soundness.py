"""How much a move gives away, counted by captures alone.

People talk about moves that make sense. A hearing that went wrong soon plays moves that leave pieces to be
taken and don't take back, so what captures tell is enough to mistrust it: no search, no judgement.

A talk asks it of some ten thousand positions, and only for the sake of a weight; so each side takes by the
cheapest piece, pinned or not. Claims are proved by `builder/proof/exchange.py`, which tries every piece.
"""

from __future__ import annotations

import chess

# In pawns; the usual values of the pieces (common practice, no source).
_VALUES = (0, 1, 3, 3, 5, 9, 100)


def given_away(before: chess.Board, move: chess.Move, after: chess.Board) -> int:
    """What the side that moves gives away, in pawns: what it could have won by a capture, and what
    it lets be won by one, less what the move takes."""
    if after.is_checkmate():
        return 0
    took = 1 if before.is_en_passant(move) else _value(before, move.to_square)
    if before.is_castling(move):
        took = 0
    if move.promotion:
        took += _VALUES[move.promotion] - 1
    return max(0, winnable(before) - took + winnable(after))


def winnable(board: chess.Board) -> int:
    """The most that the side to move wins by captures on one square, in pawns; 0 where nothing."""
    targets = board.checkers_mask() or board.occupied_co[not board.turn]
    gains = ((_won_on(board, square), square) for square in chess.scan_forward(targets))
    for gain, square in sorted(gains, reverse=True):
        if gain <= 0:
            break
        if any(board.generate_legal_moves(to_mask=chess.BB_SQUARES[square])):
            return gain
    return 0


def _value(board: chess.Board, square: chess.Square) -> int:
    return _VALUES[board.piece_type_at(square) or 0]


def _won_on(board: chess.Board, square: chess.Square) -> int:
    """What captures on a square win, the least piece taking each time; either side may stop."""
    occupied, side, at_stake = board.occupied, board.turn, _value(board, square)
    taken = []
    while (taker := _least_taker(board, side, square, occupied)) is not None:
        taken.append(at_stake)
        at_stake = _value(board, taker)
        occupied &= ~chess.BB_SQUARES[taker]
        side = not side
    won = 0
    for value in reversed(taken):
        won = max(0, value - won)
    return won


def _least_taker(board: chess.Board, side: chess.Color, square: chess.Square,
                 occupied: chess.Bitboard) -> chess.Square | None:  # fmt: skip
    takers = board.attackers_mask(side, square, occupied) & occupied
    for pieces in (board.pawns, board.knights, board.bishops, board.rooks, board.queens, board.kings):
        if some := takers & pieces:
            return chess.lsb(some)
    return None
