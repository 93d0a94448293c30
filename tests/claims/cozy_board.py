"""Boards of `cozy-chess-py`, an independent rules library, for the same positions."""

from __future__ import annotations

import chess
import cozy_chess as cozy

COZY_SQUARES = tuple(cozy.Square.from_index(square) for square in chess.SQUARES)
VALUE = {"p": 1, "n": 3, "b": 3, "r": 5, "q": 9, "k": 0}


def cozy_board(board: chess.Board) -> cozy.Board:
    return cozy.Board.from_fen(board.fen(en_passant="legal"))
