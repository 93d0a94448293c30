"""Facts about material: values, counts of pieces, bishops, development."""

from __future__ import annotations

import chess

from builder.proof.fact import VALUES, Case, Fact, counted, listed, side_name
from builder.source.claim_forms import PIECE_WORDS

_MINOR = (chess.KNIGHT, chess.BISHOP)


def material(case: Case) -> Fact:
    """`material even`, `material SIDE +n`: pawns 1, knights and bishops 3, rooks 5, queens 9."""
    term = case.term
    white, black = _total(case.board, chess.WHITE), _total(case.board, chess.BLACK)
    finding = f"White has {white}, Black {black}"
    if term.side is None:
        lead = white - black
        more = "" if not lead else f"material {'white' if lead > 0 else 'black'} +{abs(lead)}"
        return Fact(not lead, finding, f"write {more}" if more else "")
    lead = white - black if case.side else black - white
    wanted = int(term.numbers[0]) if term.numbers[0].is_integer() else term.numbers[0]
    holds = {"=": lead == wanted, ">=": lead >= wanted, "<=": lead <= wanted}[term.comparison]
    side = side_name(case.side)
    wrong = "" if holds else f", so {side} {_signed(lead)}, not {_signed(wanted)}"
    remedy = "" if holds else f"write material {side.lower()} {_signed(lead)}" if lead else (
        "write material even")  # fmt: skip
    return Fact(holds, finding + wrong, remedy)


def _total(board: chess.Board, side: chess.Color) -> int:
    return sum(VALUES[kind] * len(board.pieces(kind, side)) for kind in chess.PIECE_TYPES)


def _signed(number: float) -> str:
    return f"{number:+g}" if number else "0"


def pieces(case: Case) -> Fact:
    """`pieces SIDE knights = n`: how many of them the side has."""
    word = case.term.words[0]
    found = case.board.pieces(PIECE_WORDS.index(word) + 1, case.side)
    return counted(case, f"{side_name(case.side)}'s {word}", listed(case.board, found), len(found))


def bishop_pair(case: Case) -> Fact:
    """`bishop pair SIDE`: the side has bishops on both colours, and the other side has not."""
    finding = "; ".join(
        f"{side_name(side)}'s bishops: {listed(case.board, case.board.pieces(chess.BISHOP, side))}"
        for side in (case.side, not case.side)
    )
    holds = _has_pair(case.board, case.side) and not _has_pair(case.board, not case.side)
    return Fact(holds, finding)


def _has_pair(board: chess.Board, side: chess.Color) -> bool:
    bishops = board.bishops & board.occupied_co[side]
    return bool(bishops & chess.BB_LIGHT_SQUARES and bishops & chess.BB_DARK_SQUARES)


def opposite_bishops(case: Case) -> Fact:
    """`opposite-coloured bishops`: each side has one bishop, on squares of different colours."""
    board = case.board
    light = chess.SquareSet(chess.BB_LIGHT_SQUARES)
    white, black = (board.pieces(chess.BISHOP, side) for side in chess.COLORS)
    holds = len(white) == len(black) == 1 and len((white | black) & light) == 1
    return Fact(holds, f"White's bishops: {listed(board, white)}; "
                f"Black's: {listed(board, black)}")  # fmt: skip


def developed(case: Case) -> Fact:
    """`developed SIDE = n`: knights and bishops that are off the side's back rank."""
    back = chess.SquareSet(chess.BB_RANK_1 if case.side else chess.BB_RANK_8)
    found = [
        square for kind in _MINOR for square in case.board.pieces(kind, case.side) - back
    ]  # fmt: skip
    what = f"{side_name(case.side)}'s knights and bishops off the back rank"
    return counted(case, what, listed(case.board, found), len(found))
