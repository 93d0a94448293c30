"""Claims about random positions against `cozy-chess-py`, an independent rules library.

The claims are written as an author would, with the numbers that the other library gives; so the
language is on trial as well.
"""

from __future__ import annotations

import random

import chess
import cozy_chess as cozy
import pytest
from claims.cozy_board import COZY_SQUARES, cozy_board
from claims.positions import random_positions
from claims.proving import proved

SIDES = {"white": cozy.Color.White, "black": cozy.Color.Black}
COUNT = 2000


@pytest.fixture(scope="module")
def pairs():
    """The FEN and the other library's board of each position."""
    return [(board.fen(), cozy_board(board)) for board in random_positions(COUNT, seed=3)]


def holds(fen: str, claim: str) -> bool:
    return proved(fen, claim).outcome == "true"


def to_move(board: cozy.Board) -> str:
    return next(name for name, side in SIDES.items() if board.side_to_move() == side)


def attackers(board: cozy.Board, square: cozy.Square, side: cozy.Color) -> int:
    """By the library's move tables."""

    def of(piece: cozy.Piece) -> cozy.BitBoard:
        return board.colored_pieces(side, piece)

    blockers = board.occupied()
    queens = of(cozy.Piece.Queen)
    return len(
        (cozy.get_king_moves(square) & of(cozy.Piece.King))
        | (cozy.get_knight_moves(square) & of(cozy.Piece.Knight))
        | (cozy.get_bishop_moves(square, blockers) & (of(cozy.Piece.Bishop) | queens))
        | (cozy.get_rook_moves(square, blockers) & (of(cozy.Piece.Rook) | queens))
        | (cozy.get_pawn_attacks(square, ~side) & of(cozy.Piece.Pawn))
    )


def test_attackers(pairs):
    rng = random.Random(1)
    seen = 0
    for fen, board in pairs:
        for square in rng.sample(chess.SQUARES, 2):
            for name, side in SIDES.items():
                count = attackers(board, COZY_SQUARES[square], side)
                assert holds(fen, f"attackers {chess.square_name(square)} {name} = {count}"), fen
                seen += count
    assert seen > COUNT


def test_checks_and_ends(pairs):
    ends = []
    for fen, board in pairs:
        checkers = len(board.checkers())
        assert holds(fen, "check") == (checkers > 0), fen
        assert holds(fen, "double check") == (checkers == 2), fen
        over = not board.generate_moves()
        assert holds(fen, "mate") == (over and checkers > 0), fen
        assert holds(fen, "stalemate") == (over and checkers == 0), fen
        assert holds(fen, f"to move {to_move(board)}"), fen
        ends.append((over, checkers))
    assert {(True, 1), (False, 0), (False, 1), (False, 2)} <= set(ends)


def test_castling_rights(pairs):
    held = 0
    for fen, board in pairs:
        for name, side in SIDES.items():
            rights = board.castle_rights(side)
            assert holds(fen, f"castling {name} kingside") == rights.has_short(), fen
            assert holds(fen, f"castling {name} queenside") == rights.has_long(), fen
            held += rights.has_short()
    assert 0 < held < 2 * COUNT


def test_pins(pairs):
    """The side to move's pieces that shield their king alone."""
    pins = 0
    for fen, board in pairs:
        side = board.side_to_move()
        pinned = {square.__index__() for square in board.pinned() & board.colors(side)}
        pins += len(pinned)
        for square in pinned:
            assert holds(fen, f"pinned {chess.square_name(square)}"), fen
        own = board.colors(side) ^ board.colored_pieces(side, cozy.Piece.King)
        others = sorted({square.__index__() for square in own} - pinned)[:3]
        for square in others:
            assert not holds(fen, f"pinned {chess.square_name(square)}"), fen
    assert pins > COUNT / 20


def san(fen: str, move: cozy.Move) -> str:
    """In full, so that it is clear and needs no rule to be read. Castling is king takes rook."""
    board = chess.Board(fen)
    piece = board.piece_at(move.from_square.__index__())
    assert piece is not None
    if piece.piece_type == chess.KING:
        if board.color_at(move.to_square.__index__()) == piece.color:
            return "O-O" if is_kingside(move) else "O-O-O"
        return f"K{move.to_square}"
    letter = "" if piece.piece_type == chess.PAWN else piece.symbol().upper()
    becomes = f"={str(move.promotion).upper()}" if move.promotion else ""
    return f"{letter}{move.from_square}{move.to_square}{becomes}"


def is_kingside(castling: cozy.Move) -> bool:
    return castling.to_square.file().__index__() > castling.from_square.file().__index__()


def any_move(rng: random.Random, board: cozy.Board) -> cozy.Move:
    """A move of one of the side's pieces to a square where no piece of its own stands."""
    own = board.colors(board.side_to_move())
    origin = rng.choice(list(own))
    goal = rng.choice(list(~own))
    last = goal.rank() in (cozy.Rank.First, cozy.Rank.Eighth)
    promotes = last and board.piece_on(origin) == cozy.Piece.Pawn
    return cozy.Move(origin, goal, cozy.Piece.Queen if promotes else None)


def test_legality(pairs):
    rng = random.Random(2)
    for fen, board in pairs[: COUNT // 3]:
        legal = board.generate_moves()
        for move in rng.sample(legal, min(2, len(legal))):
            assert holds(fen, f"legal {san(fen, move)}"), (fen, move)
        for move in (any_move(rng, board), any_move(rng, board)):
            if board.piece_on(move.from_square) == cozy.Piece.King:
                continue  # Two squares to the side would be castling.
            assert holds(fen, f"illegal {san(fen, move)}") != board.is_legal(move), (fen, move)
        if len(legal) == 1:
            assert holds(fen, f"only move {san(fen, legal[0])}"), fen
        elif legal:
            assert not holds(fen, f"only move {san(fen, legal[0])}"), fen


def test_threats(pairs):
    """Moves and mates in one after a pass; without one where the side to move is in check."""
    rng = random.Random(4)
    mates = 0
    for fen, board in pairs[: COUNT // 2]:
        after = board.null_move()
        if after is None:
            assert "can't pass" in proved(fen, "threat mate").finding
            continue
        legal = after.generate_moves()
        turned = after.fen()
        for move in rng.sample(legal, min(2, len(legal))):
            assert holds(fen, f"threat {san(turned, move)}"), (fen, move)
        threatened = any(is_mate(after, move) for move in legal)
        mates += threatened
        assert holds(fen, "threat mate") == threatened, fen
    assert mates > 5


def is_mate(board: cozy.Board, move: cozy.Move) -> bool:
    after = board.__copy__()
    after.play(move)
    return after.status() == cozy.GameStatus.Won


def test_mates_in_one_and_in_two(pairs):
    found = 0
    for fen, board in pairs[: COUNT // 20]:
        one = any(is_mate(board, move) for move in board.generate_moves())
        two = not one and mates_in_two(board)
        found += two
        assert holds(fen, "mate in 1") == one, fen
        assert holds(fen, "mate in 2") == two, fen
    assert found


def mates_in_two(board: cozy.Board) -> bool:
    for move in board.generate_moves():
        after = board.__copy__()
        after.play(move)
        replies = after.generate_moves()
        if replies and all(mates_after(after, reply) for reply in replies):
            return True
    return False


def mates_after(board: cozy.Board, reply: cozy.Move) -> bool:
    after = board.__copy__()
    after.play(reply)
    return any(is_mate(after, move) for move in after.generate_moves())


def test_squares_to_go_to(pairs):
    rng = random.Random(6)
    for fen, board in pairs:
        origin = rng.choice(list(board.colors(board.side_to_move())))
        goals = {
            castled(move) if board.color_on(move.to_square) == board.side_to_move()
            else str(move.to_square)
            for move in board.generate_moves() if move.from_square == origin
        }  # fmt: skip
        assert holds(fen, f"moves {origin} = {len(goals)}"), fen


def castled(move: cozy.Move) -> str:
    """Where the king goes: the library has it take its rook."""
    return ("g" if is_kingside(move) else "c") + str(move.to_square)[1]
