"""Facts that the rules themselves tell: check, mate, legal moves, castling, repetition.

By the FIDE Laws of Chess: check 3.9, mate 5.1.1, stalemate 5.2.1, castling 3.8.2, and 9.2.3 for
when two positions are the same (numbers of the 2023 edition, from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import chess

from builder.book.explain import moves_after
from builder.model import Position
from builder.proof.fact import (
    Case, Fact, Senseless, Unplayable, listed, played, read_move, side_name, true_sign, wrong_sign,
)  # fmt: skip

MOST_MOVES = 8  # Moves listed in a finding.


def check(case: Case) -> Fact:
    """`check`: the side to move is in check."""
    checkers = case.board.checkers()
    return Fact(bool(checkers), _checked(case.board, checkers))


def double_check(case: Case) -> Fact:
    """`double check`: two pieces give check to the side to move."""
    checkers = case.board.checkers()
    return Fact(len(checkers) == 2, _checked(case.board, checkers))


def _checked(board: chess.Board, checkers: Iterable[int]) -> str:
    side = side_name(board.turn)
    return f"{side} is in check from {listed(board, checkers)}" if checkers else (
        f"{side} is not in check")  # fmt: skip


def mate(case: Case) -> Fact:
    """`mate`: the side to move is in check and has no legal move."""
    return Fact(case.board.is_checkmate(), _end(case.board))


def stalemate(case: Case) -> Fact:
    """`stalemate`: the side to move is not in check and has no legal move."""
    return Fact(case.board.is_stalemate(), _end(case.board))


def _end(board: chess.Board) -> str:
    moves = list(board.legal_moves)
    side = side_name(board.turn)
    if moves:
        return f"{side} can play {moves_listed(board, moves)}"
    return f"{side} has no move and is {'' if board.is_check() else 'not '}in check"


def moves_listed(board: chess.Board, moves: list[chess.Move]) -> str:
    """Some of the moves in SAN, and how many more there are."""
    more = f" and {len(moves) - MOST_MOVES} more" if len(moves) > MOST_MOVES else ""
    return " ".join(sorted(board.san(move) for move in moves[:MOST_MOVES])) + more


def to_move(case: Case) -> Fact:
    """`to move SIDE`: it is that side's move."""
    side = case.board.turn
    return Fact(side == case.side, f"{side_name(side)} is to move")


# --- moves ---------------------------------------------------------------------------------------


def legal(case: Case) -> Fact:
    """`legal MOVE`: the side to move may play it."""
    move = read_move(case.board, case.term.move)
    if isinstance(move, Unplayable):
        return Fact(False, move.finding + moves_after(case.claim.ply), move.hint)
    wrong = wrong_sign(case.board, case.term.move, move)
    return Fact(not wrong, wrong or f"{case.term.move} is legal{moves_after(case.claim.ply)}")


def illegal(case: Case) -> Fact:
    """`illegal MOVE`: the side to move may not play it. A `+` or `#` doesn't matter, nor does
    the piece that a pawn becomes."""
    san = case.term.move.rstrip("+#")
    if re.fullmatch(r"[a-h](?:x[a-h])?[18]", san):
        san += "=Q"
    move = read_move(case.board, san)
    if isinstance(move, Unplayable):
        return Fact(True, move.reason)
    return Fact(False, f"{san} is legal{moves_after(case.claim.ply)}")


def only_move(case: Case) -> Fact:
    """`only move MOVE`: the side to move has no other legal move."""
    move = played(case.board, case.term.move)
    others = [other for other in case.board.legal_moves if other != move]
    side = side_name(case.board.turn)
    if others:
        return Fact(False, f"{side} can also play {moves_listed(case.board, others)}")
    return Fact(True, f"{side} has no other move than {case.term.move}")


def threat(case: Case) -> Fact:
    """`threat MOVE`: if the side to move passed, the other side could play it. `threat mate`: it
    could mate in one."""
    board = case.passed()
    if not case.term.move:
        return _mate_threat(board)
    move = read_move(board, case.term.move)
    side = side_name(board.turn)
    if isinstance(move, Unplayable):
        return Fact(False, f"{move.finding} for {side} if {side_name(not board.turn)} passes",
                    move.hint)  # fmt: skip
    wrong = wrong_sign(board, case.term.move, move)
    return Fact(not wrong, wrong or f"{side} could play {case.term.move}")


def _mate_threat(board: chess.Board) -> Fact:
    mates = [move for move in list(board.legal_moves) if true_sign(board, move) == "#"]
    side = side_name(board.turn)
    if mates:
        return Fact(True, f"{side} could play {moves_listed(board, mates)}")
    return Fact(False, f"{side} has no mate in one if {side_name(not board.turn)} passes")


# --- what came before ----------------------------------------------------------------------------


def castling(case: Case) -> Fact:
    """`castling SIDE kingside|queenside`: the right is held, whether or not castling is possible
    at this moment."""
    wing = case.term.words[0]
    side = side_name(case.side)
    if _has_right(case.board, case.side, wing):
        return Fact(True, f"{side} holds the right to castle {wing}")
    for ply in case.claim.ply.path() if case.claim.ply else ():
        if _has_right(ply.before.board(), case.side, wing) and not _has_right(
            ply.after.board(), case.side, wing
        ):
            return Fact(False, f"{side} lost the right to castle {wing} with {ply.label}")
    return Fact(False, f"{side} has no right to castle {wing}")


def _has_right(board: chess.Board, side: chess.Color, wing: str) -> bool:
    if wing == "kingside":
        return board.has_kingside_castling_rights(side)
    return board.has_queenside_castling_rights(side)


def repetition(case: Case) -> Fact:
    """`repetition n`: the position has stood n times on the way from the line's start, this time
    counted."""
    position = case.claim.position
    path = case.claim.ply.path() if case.claim.ply else ()
    here = [moves_after(ply).strip() for ply in path if ply.after.key == position.key]
    start = path[0].before if path else position
    if start.key == position.key:
        here.insert(0, "at the start")
    wanted = int(case.term.numbers[0])
    wrong = "" if len(here) == wanted else f", not {wanted}"
    finding = f"times that the position stood: {', '.join(here)} = {len(here)}{wrong}"
    return Fact(not wrong, finding, f"write repetition {len(here)}" if wrong else "")


def same_as(case: Case) -> Fact:
    """`same as @NAME`: the same position by FIDE Laws 9.2.3."""
    named = case.names.get(case.term.name)
    if named is None:
        raise Senseless(f"no position is named {case.term.name}")
    other = named.position
    if other.key == case.claim.position.key:
        return Fact(True, f"the same position as @{named.name}{moves_after(named.ply)}")
    return Fact(False, f"not the position @{named.name}: {_difference(case, other)}")


def _difference(case: Case, other: Position) -> str:
    here, there = case.board, other.board()
    squares = [sq for sq in chess.SQUARES if here.piece_at(sq) != there.piece_at(sq)]
    if squares:
        here_has = listed(here, [sq for sq in squares if here.piece_at(sq)])
        there_has = listed(there, [sq for sq in squares if there.piece_at(sq)])
        return f"here {here_has}; there {there_has}"
    if here.turn != there.turn:
        return f"here {side_name(here.turn)} is to move, there {side_name(there.turn)}"
    if here.clean_castling_rights() != there.clean_castling_rights():
        return f"castling rights are {here.castling_xfen()} here and {there.castling_xfen()} there"
    return "an en-passant capture is possible in one of them"
