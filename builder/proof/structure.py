"""Facts about pawns, files and squares.

The terms are the trade's common ones. What they leave open is settled in each docstring, and for
authors in `guide/claims.md`. 'Ahead' is as the pawn goes.
"""

from __future__ import annotations

import chess

from builder.proof.exchange import attack_on
from builder.proof.fact import (
    Case, Fact, Senseless, at, counted, listed, side_name, squares_listed,
)  # fmt: skip


def _pawns(board: chess.Board, side: chess.Color) -> chess.Bitboard:
    return board.pawns & board.occupied_co[side]


def _beside(square: chess.Square) -> chess.Bitboard:
    """The neighbouring files."""
    file = chess.square_file(square)
    return sum(chess.BB_FILES[other] for other in (file - 1, file + 1) if 0 <= other <= 7)


def _ahead(square: chess.Square, side: chess.Color) -> chess.Bitboard:
    """The ranks in front of the square."""
    rank = chess.square_rank(square)
    ranks = range(rank + 1, 8) if side else range(rank)
    return sum(chess.BB_RANKS[other] for other in ranks)


def _told(board: chess.Board, pawns: chess.Bitboard) -> str:
    return listed(board, chess.SquareSet(pawns))


# --- one pawn ------------------------------------------------------------------------------------


def isolated(case: Case) -> Fact:
    """`isolated SQUARE`: no pawn of its side stands on a neighbouring file."""
    side = case.pawn(case.square)
    near = _pawns(case.board, side) & _beside(case.square)
    name = at(case.board, case.square)
    return Fact(not near, f"beside {name}: {_told(case.board, near)}")


def doubled(case: Case) -> Fact:
    """`doubled SQUARE`: another pawn of its side stands on its file."""
    side = case.pawn(case.square)
    file = chess.BB_FILES[chess.square_file(case.square)]
    others = _pawns(case.board, side) & file & ~chess.BB_SQUARES[case.square]
    name = at(case.board, case.square)
    return Fact(bool(others), f"on the file of {name}: {_told(case.board, others)}")


def passed(case: Case) -> Fact:
    """`passed SQUARE`: no enemy pawn stands ahead of it on its file or a neighbouring one."""
    side = case.pawn(case.square)
    stoppers = _stoppers(case.board, case.square, side)
    name = at(case.board, case.square)
    if stoppers:
        return Fact(False, f"{name} is held up by {_told(case.board, stoppers)}")
    return Fact(True, f"no pawn can stop {name}")


def _stoppers(board: chess.Board, square: chess.Square, side: chess.Color) -> chess.Bitboard:
    files = _beside(square) | chess.BB_FILES[chess.square_file(square)]
    return _pawns(board, not side) & files & _ahead(square, side)


def protected_passed(case: Case) -> Fact:
    """`protected passed SQUARE`: a passed pawn that a pawn of its side defends."""
    free = passed(case)
    if not free.holds:
        return free
    side = case.pawn(case.square)
    guards = _guards(case.board, case.square, side)
    return Fact(bool(guards), f"{free.finding}; pawns that defend it: {_told(case.board, guards)}")


def _guards(board: chess.Board, square: chess.Square, side: chess.Color) -> chess.Bitboard:
    """Pawns of the side that attack the square."""
    return _pawns(board, side) & chess.BB_PAWN_ATTACKS[not side][square]


def backward(case: Case) -> Fact:
    """`backward SQUARE`: a pawn with pawns of its side on the neighbouring files, all of them
    ahead of it, that can't safely advance: an enemy pawn attacks the square in front of it, or an
    enemy piece stands there, or the pawn would be lost there by exchange."""
    board, square = case.board, case.square
    side = case.pawn(square)
    name = at(board, square)
    near = _pawns(board, side) & _beside(square)
    if not near:
        return Fact(False, f"{name} is isolated, not backward",
                    f"write isolated {chess.square_name(square)}")  # fmt: skip
    behind = near & ~_ahead(square, side)
    if behind:
        return Fact(False, f"{_told(board, behind)} can support {name}")
    stop = square + (8 if side else -8)
    reason = _stopped(board, square, stop, side)
    if reason:
        return Fact(True, f"{name} is behind {_told(board, near)}, and {reason}")
    return Fact(False, f"{name} can safely advance to {chess.square_name(stop)}")


def _stopped(board: chess.Board, square: int, stop: int, side: chess.Color) -> str:
    """Why the pawn can't safely go to the square in front of it; empty when it can."""
    goal = chess.square_name(stop)
    guards = _guards(board, stop, not side)
    if guards:
        return f"{_told(board, guards)} attacks {goal}"
    blocker = board.color_at(stop)
    if blocker is not None:
        return f"{at(board, stop)} stands in its way" if blocker != side else ""
    board = board.copy(stack=False)
    board.remove_piece_at(square)
    board.set_piece_at(stop, chess.Piece(chess.PAWN, side))
    loss = attack_on(board, stop)
    return f"it would be lost on {goal}" if loss and loss.value > 0 else ""


# --- files and wings -----------------------------------------------------------------------------


def open_file(case: Case) -> Fact:
    """`open FILE`: no pawn stands on it."""
    file = case.term.words[0]
    pawns = case.board.pawns & chess.BB_FILES[chess.FILE_NAMES.index(file)]
    return Fact(not pawns, f"pawns on the {file}-file: {_told(case.board, pawns)}")


def half_open(case: Case) -> Fact:
    """`half-open FILE SIDE`: the side has no pawn on it, and the other side has."""
    file = case.term.words[0]
    mask = chess.BB_FILES[chess.FILE_NAMES.index(file)]
    own = _pawns(case.board, case.side) & mask
    other = _pawns(case.board, not case.side) & mask
    told = (f"{side_name(side)}'s pawns on the {file}-file: {_told(case.board, pawns)}"
            for side, pawns in ((case.side, own), (not case.side, other)))  # fmt: skip
    remedy = f"write open {file}" if not own and not other else ""
    return Fact(not own and bool(other), "; ".join(told), remedy)


def islands(case: Case) -> Fact:
    """`islands SIDE = n`: groups of the side's pawns on neighbouring files."""
    pawns = _pawns(case.board, case.side)
    files = "".join(
        name if pawns & chess.BB_FILES[number] else " "
        for number, name in enumerate(chess.FILE_NAMES)
    )
    groups = [f"{group[0]}-{group[-1]}" if group[1:] else group for group in files.split()]
    what = f"{side_name(case.side)}'s pawn islands"
    return counted(case, what, ", ".join(groups) or "none", len(groups))


_WINGS = {"queenside": sum(chess.BB_FILES[:4]), "kingside": sum(chess.BB_FILES[4:])}


def majority(case: Case) -> Fact:
    """`majority SIDE kingside|queenside`: more pawns than the other side on the files e to h, or
    a to d."""
    wing = case.term.words[0]
    own, other = (
        len(chess.SquareSet(_pawns(case.board, side) & _WINGS[wing]))
        for side in (case.side, not case.side)
    )
    finding = (f"pawns on the {wing}: {side_name(case.side)} {own}, "
               f"{side_name(not case.side)} {other}")  # fmt: skip
    return Fact(own > other, finding)


# --- squares -------------------------------------------------------------------------------------


def outpost(case: Case) -> Fact:
    """`outpost SQUARE [SIDE]`: a square on the side's fourth to seventh rank that a pawn of the
    side defends and that no enemy pawn can come to attack. Without a side, the side of the piece
    that stands there."""
    board, square = case.board, case.square
    side = case.side if case.term.side is not None else _owner(case)
    name = chess.square_name(square)
    rank = chess.square_rank(square) if side else 7 - chess.square_rank(square)
    if not 3 <= rank <= 6:
        return Fact(False, f"{name} is on {side_name(side)}'s rank {rank + 1}, "
                    "an outpost on ranks 4 to 7")  # fmt: skip
    guards = _guards(board, square, side)
    if not guards:
        return Fact(False, f"no pawn of {side_name(side)}'s defends {name}")
    chasers = _chasers(board, square, not side)
    if chasers:
        return Fact(False, f"{_told(board, chasers)} can come to attack {name}")
    return Fact(True, f"{name} is defended by {_told(board, guards)}, and no pawn can attack it")


def _owner(case: Case) -> chess.Color:
    piece = case.board.piece_at(case.square)
    if piece is None:
        name = chess.square_name(case.square)
        raise Senseless(f"nothing stands on {name}", f"write outpost {name} white or black")
    return piece.color


def _chasers(board: chess.Board, square: chess.Square, side: chess.Color) -> chess.Bitboard:
    """The side's pawns that attack the square, or may when they advance."""
    return _pawns(board, side) & _beside(square) & _ahead(square, not side)


def hole(case: Case) -> Fact:
    """`hole SQUARE SIDE`: no pawn of the side defends the square, nor can by advancing."""
    guards = _chasers(case.board, case.square, case.side)
    name = chess.square_name(case.square)
    if guards:
        return Fact(False, f"{_told(case.board, guards)} can defend {name}")
    return Fact(True, f"no pawn of {side_name(case.side)}'s can defend {name}")


# --- the king ------------------------------------------------------------------------------------


def shelter(case: Case) -> Fact:
    """`shelter SIDE = n`: the side's pawns on its king's file and the neighbouring ones, one or
    two ranks in front of the king."""
    king = case.board.king(case.side)
    if king is None:
        raise Senseless(f"{side_name(case.side)} has no king")
    files = _beside(king) | chess.BB_FILES[chess.square_file(king)]
    step = 1 if case.side else -1
    ranks = sum(
        chess.BB_RANKS[rank]
        for rank in (chess.square_rank(king) + step, chess.square_rank(king) + 2 * step)
        if 0 <= rank <= 7
    )
    pawns = chess.SquareSet(_pawns(case.board, case.side) & files & ranks)
    what = f"pawns in front of {at(case.board, king)}"
    return counted(case, what, squares_listed(pawns), len(pawns))


def back_rank_weak(case: Case) -> Fact:
    """`back rank weak SIDE`: the king stands on its back rank, can't leave it, because each
    square in front of it is occupied by its own side or attacked, and the other side has a rook
    or a queen."""
    board, side = case.board, case.side
    king = board.king(side)
    if king is None or chess.square_rank(king) != (0 if side else 7):
        return Fact(False, f"{side_name(side)}'s king isn't on its back rank")
    if not (board.rooks | board.queens) & board.occupied_co[not side]:
        return Fact(False, f"{side_name(not side)} has no rook or queen")
    front = chess.BB_KING_ATTACKS[king] & chess.BB_RANKS[1 if side else 6]
    free = [
        square for square in chess.SquareSet(front & ~board.occupied_co[side])
        if not board.is_attacked_by(not side, square)
    ]  # fmt: skip
    name = at(board, king)
    if free:
        return Fact(False, f"{name} can go to {squares_listed(free)}")
    return Fact(True, f"{name} can't leave the back rank")
