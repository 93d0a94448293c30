"""How work tells how far it is."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

# Called with the words of the stage that begins, and how much of the work is behind (0 to 1).
Progress: TypeAlias = Callable[[str, float], None]


def no_progress(words: str, done: float) -> None:
    pass
