"""What a line leaves hanging where it ends: a mate in one, a piece to be taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import chess

from builder.faults import Severity
from builder.model import Booklet, Line, Result
from builder.proof.at_moves import AtMoves
from builder.proof.exchange import Exchange, exchange
from builder.proof.fact import VALUES, side_name
from builder.proof.finding import Finding
from builder.proof.walk import Step

# What hangs is told from this many points on: a pawn may be meant to hang.
HANGING_POINTS = 2


def line_ends(steps: Sequence[Step], booklet: Booklet, findings: AtMoves) -> Iterator[Finding]:
    """The ends of lines at which a mate in one stands or something hangs.

    A line may end where another goes on, or where an exercise asks for the move; and who resigns
    leaves something hanging.
    """
    continued = {step.ply.before.key for step in steps} | {
        exercise.diagram.position.key for exercise in booklet.exercises
    }
    resigned = {line.anchor for line in findings.lines.values() if _has_winner(line)}
    for step in steps:
        ply = step.ply
        given_up = ply.depth == 0 and step.line.anchor in resigned
        if step.leaf and not ply.is_pass and not given_up and ply.after.key not in continued:
            yield from _hanging(step, findings)


def _has_winner(line: Line) -> bool:
    return any(isinstance(item, Result) and item.text in ("1-0", "0-1") for item in line.items)


def _hanging(step: Step, findings: AtMoves) -> Iterator[Finding]:
    """A mate in one at the end of a line; else what hangs there."""
    ply = step.ply
    board = ply.after.board()
    side = side_name(board.turn)
    mate = next((move for move in board.legal_moves if _mates(board, move)), None)
    if mate is not None:
        yield findings.after(
            "end-mate", Severity.WARNING, ply,
            f"the line ends with {ply.label}, and {side} mates by {board.san(mate)}",
            "go on to the mate, or end before",
        )  # fmt: skip
        return
    won = _best_capture(board)
    if won is not None and won.value >= HANGING_POINTS:
        yield findings.after(
            "end-hanging", Severity.WARNING, ply,
            f"the line ends with {ply.label}, and {side} wins {won.value} points by "
            f"{board.san(won.moves[0])}",
            "go on until nothing hangs, or accept it with the reason",
        )  # fmt: skip


def _mates(board: chess.Board, move: chess.Move) -> bool:
    if not board.gives_check(move):
        return False
    board.push(move)
    mate = board.is_checkmate()
    board.pop()
    return mate


def _best_capture(board: chess.Board) -> Exchange | None:
    """The exchange that wins most for the side to move, None where it can take nothing.

    What the other side may take elsewhere instead of taking back counts against it: who
    captures a knight while his queen hangs has won nothing.
    """
    found = [one for move in board.generate_legal_captures() if (one := exchange(board, move))]
    worth = [one for one in found if one.value >= HANGING_POINTS]
    return max((_with_reply(board, one) for one in worth), key=lambda one: one.value, default=None)


def _with_reply(board: chess.Board, begun: Exchange) -> Exchange:
    """The exchange at what is left of it when the other side takes elsewhere."""
    move = begun.moves[0]
    taken = chess.PAWN if board.is_en_passant(move) else board.piece_type_at(move.to_square)
    won = begun.value if len(begun.moves) == 1 else VALUES[taken or 0]
    board.push(move)
    elsewhere = [
        one.value for reply in board.generate_legal_captures()
        if reply.to_square != move.to_square and (one := exchange(board, reply))
    ]  # fmt: skip
    board.pop()
    return Exchange(min(begun.value, won - max(elsewhere, default=0)), begun.moves)
