"""Findings at moves, of a line or where the prose signs one."""

from __future__ import annotations

from dataclasses import dataclass

from builder.faults import Severity
from builder.model import Booklet, Line, Ply, Position
from builder.proof.finding import Finding, ply_where
from builder.proof.walk import Signed, lines_by_anchor


@dataclass(frozen=True, slots=True)
class AtMoves:
    """Makes findings at a booklet's moves; `lines` holds its lines by their anchors."""

    lines: dict[str, Line]

    @staticmethod
    def of(booklet: Booklet) -> AtMoves:
        return AtMoves(lines_by_anchor(booklet))

    def before(self, code: str, severity: Severity, at: Ply | Signed, message: str,
               hint: str = "") -> Finding:  # fmt: skip
        """A finding that is about the position before the move."""
        return self._at(code, severity, at, _ply(at).before, message, hint)

    def after(self, code: str, severity: Severity, at: Ply | Signed, message: str,
              hint: str = "") -> Finding:  # fmt: skip
        """A finding that is about the position after the move."""
        return self._at(code, severity, at, _ply(at).after, message, hint)

    def _at(self, code: str, severity: Severity, at: Ply | Signed, position: Position,
            message: str, hint: str) -> Finding:  # fmt: skip
        where = ply_where(_ply(at), self.lines)
        return Finding(code, severity, at.chapter, where, at.place, message, hint, position)


def _ply(at: Ply | Signed) -> Ply:
    return at.ply if isinstance(at, Signed) else at
