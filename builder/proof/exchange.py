"""Captures on one square, counted out: what is lost there, what is safe, what is trapped.

The exchange value of a square is what the attacker wins when both sides do nothing but capture
on it, and each may stop when it likes: the static exchange evaluation of the literature, in its
recursive form (Chess Programming Wiki, "Static Exchange Evaluation" and "SEE - The Swap
Algorithm"). Two things are stricter here, because a reader plays by the rules:

- only legal captures count, so a pinned piece takes along its pin, and a king last of all;
- every piece is tried, not the cheapest alone, because a pin can make a dearer one better.
  Cutting off what can't matter keeps that nearly as cheap.

A pawn that captures on the last rank becomes a queen, and counts as one from then on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess

from builder.proof.fact import VALUES, Case, Fact, Senseless, at, side_name

ENDLESS = 1000  # More than all the material on a board.
MOST_CAPTURES = 300  # Tried in one exchange, where ten are many; then the cheapest alone goes on.


@dataclass(frozen=True, slots=True)
class Exchange:
    """What the side that begins wins (below 0: loses), and the captures, its own first."""

    value: int
    moves: tuple[chess.Move, ...]


class _Captures:
    """Both sides capture on `square`. `excused` are pieces whose check on the side not to
    begin is passed over, because it would have answered it before."""

    def __init__(self, board: chess.Board, square: chess.Square, excused: chess.Bitboard) -> None:
        self.board = board
        self.square = square
        self.excused = excused
        self.excused_side = not board.turn
        self.left = MOST_CAPTURES

    def first(self, move: chess.Move) -> Exchange | None:
        """The exchange that begins with this move; None when it isn't legal."""
        won = _won(self.board, move)
        self.board.push(move)
        reply = self._reply(-ENDLESS, ENDLESS) if self._is_legal(move) else None
        self.board.pop()
        return Exchange(won - reply.value, (move, *reply.moves)) if reply else None

    def _reply(self, alpha: int, beta: int) -> Exchange:
        """The best for the side to move: to stop (0), or to capture. Exact between the bounds."""
        best = Exchange(0, ())
        for move in captures_on(self.board, self.square):
            if best.value >= beta:
                break
            floor = max(alpha, best.value)
            won = _won(self.board, move)
            if won <= floor:
                continue  # Even if nothing takes back.
            self.left -= 1
            self.board.push(move)
            legal = self._is_legal(move)
            if legal:
                reply = self._reply(won - beta, won - floor)
                if won - reply.value > best.value:
                    best = Exchange(won - reply.value, (move, *reply.moves))
            self.board.pop()
            if legal and self.left <= 0:
                break
        return best

    def _is_legal(self, move: chess.Move) -> bool:
        """Whether the side that just made the move has left its king safe."""
        mover = not self.board.turn
        king = self.board.king(mover)
        if king is None:
            return True
        attackers = self.board.attackers_mask(not mover, king)
        if mover == self.excused_side and king != move.to_square:
            attackers &= ~self.excused
        return not attackers


def captures_on(board: chess.Board, square: chess.Square) -> list[chess.Move]:
    """The ways to capture on the square, legal or not, the cheaper piece first."""
    attackers = board.attackers_mask(board.turn, square)
    last_rank = chess.BB_SQUARES[square] & chess.BB_BACKRANKS
    found = []
    for kind, pieces in enumerate(
        (board.pawns, board.knights, board.bishops, board.rooks, board.queens, board.kings), 1
    ):
        becomes = chess.QUEEN if last_rank and kind == chess.PAWN else None
        for origin in chess.scan_forward(attackers & pieces):
            found.append(chess.Move(origin, square, becomes))
    return found


def _won(board: chess.Board, move: chess.Move) -> int:
    """What the move wins at once."""
    taken = chess.PAWN if board.is_en_passant(move) else board.piece_type_at(move.to_square)
    won = VALUES[taken or 0]
    return won + VALUES[move.promotion] - VALUES[chess.PAWN] if move.promotion else won


def exchange(board: chess.Board, move: chess.Move) -> Exchange | None:
    """The exchange that the move begins on the square it goes to; None when it isn't legal."""
    return _Captures(board.copy(stack=False), move.to_square, chess.BB_EMPTY).first(move)


def attack_on(board: chess.Board, square: chess.Square) -> Exchange | None:
    """The best exchange that begins with taking what stands on the square, whoever is to move;
    None when nothing can take it.

    When the owner is to move, the other side is given the move; a check that the owner would
    have had to answer first doesn't hinder it in taking back.
    """
    board = board.copy(stack=False)
    owner = board.color_at(square)
    excused = chess.BB_EMPTY
    if board.turn == owner:
        excused = board.checkers_mask()
        board.turn = not owner
        board.ep_square = None
    best: Exchange | None = None
    for move in _takers(board, square):
        found = _Captures(board, move.to_square, excused).first(move)
        if found and (best is None or found.value > best.value):
            best = found
    return best


def _takers(board: chess.Board, square: chess.Square) -> Iterator[chess.Move]:
    yield from captures_on(board, square)
    if board.ep_square is not None and square == board.ep_square + (-8 if board.turn else 8):
        yield from board.generate_pseudo_legal_ep()


def sans(board: chess.Board, moves: tuple[chess.Move, ...]) -> str:
    """The captures in SAN."""
    board = board.copy(stack=False)
    if moves:
        board.turn = bool(board.color_at(moves[0].from_square))
    return " ".join(board.san_and_push(move) for move in moves)


# --- claims ------------------------------------------------------------------------------------


def loses(case: Case) -> Fact:
    """`loses SQUARE`: the exchange there wins material for the attacker."""
    value, finding = _loss(case)
    return Fact(value > 0, finding, "" if value > 0 else _instead(case, "safe"))


def safe(case: Case) -> Fact:
    """`safe SQUARE`: the exchange there wins nothing."""
    value, finding = _loss(case)
    return Fact(value <= 0, finding, "" if value <= 0 else _instead(case, "loses"))


def _instead(case: Case, head: str) -> str:
    return f"write {head} {chess.square_name(case.square)}"


def _loss(case: Case) -> tuple[int, str]:
    piece = _exchangeable(case)
    name = at(case.board, case.square)
    found = attack_on(case.board, case.square)
    other = side_name(not piece.color)
    if found is None:
        return 0, f"{other} can't take {name}"
    told = sans(case.board, found.moves)
    if found.value > 0:
        return found.value, f"taking {name} wins {found.value} for {other}: {told}"
    comes_to = f"comes to −{-found.value}" if found.value else "is even"
    return found.value, f"taking {name} wins nothing: {told} {comes_to}"


def _exchangeable(case: Case) -> chess.Piece:
    piece = case.piece(case.square)
    if piece.piece_type == chess.KING:
        raise Senseless("a king is never exchanged", "write check or mate")
    return piece


def trapped(case: Case) -> Fact:
    """`trapped SQUARE`: wherever the piece goes, and where it stands, it is lost by exchange."""
    piece = _exchangeable(case)
    name = at(case.board, case.square)
    stands = attack_on(case.board, case.square)
    if stands is None or stands.value <= 0:
        return Fact(False, f"{name} isn't lost where it stands: {_loss(case)[1]}")
    board = case.board.copy(stack=False)
    if board.turn != piece.color:
        board.turn = piece.color
        board.ep_square = None
    losing = []
    for move in list(board.generate_legal_moves(chess.BB_SQUARES[case.square])):
        san = board.san(move)
        won = _won(board, move)
        board.push(move)
        answer = attack_on(board, move.to_square)
        board.pop()
        if answer is None or answer.value <= won:
            return Fact(False, f"{name} gets away: {san}")
        losing.append(san)
    nowhere = "it has no move" if not losing else f"so is it after {', '.join(losing)}"
    return Fact(True, f"{name} is lost where it stands ({sans(case.board, stands.moves)}), "
                f"and {nowhere}")  # fmt: skip
