"""What reading movetext carries along: levels of nesting, and how faults in it are told."""

from __future__ import annotations

from dataclasses import dataclass, field

from builder.intake.tree import Node
from builder.pgn.tell import Stretch, Teller


@dataclass(slots=True)
class Level:
    """One level of nesting. `last` is the last move, or what the first one follows, and `before`
    the node in front of it. Of a `silent` level the rest is passed over; `opening` are words that
    wait for the first move; `pushed` counts the level's moves on the board."""

    last: Node
    opened_at: int = 0
    before: Node | None = None
    silent: bool = False
    pushed: int = 0
    opening: list[str] = field(default_factory=list)

    @property
    def written(self) -> bool:
        return self.before is not None

    @property
    def after(self) -> str:
        """` after 6...Qe7`, or ` at the start`."""
        return f" after {self.last.label}" if self.last.move is not None else " at the start"

    def is_left_out(self, last_ply: int) -> bool:
        """Whether what stands here belongs to a move that was passed over. A level that was silenced
        for length alone, behind `last_ply`, still has its last move."""
        return self.silent and self.last.ply < last_ply


@dataclass(frozen=True, slots=True)
class Told:
    """Tells what is wrong in `text[start:end]` of a game's movetext; places are made only for
    faults that somebody hears."""

    text: Stretch
    tell: Teller

    def leave(self, kind: str, start: int, end: int) -> None:
        self.tell.leave(kind, lambda: self.text.place(start, end))

    def error(self, code: str, start: int, end: int, message: str, hint: str = "") -> None:
        self.tell.error(code, lambda: self.text.place(start, end), message, hint, self.text)

    def warning(self, code: str, start: int, end: int, message: str, hint: str = "") -> None:
        self.tell.warning(code, lambda: self.text.place(start, end), message, hint, self.text)
