"""Positions against published perft figures: the number of paths of n plies.

Source of the figures: examples/perft/random.perft (M. van Kervinck's set, gentest-1 and others)
and examples/perft/tricky.perft (the positions of the chess programming wiki's 'Perft Results')
in the source distribution of PyPI `chess` 1.11.2. The depths are small, to be quick.
"""

from __future__ import annotations

import chess
import pytest

from builder.model import Position

FIGURES = {
    "initial position": (
        "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq -", (20, 400, 8902),
    ),
    "position 2: pins and castling": (
        "r3k2r/p1ppqpb1/bn2pnp1/3PN3/1p2P3/2N2Q1p/PPPBBPPP/R3K2R w KQkq -", (48, 2039),
    ),
    "position 3: en passant that opens a rank": (
        "8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - -", (14, 191, 2812),
    ),
    "position 4: promotions": (
        "r2q1rk1/pP1p2pp/Q4n2/bbp1p3/Np6/1B3NBn/pPPP1PPP/R3K2R b KQ -", (6, 264, 9467),
    ),
    "position 5: a promotion that takes": (
        "rnbq1k1r/pp1Pbppp/2p5/8/2B5/8/PPP1NnPP/RNBQK2R w KQ -", (44, 1486),
    ),
    "position 6: a full middle game": (
        "r4rk1/1pp1qppp/p1np1n2/2b1p1B1/2B1P1b1/P1NP1N2/1PP1QPPP/R4RK1 w - -", (46, 2079),
    ),
}  # fmt: skip
CASES = [
    pytest.param(epd, depth, count, id=f"{name}, {depth} plies")
    for name, (epd, counts) in FIGURES.items()
    for depth, count in enumerate(counts, start=1)
]


def perft(position: Position, depth: int) -> int:
    """Every ply is a `Position` of its own, as the booklet's plies are."""
    board = position.board()
    if depth == 1:
        return board.legal_moves.count()
    total = 0
    for move in list(board.legal_moves):
        board.push(move)
        total += perft(Position(board), depth - 1)
        board.pop()
    return total


@pytest.mark.parametrize("epd, depth, count", CASES)
def test_perft(epd, depth, count):
    board, _ = chess.Board.from_epd(epd)
    assert perft(Position(board), depth) == count


@pytest.mark.parametrize("epd", [epd for epd, _ in FIGURES.values()], ids=FIGURES)
def test_keys_tell_positions_apart(epd):
    """Two plies on, positions with one key are those with one EPD, and no others."""
    board, _ = chess.Board.from_epd(epd)
    by_key: dict[tuple[int, ...], set[str]] = {}
    for first in list(board.legal_moves):
        board.push(first)
        for second in list(board.legal_moves):
            board.push(second)
            position = Position(board)
            by_key.setdefault(position.key, set()).add(position.epd)
            board.pop()
        board.pop()
    assert all(len(epds) == 1 for epds in by_key.values())
    assert len({next(iter(epds)) for epds in by_key.values()}) == len(by_key)
