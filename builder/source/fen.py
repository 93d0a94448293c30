"""A FEN as an author writes it, to a position that can stand in a game."""

from __future__ import annotations

import chess

from builder.faults import Faults
from builder.model import Position
from builder.place import Place

# What `chess.Board.status` finds, in words an author can act on.
_STATUS = (
    (chess.STATUS_NO_WHITE_KING, "White has no king"),
    (chess.STATUS_NO_BLACK_KING, "Black has no king"),
    (chess.STATUS_TOO_MANY_KINGS, "a side has more than one king"),
    (chess.STATUS_TOO_MANY_WHITE_PAWNS, "White has more than eight pawns"),
    (chess.STATUS_TOO_MANY_BLACK_PAWNS, "Black has more than eight pawns"),
    (chess.STATUS_PAWNS_ON_BACKRANK, "a pawn stands on the first or last rank"),
    (chess.STATUS_TOO_MANY_WHITE_PIECES, "White has more than sixteen pieces"),
    (chess.STATUS_TOO_MANY_BLACK_PIECES, "Black has more than sixteen pieces"),
    (chess.STATUS_BAD_CASTLING_RIGHTS, "a castling right without king and rook at home"),
    (chess.STATUS_INVALID_EP_SQUARE, "no pawn can just have passed the en-passant square"),
    (chess.STATUS_OPPOSITE_CHECK, "the side that is not to move is in check"),
    (chess.STATUS_EMPTY, "the board is empty"),
    (chess.STATUS_TOO_MANY_CHECKERS, "no move can give so many checks"),
    (chess.STATUS_IMPOSSIBLE_CHECK, "no move can give these checks"),
)


def read_fen(text: str, place: Place, faults: Faults) -> Position | None:
    """The position of a FEN; what is wrong with it is an error at `place`."""
    try:
        board = chess.Board(" ".join(text.split()))
    except ValueError as error:
        faults.error("fen", place, f"not a FEN: {error}"[:200],
                     "six fields: placement, side, castling, en passant, clocks")  # fmt: skip
        return None
    status = board.status()
    for flag, words in _STATUS:
        if status & flag:
            faults.error("fen", place, f"no such position can stand in a game: {words}")
            return None
    return Position(board)
