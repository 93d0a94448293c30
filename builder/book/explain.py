"""Why a move can't be played, in words that help an author to find the slip."""

from __future__ import annotations

import re
from dataclasses import dataclass

import chess

from builder.model import Ply

MOST_MOVES = 14  # Moves listed in a hint.


@dataclass(frozen=True, slots=True)
class Explanation:
    code: str
    message: str
    hint: str


def moves_after(ply: Ply | None) -> str:
    """` after 6...Qe7`, or ` at the start`."""
    return f" after {ply.label}" if ply else " at the start"


def side_name(white: bool) -> str:
    return "White" if white else "Black"


def explain_move(text: str, board: chess.Board, error: ValueError) -> Explanation:
    """What is wrong with the SAN `text` on `board`, given the error of `parse_san`."""
    if isinstance(error, chess.AmbiguousMoveError):
        return _ambiguous(text, board)
    if isinstance(error, chess.InvalidMoveError):
        return Explanation("move-syntax", f"{text} is not a move", "")
    reason = _reason(text, board)
    reach = _reach(text, board)
    near = _nearest(text, board)
    hint = "   ".join(part for part in (reason, reach, near) if part)
    return Explanation("move-illegal", f"{text} is not legal", hint)


def _ambiguous(text: str, board: chess.Board) -> Explanation:
    target = re.findall(r"[a-h][1-8]", text)[-1]
    kind = _piece_type(text)
    moves = [
        move for move in board.legal_moves
        if board.piece_type_at(move.from_square) == kind
        and chess.square_name(move.to_square) == target
    ]  # fmt: skip
    squares = " and ".join(sorted(chess.square_name(move.from_square) for move in moves))
    name = chess.piece_name(kind)
    choices = " or ".join(sorted(board.san(move) for move in moves))
    return Explanation(
        "move-ambiguous", f"{text} is ambiguous",
        f"the {name}s on {squares} can go to {target}   write {choices}",
    )  # fmt: skip


def _piece_type(text: str) -> int:
    if text[:1] in ("O", "0"):
        return chess.KING
    return chess.PIECE_SYMBOLS.index(text[0].lower()) if text[0] in "KQRBN" else chess.PAWN


def _reason(text: str, board: chess.Board) -> str:
    """The rule that the move breaks, where one stands out."""
    side = side_name(board.turn)
    other = board.copy(stack=False)
    if not board.is_check():
        other.push(chess.Move.null())
        if _legal(text, other) and not _pseudo_legal(text, board):
            return f"it is {side}'s move here; {text} would be {side_name(not board.turn)}'s"
    if text[0] in "O0":
        return _castling_reason(text, board)
    if _pseudo_legal(text, board):
        king = board.king(board.turn)
        at = f" on {chess.square_name(king)}" if king is not None else ""
        if board.is_check():
            checkers = ", ".join(_piece_at(board, square) for square in board.checkers())
            return f"{side}'s king{at} is in check from {checkers}"
        return f"it would leave {side}'s king{at} in check"
    if board.is_check():
        checkers = ", ".join(_piece_at(board, square) for square in board.checkers())
        return f"{side} is in check from {checkers}"
    return ""


def _piece_at(board: chess.Board, square: int) -> str:
    piece = board.piece_at(square)
    letter = piece.symbol().upper() if piece and piece.piece_type != chess.PAWN else ""
    return letter + chess.square_name(square)


def _castling_reason(text: str, board: chess.Board) -> str:
    """FIDE Laws 3.8.2: what prevents castling."""
    kingside = text.count("-") == 1
    side = side_name(board.turn)
    wing = "kingside" if kingside else "queenside"
    has = board.has_kingside_castling_rights if kingside else board.has_queenside_castling_rights
    if not has(board.turn):
        return f"{side} has lost the right to castle {wing}"
    if board.is_check():
        return f"{side} is in check"
    rank = 0 if board.turn else 7
    between = (5, 6) if kingside else (1, 2, 3)
    blockers = [
        _piece_at(board, chess.square(file, rank))
        for file in between if board.piece_at(chess.square(file, rank))
    ]  # fmt: skip
    if blockers:
        return f"{', '.join(blockers)} stands in the way"
    crossed = (5, 6) if kingside else (3, 2)
    for file in crossed:
        square = chess.square(file, rank)
        attackers = board.attackers(not board.turn, square)
        if attackers:
            by = _piece_at(board, next(iter(attackers)))
            return f"the king would cross {chess.square_name(square)}, which {by} attacks"
    return ""


def _legal(text: str, board: chess.Board) -> bool:
    try:
        board.parse_san(text)
    except ValueError:
        return False
    return True


def _pseudo_legal(text: str, board: chess.Board) -> bool:
    match = re.fullmatch(r"([KQRBN]?)([a-h]?)([1-8]?)[x:]?([a-h][1-8])(?:=?[QRBN])?[+#]?", text)
    if not match:
        return False
    target = chess.parse_square(match.group(4))
    return any(
        board.piece_type_at(move.from_square) == _piece_type(text)
        and move.to_square == target
        and match.group(2) in ("", chess.FILE_NAMES[chess.square_file(move.from_square)])
        and match.group(3) in ("", chess.RANK_NAMES[chess.square_rank(move.from_square)])
        for move in board.pseudo_legal_moves
    )


def _reach(text: str, board: chess.Board) -> str:
    """What the pieces of that kind can do instead."""
    kind = _piece_type(text)
    sans = sorted(
        {board.san(move) for move in board.legal_moves
         if board.piece_type_at(move.from_square) == kind}
    )  # fmt: skip
    owner = side_name(board.turn)
    count = len(board.pieces(kind, board.turn))
    if not count:
        return f"{owner} has no {chess.piece_name(kind)}"
    if not sans:
        return f"{owner}'s {chess.piece_name(kind)}{'s' if count > 1 else ''} can't move"
    if kind == chess.PAWN:
        target = re.findall(r"[a-h][1-8]", text)
        sans = [san for san in sans if not target or san[0] in (text[0], target[-1][0])] or sans
    plural = "s" if count > 1 else ""
    listed = " ".join(sans[:MOST_MOVES]) + (" …" if len(sans) > MOST_MOVES else "")
    return f"{owner}'s {chess.piece_name(kind)}{plural} can reach: {listed}"


def _nearest(text: str, board: chess.Board) -> str:
    """The one or two legal moves that a single slip of the pen would turn into `text`."""
    squares = re.findall(r"[a-h][1-8]", text)
    if not squares:
        return ""
    target, kind = chess.parse_square(squares[-1]), _piece_type(text)
    costs: dict[str, int] = {}
    for move in board.legal_moves:
        cost = _slip_cost(kind, target, board.piece_type_at(move.from_square), move.to_square)
        if cost is not None:
            costs[board.san(move)] = cost
    best = [san for san in sorted(costs) if costs[san] == min(costs.values())]
    return f"did you mean {' or '.join(best)}?" if 1 <= len(best) <= 2 else ""


def _slip_cost(kind: int, target: int, other_kind: int | None, other: int) -> int | None:
    """How far a move is from the written one: squares off on one file or rank, or, less
    likely than a neighbouring square, another piece to the same square. None: no single slip.
    """
    files = abs(chess.square_file(target) - chess.square_file(other))
    ranks = abs(chess.square_rank(target) - chess.square_rank(other))
    if other_kind == kind:
        return files + ranks if files == 0 or ranks == 0 else None
    return 2 if target == other else None
