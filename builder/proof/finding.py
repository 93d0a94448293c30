"""What the proof finds: more than a fault, because the proof sheet shows its board.

`where` is a place that outlives editing: chapter, line and move, or chapter and name. An author
accepts a finding by it, with a reason (see `accept.py`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from builder.faults import Faults, Severity
from builder.model import Line, Ply, Position
from builder.place import Place


@dataclass(frozen=True, slots=True)
class Finding:
    """`position` is what the finding is about, None where no board helps."""

    code: str
    severity: Severity
    chapter: str
    where: str
    place: Place
    message: str
    hint: str = ""
    position: Position | None = field(default=None, repr=False)

    @property
    def key(self) -> str:
        """What an `accept` entry names."""
        return f"{self.code}@{self.where}"

    def tell(self, faults: Faults) -> None:
        tell = {
            Severity.ERROR: faults.error,
            Severity.WARNING: faults.warning,
            Severity.NOTICE: faults.notice,
        }[self.severity]
        tell(self.code, self.place, self.message, self.hint)


def ply_where(ply: Ply, lines: Mapping[str, Line]) -> str:
    """`10-main/main/6.e5`: chapter, line, move. `lines` holds the lines by anchor."""
    line = lines.get(ply.line)
    name = (line.given_id if line else None) or ply.line.rsplit(".", 1)[-1]
    return f"{ply.chapter}/{name}/{ply.label}"
