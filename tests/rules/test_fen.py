"""FEN as the rules library writes it: the fields that the model puts together itself."""

from __future__ import annotations

import random

import chess

from builder.model import Position


def test_fen_and_epd_are_the_rules_librarys():
    """With the en-passant square after every double step (PGN standard 16.1.3.4), or only where
    the capture is legal."""
    chance = random.Random(1)
    squares = set()
    for _ in range(60):
        board = chess.Board()
        for _ in range(60):
            legal = list(board.legal_moves)
            if not legal:
                break
            board.push(chance.choice(legal))
            position = Position(board)
            assert position.placement == board.board_fen()
            assert position.fen == board.fen(en_passant="fen")
            assert position.epd == board.epd(en_passant="legal")
            squares.add(position.epd.split()[3])
    assert len(squares) > 3
