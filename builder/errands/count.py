"""How often a booklet's moves are played."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from builder.counting.booklet import booklet_counts, counts_of, wanted_of
from builder.counting.tally import GameCounts
from builder.faults import Faults
from builder.pipeline import Progress, Proved, no_progress, prove


def count(folder: Path, games: Sequence[Path], faults: Faults,
          progress: Progress = no_progress) -> tuple[Proved, GameCounts] | None:  # fmt: skip
    """Counts the games of these files, or of the booklet's own; None, and faults, where the booklet
    has errors."""
    proved = prove(folder, faults, drafts=True,
                   progress=lambda words, share: progress(words, 0.1 * share))  # fmt: skip
    if proved is None or faults.has_errors:
        return None

    def behind(done: int, total: int) -> None:
        progress(f"counting games, {done >> 20} of {total >> 20} MB", 0.1 + 0.9 * done / max(1, total))

    if not games:
        return proved, booklet_counts(proved.booklet.reached, proved.files, faults, behind)
    named = {str(path): path for path in games}
    return proved, counts_of(named, wanted_of(proved.booklet.reached), proved.files, faults, behind)
