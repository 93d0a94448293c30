"""What a move gives away, by captures: positions where each capture can be counted by hand."""

from __future__ import annotations

import chess
import pytest
from builder.speech.soundness import given_away, winnable

START = chess.STARTING_FEN
MOVES = {
    "a quiet move": (START, "e4", 0),
    "a pawn that is not covered": ("4k3/8/8/3p4/8/8/4P3/4K3 w - - 0 1", "e4", 1),
    "the same pawn, covered": ("4k3/8/8/3p4/8/3P4/4P3/4K3 w - - 0 1", "e4", 0),
    "a queen that a pawn takes": ("4k3/8/4p3/8/8/8/3Q4/4K3 w - - 0 1", "Qd5", 9),
    "a queen for a covered pawn": ("4k3/8/4p3/3p4/8/8/3Q4/4K3 w - - 0 1", "Qxd5", 8),
    "a rook, covered, that a bishop takes": ("4k3/1b6/8/8/8/2N5/3R4/4K3 w - - 0 1", "Rd5", 2),
    "not taking back": ("4k3/8/8/3n4/4P3/8/8/4K3 w - - 0 1", "Kd1", 3),
    "taking back": ("4k3/8/8/3n4/4P3/8/8/4K3 w - - 0 1", "exd5", 0),
    "en passant": ("4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1", "exd6", 0),
    "mate, whatever hangs": ("6k1/5ppp/8/8/8/8/q7/1B2R1K1 w - - 0 1", "Re8#", 0),
    "a pinned piece takes nothing": ("3rk3/8/8/8/8/3b4/4P3/3RK3 b - - 0 1", "Bxe2", 2),
}  # fmt: skip


@pytest.mark.parametrize(("fen", "san", "pawns"), MOVES.values(), ids=MOVES)
def test_what_a_move_gives_away(fen, san, pawns):
    board = chess.Board(fen)
    move = board.parse_san(san)
    after = board.copy(stack=False)
    after.push(move)
    assert given_away(board, move, after) == pawns


def test_a_side_in_check_wins_only_what_gives_it():
    board = chess.Board("4k3/8/8/8/7b/8/q2P4/4K2R w - - 0 1")
    assert board.is_check() and winnable(board) == 3
