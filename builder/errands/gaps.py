"""The replies that a booklet leaves unanswered."""

from __future__ import annotations

from pathlib import Path

from builder.faults import Faults
from builder.pipeline import Progress, Proved, no_progress, prove
from builder.proof.games import read_counts
from builder.proof.gaps import GapReport, find_gaps


def gaps(folder: Path, faults: Faults,
         progress: Progress = no_progress) -> tuple[Proved, GapReport] | None:  # fmt: skip
    """The replies that the booklet leaves unanswered; None, and faults, where it has errors."""
    proved = prove(folder, faults, drafts=True, progress=progress)
    if proved is None or faults.has_errors:
        return None
    counts = read_counts(proved.booklet, proved.files, faults,
                         lambda done, total: progress("counting the games",
                                                      0.1 + 0.8 * done / max(1, total)))  # fmt: skip
    progress("looking for gaps", 0.95)
    return proved, find_gaps(proved.booklet, counts)
