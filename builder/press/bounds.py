"""What laying out may take when the style sheets or the pictures are somebody else's.

A line of CSS can ask for a thousand million columns, and a picture can draw itself a thousand million
times over. No list of such lines would be whole; so what a booklet brings along is laid out in
processes of their own, which the system ends when they take too much.
"""

from __future__ import annotations

import signal
from contextlib import suppress
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bounds:
    """For one part. A part of a booklet takes a second or two (60,000 letters of HTML each on two
    cores), and 300 MB at most: the bounds leave room for slow machines and heavy pictures."""

    seconds: float = 60.0  # of a processor
    letters_a_second: float = 2_000.0  # of HTML, for which more seconds are given
    most_seconds: float = 1_800.0
    memory: int = 3 << 30

    def seconds_for(self, html: str) -> float:
        return min(self.most_seconds, self.seconds + len(html) / self.letters_a_second)

    def bound_memory(self) -> None:
        """From here on this process gets no more than that. Not on every system; a lower limit that
        stands already stays."""
        with suppress(ImportError, ValueError, OSError):
            import resource

            resource.setrlimit(resource.RLIMIT_AS, (self.memory, self.memory))

    def bound_time(self, html: str) -> None:
        """This process ends where it hasn't done with that part in its time. Not on every system."""
        if hasattr(signal, "setitimer"):
            signal.setitimer(signal.ITIMER_PROF, self.seconds_for(html))

    @property
    def memory_words(self) -> str:
        return f"it takes more than {self.memory >> 20:,} MB of memory"

    def end_words(self, status: int | None, html: str) -> str:
        """Why a process ended, by its exit status, while it laid out that part."""
        if hasattr(signal, "SIGPROF") and status == -signal.SIGPROF:
            return f"it takes longer than {self.seconds_for(html):.0f} seconds of a processor"
        return self.memory_words if status == -9 else "the process that laid it out broke down"
