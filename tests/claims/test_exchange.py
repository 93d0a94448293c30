"""The exchange on a square: against a published test set, and against plain counting out."""

from __future__ import annotations

import random

import chess
import cozy_chess as cozy
import pytest
from claims.cozy_board import COZY_SQUARES, VALUE, cozy_board
from claims.positions import random_positions

from builder.proof.exchange import attack_on, exchange, sans

# The set that several engines share: `Leorik.Test/see.epd` in github.com/lithander/Leorik, which
# holds the cases of `src/unit.cpp` in github.com/jdart1/arasan-chess; and the two examples of the
# Chess Programming Wiki, "Static Exchange Evaluation". Values in pawns, for 1, 3, 3, 5, 9.
PUBLISHED = (
    ("4R3/2r3p1/5bk1/1p1r3p/p2PR1P1/P1BK1P2/1P6/8 b - -", "hxg4", 0),
    ("4R3/2r3p1/5bk1/1p1r1p1p/p2PR1P1/P1BK1P2/1P6/8 b - -", "hxg4", 0),
    ("4r1k1/5pp1/nbp4p/1p2p2q/1P2P1b1/1BP2N1P/1B2QPPK/3R4 b - -", "Bxf3", 0),
    ("2r1r1k1/pp1bppbp/3p1np1/q3P3/2P2P2/1P2B3/P1N1B1PP/2RQ1RK1 b - -", "dxe5", 1),
    ("7r/5qpk/p1Qp1b1p/3r3n/BB3p2/5p2/P1P2P2/4RK1R w - -", "Re8", 0),
    ("6rr/6pk/p1Qp1b1p/2n5/1B3p2/5p2/P1P2P2/4RK1R w - -", "Re8", -5),
    ("7r/5qpk/2Qp1b1p/1N1r3n/BB3p2/5p2/P1P2P2/4RK1R w - -", "Re8", -5),
    ("6RR/4bP2/8/8/5r2/3K4/5p2/4k3 w - -", "f8=Q", 2),
    ("6RR/4bP2/8/8/5r2/3K4/5p2/4k3 w - -", "f8=N", 2),
    ("7R/5P2/8/8/6r1/3K4/5p2/4k3 w - -", "f8=Q", 8),
    ("7R/5P2/8/8/6r1/3K4/5p2/4k3 w - -", "f8=B", 2),
    ("7R/4bP2/8/8/1q6/3K4/5p2/4k3 w - -", "f8=R", -1),
    ("8/4kp2/2npp3/1Nn5/1p2PQP1/7q/1PP1B3/4KR1r b - -", "Rxf1+", 0),
    ("8/4kp2/2npp3/1Nn5/1p2P1P1/7q/1PP1B3/4KR1r b - -", "Rxf1+", 0),
    ("2r2r1k/6bp/p7/2q2p1Q/3PpP2/1B6/P5PP/2RR3K b - -", "Qxc1", 1),
    ("r2qk1nr/pp2ppbp/2b3p1/2p1p3/8/2N2N2/PPPP1PPP/R1BQR1K1 w kq -", "Nxe5", 1),
    ("3q2nk/pb1r1p2/np6/3P2Pp/2p1P3/2R4B/PQ3P1P/3R2K1 w - h6", "gxh6", 0),
    ("3q2nk/pb1r1p2/np6/3P2Pp/2p1P3/2R1B2B/PQ3P1P/3R2K1 w - h6", "gxh6", 1),
    ("2r4r/1P4pk/p2p1b1p/7n/BB3p2/2R2p2/P1P2P2/4RK2 w - -", "Rxc8", 5),
    ("2r5/1P4pk/p2p1b1p/5b1n/BB3p2/2R2p2/P1P2P2/4RK2 w - -", "Rxc8", 5),
    ("2r4k/2r4p/p7/2b2p1b/4pP2/1BR5/P1R3PP/2Q4K w - -", "Rxc5", 3),
    ("8/pp6/2pkp3/4bp2/2R3b1/2P5/PP4B1/1K6 w - -", "Bxc6", -2),
    ("4q3/1p1pr1k1/1B2rp2/6p1/p3PP2/P3R1P1/1P2R1K1/4Q3 b - -", "Rxe4", -4),
    ("4q3/1p1pr1kb/1B2rp2/6p1/p3PP2/P3R1P1/1P2R1K1/4Q3 b - -", "Bxe4", 1),
    ("1k1r4/1ppn3p/p4b2/4n3/8/P2N2P1/1PP1R1BP/2K1Q3 w - -", "Nxe5", 1),
    ("1k1r3q/1ppn3p/p4b2/4p3/8/P2N2P1/1PP1R1BP/2K1Q3 w - -", "Nxe5", -2),
    ("1k1r4/1pp4p/p7/4p3/8/P5P1/1PP4P/2K1R3 w - -", "Rxe5", 1),
    ("rnb2b1r/ppp2kpp/5n2/4P3/q2P3B/5R2/PPP2PPP/RN1QKB2 w Q -", "Bxf6", 1),
    ("r2q1rk1/2p1bppp/p2p1n2/1p2P3/4P1b1/1nP1BN2/PP3PPP/RN1QR1K1 b - -", "Bxf3", 0),
    ("r1bqkb1r/2pp1ppp/p1n5/1p2p3/3Pn3/1B3N2/PPP2PPP/RNBQ1RK1 b kq -", "Nxd4", 0),
    ("r1bq1r2/pp1ppkbp/4N1p1/n3P1B1/8/2N5/PPP2PPP/R2QK2R w KQ -", "Nxg7", 0),
    ("r1bq1r2/pp1ppkbp/4N1pB/n3P3/8/2N5/PPP2PPP/R2QK2R w KQ -", "Nxg7", 3),
    ("rnq1k2r/1b3ppp/p2bpn2/1p1p4/3N4/1BN1P3/PPP2PPP/R1BQR1K1 b kq -", "Bxh2+", -2),
    ("rn2k2r/1bq2ppp/p2bpn2/1p1p4/3N4/1BN1P3/PPP2PPP/R1BQR1K1 b kq -", "Bxh2+", 1),
    ("r2qkbn1/ppp1pp1p/3p1rp1/3Pn3/4P1b1/2N2N2/PPPP1PPP/R1BQKB1R b KQq -", "Bxf3", 1),
    ("rnbq1rk1/pppp1ppp/4pn2/8/1bPP4/P1N5/1PQ1PPPP/R1B1KBNR b KQ -", "Bxc3+", 0),
    ("r4rk1/3nppbp/bq1p1np1/2pP4/8/2N2NPP/PP2PPB1/R1BQR1K1 b - -", "Qxb2", -8),
    ("r4rk1/1q1nppbp/b2p1np1/2pP4/8/2N2NPP/PP2PPB1/R1BQR1K1 b - -", "Nxd5", -2),
    ("1r3r2/5p2/4p2p/2k1n1P1/2PN1nP1/1P3P2/8/2KR1B1R b - -", "Rxb3", -4),
    ("1r3r2/5p2/4p2p/4n1P1/kPPN1nP1/5P2/8/2KR1B1R b - -", "Rxb4", 1),
    ("2r2rk1/5pp1/pp5p/q2p4/P3n3/1Q3NP1/1P2PP1P/2RR2K1 b - -", "Rxc1", 0),
    ("5rk1/5pp1/2r4p/5b2/2R5/6Q1/R1P1qPP1/5NK1 b - -", "Bxc2", -1),
    ("1r3r1k/p4pp1/2p1p2p/qpQP3P/2P5/3R4/PP3PP1/1K1R4 b - -", "Qxa2+", -8),
    ("1r5k/p4pp1/2p1p2p/qpQP3P/2P2P2/1P1R4/P4rP1/1K1R4 b - -", "Qxa2+", 1),
    ("r2q1rk1/1b2bppp/p2p1n2/1ppNp3/3nP3/P2P1N1P/BPP2PP1/R1BQR1K1 w - -", "Nxe7+", 0),
    ("rnbqrbn1/pp3ppp/3p4/2p2k2/4p3/3B1K2/PPP2PPP/RNB1Q1NR w - -", "Bxe4+", 1),
    ("rnb1k2r/p3p1pp/1p3p1b/7n/1N2N3/3P1PB1/PPP1P1PP/R2QKB1R w KQkq -", "Nd6+", -2),
    ("r1b1k2r/p4npp/1pp2p1b/7n/1N2N3/3P1PB1/PPP1P1PP/R2QKB1R w KQkq -", "Nd6+", 0),
    ("2r1k2r/pb4pp/5p1b/2KB3n/4N3/2NP1PB1/PPP1P1PP/R2Q3R w k -", "Bc6+", -3),
    ("2r1k2r/pb4pp/5p1b/2KB3n/1N2N3/3P1PB1/PPP1P1PP/R2Q3R w k -", "Bc6+", 0),
    ("2r1k3/pbr3pp/5p1b/2KB3n/1N2N3/3P1PB1/PPP1P1PP/R2Q3R w - -", "Bc6+", -3),
    ("5k2/p2P2pp/8/1pb5/1Nn1P1n1/6Q1/PPP4P/R3K1NR w KQ -", "d8=Q+", 8),
    ("r4k2/p2P2pp/8/1pb5/1Nn1P1n1/6Q1/PPP4P/R3K1NR w KQ -", "d8=Q+", -1),
    ("5k2/p2P2pp/1b6/1p6/1Nn1P1n1/8/PPP4P/R2QK1NR w KQ -", "d8=Q+", 2),
    ("4kbnr/p1P1pppp/b7/4q3/7n/8/PP1PPPPP/RNBQKBNR w KQk -", "c8=Q+", -1),
    ("4kbnr/p1P1pppp/b7/4q3/7n/8/PPQPPPPP/RNB1KBNR w KQk -", "c8=Q+", 2),
    ("4kbnr/p1P4p/b1q5/5pP1/4n3/5Q2/PP1PPP1P/RNB1KBNR w KQk f6", "gxf6", 0),
    ("3N4/2K5/2n1n3/1k6/8/8/8/8 b - -", "Ncxd8", 3),
    ("3N4/2K5/2n5/1k6/8/8/8/8 b - -", "Nxd8", 0),
    ("3n3r/2P5/8/1k6/8/8/3Q4/4K3 w - -", "Qxd8", 3),
    ("r2n3r/2P1P3/4N3/1k6/8/8/8/4K3 w - -", "Nxd8", 3),
)

# Of the same set, where playing by the rules comes to another value.
STRICTER = (
    # The f-pawn is pinned by Qh4 and can't take back; the set, which knows no pins, says 0.
    ("6r1/4kq2/b2p1p2/p1pPb3/p1P2B1Q/2P4P/2B1R1P1/6K1 w - -", "Bxe5", 1),
    # The pawn that takes back becomes a queen; the set says 0.
    ("8/8/8/1k6/6b1/4N3/2p3K1/3n4 w - -", "Nxd1", -8),
)


@pytest.mark.parametrize("epd, san, value", PUBLISHED + STRICTER)
def test_published(epd, san, value):
    board = chess.Board(epd + " 0 1")
    assert exchange(board, board.parse_san(san)).value == value


# board, square: the value and the captures. None: nothing can take it.
COUNTED = {
    "a pinned piece doesn't take": ("3k4/8/8/3p4/4N3/8/8/K2R4 b - - 0 1", "e4", None),
    "a pinned piece doesn't take back": (
        "3k4/3p4/2n5/8/8/8/8/K1RR4 w - - 0 1", "c6", (3, "Rxc6"),
    ),
    "it does when the pin is gone": (
        "3k4/3p4/2n5/8/8/8/8/K1R5 w - - 0 1", "c6", (-2, "Rxc6 dxc6"),
    ),
    "a defender too few": ("4k3/8/4n3/3p4/8/8/8/K2QR3 w - - 0 1", "d5", (1, "Qxd5")),
    "nothing": ("4k3/8/4n3/8/8/8/8/K2QR3 w - - 0 1", "e6", (3, "Rxe6+")),
    "the king doesn't take what is defended": (
        "4k3/8/8/8/8/2b5/3q4/K2N2N1 w - - 0 1", "d2", None,
    ),
    "the king takes last": ("8/8/8/8/8/8/3rK3/8 w - - 0 1", "d2", (5, "Kxd2")),
    "the piece behind joins in": ("4k3/3r4/8/3n4/8/8/3R4/3R2K1 w - - 0 1", "d5", (3, "Rxd5")),
    "on both sides": (
        "3rk3/3r4/8/3p4/8/8/3R4/3R2K1 w - - 0 1", "d5", (-4, "Rxd5 Rxd5"),
    ),
    "a check on the owner is passed over": (
        "r3k3/2N5/8/8/8/8/8/4K1R1 b q - 0 1", "a8", (5, "Nxa8"),
    ),
    "the owner in check may still take back": (
        "R6k/8/4p3/3n4/4P3/8/8/6K1 b - - 0 1", "d5", (2, "exd5+ exd5"),
    ),
    "the attacker in check must answer": ("4k3/8/8/3n4/4P3/8/8/r3K3 w - - 0 1", "d5", None),
    "taken en passant": ("4k3/8/8/8/3pP3/8/8/4K3 b - e3 0 1", "e4", (1, "dxe3")),
    "a capture that promotes": ("3r2k1/4P3/8/8/8/8/8/4K3 w - - 0 1", "d8", (13, "exd8=Q+")),
    "a promotion that is taken": (
        "3rr1k1/4P3/8/8/8/8/8/K7 w - - 0 1", "d8", (4, "exd8=Q Rxd8"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", COUNTED)
def test_counted_out(name):
    fen, square, expected = COUNTED[name]
    board = chess.Board(fen)
    found = attack_on(board, chess.parse_square(square))
    assert (found and (found.value, sans(board, found.moves))) == expected
    assert board.fen() == chess.Board(fen).fen()


# --- against plain counting out ------------------------------------------------------------------


def best(board: cozy.Board, square: cozy.Square) -> int:
    """What the side to move wins on the square at most: every legal capture tried, each side free
    to stop. In another rules library, with neither ordering nor cutting off."""
    return max([0, *(value(board, move) for move in legal_captures(board, square))])


def legal_captures(board: cozy.Board, square: cozy.Square) -> list[cozy.Move]:
    return [
        move for move in board.generate_moves_for(board.colors(board.side_to_move()))
        if move.to_square == square and board.color_on(square) == ~board.side_to_move()
    ]  # fmt: skip


def value(board: cozy.Board, move: cozy.Move) -> int:
    won = VALUE[str(board.piece_on(move.to_square) or cozy.Piece.Pawn)]
    if move.promotion:
        won += VALUE[str(move.promotion)] - 1
    after = board.__copy__()
    after.play(move)
    return won - best(after, move.to_square)


def takers(board: cozy.Board, square: int) -> list[cozy.Move]:
    """Every legal move that takes what stands there, en passant too."""
    target = COZY_SQUARES[square]
    moves = legal_captures(board, target)
    file = board.en_passant()
    if file is not None:
        rank = 5 if board.side_to_move() == cozy.Color.White else 2
        behind = chess.square(file.__index__(), rank)
        if square == behind + (-8 if rank == 5 else 8):
            moves += [
                move for move in board.generate_moves()
                if move.to_square == COZY_SQUARES[behind]
                and board.piece_on(move.from_square) == cozy.Piece.Pawn
                and move.from_square.file() != move.to_square.file()
            ]
    return moves


def test_like_plain_counting_out():
    """Every piece of 300 random positions. Where the owner is in check no pass is legal, and so
    there is nothing to compare with."""
    compared = lost = 0
    for board in random_positions(300, seed=11):
        for square in chess.scan_forward(board.occupied & ~board.kings):
            other = cozy_board(board)
            if board.color_at(square) == board.turn:
                other = other.null_move()
                if other is None:
                    continue
            found = attack_on(board, square)
            values = [value(other, move) for move in takers(other, square)]
            assert (found and found.value) == (max(values) if values else None), (
                board.fen(), chess.square_name(square))  # fmt: skip
            compared += 1
            lost += found is not None and found.value > 0
    assert compared > 4000 and lost > 300  # The comparison has met what it is about.


def test_the_captures_told_are_worth_what_is_told():
    """The line that a finding shows, played out, comes to the value that it tells."""
    rng = random.Random(5)
    for board in random_positions(300, seed=12):
        moves = [move for move in board.legal_moves if board.is_capture(move)]
        if not moves:
            continue
        move = rng.choice(moves)
        found = exchange(board, move)
        side, before = board.turn, lead(board)
        for step in found.moves:
            assert step in board.legal_moves and step.to_square == move.to_square
            board.push(step)
        assert (lead(board) - before) * (1 if side else -1) == found.value


def lead(board: chess.Board) -> int:
    return sum(
        VALUE[piece.symbol().lower()] * (1 if piece.color else -1)
        for piece in board.piece_map().values()
    )
