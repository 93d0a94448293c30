"""Positions by chance, the same at every run."""

from __future__ import annotations

import random
from collections.abc import Iterator

import chess


def random_positions(count: int, seed: int) -> Iterator[chess.Board]:
    """Positions of random games, from the opening to the endgame, captures and checks preferred
    so that there is something to look at. Each board is the caller's own."""
    rng = random.Random(seed)
    found = 0
    while found < count:
        board = chess.Board()
        for _ in range(rng.randrange(4, 120)):
            moves = list(board.legal_moves)
            if not moves:
                break
            sharp = [move for move in moves if board.is_capture(move) or move.promotion]
            board.push(rng.choice(sharp if sharp and rng.random() < 0.25 else moves))
            if rng.random() < 0.15 and found < count:
                found += 1
                yield board.copy(stack=False)
