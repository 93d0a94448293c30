"""The replies that a booklet leaves unanswered."""

from __future__ import annotations

from pathlib import Path

from builder.counting.booklet import booklet_counts
from builder.counting.tally import GameCounts
from builder.faults import Faults
from builder.pipeline import Progress, Proved, no_progress, prove
from builder.proof.engine_answers import EngineFault
from builder.proof.engine_kept import kept_lookup, opinion
from builder.proof.gaps import GapReport, find_gaps


def gaps(folder: Path, faults: Faults,
         progress: Progress = no_progress) -> tuple[Proved, GapReport] | None:  # fmt: skip
    """The replies that the booklet leaves unanswered; None, and faults, where it has errors."""
    proved = prove(folder, faults, drafts=True, progress=progress)
    if proved is None or faults.has_errors:
        return None
    counts = booklet_counts(proved.booklet.reached, proved.files, faults,
                            lambda done, total: progress("counting the games",
                                                         0.1 + 0.8 * done / max(1, total)))  # fmt: skip
    progress("looking for gaps", 0.95)
    return proved, _find(proved, counts, faults)


def _find(proved: Proved, counts: GameCounts, faults: Faults) -> GapReport:
    """With the engine's opinions where answers are kept."""
    settings = proved.settings
    try:
        with kept_lookup(proved.files, settings.engine) as lookup:
            return find_gaps(proved.booklet, counts, opinion(lookup))
    except EngineFault as fault:
        faults.warning(fault.code, settings.engine_place, fault.message, fault.hint)
        return find_gaps(proved.booklet, counts)
