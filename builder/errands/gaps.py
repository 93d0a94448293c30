"""The replies that a booklet leaves unanswered."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from builder.faults import Faults
from builder.model import NO_GAMES
from builder.openings.book import opened_book
from builder.pipeline import prove
from builder.progress import Progress, no_progress
from builder.proof.engine_answers import EngineFault
from builder.proof.engine_kept import kept_lookup, opinion
from builder.proof.gaps import GapReport, find_gaps
from builder.proved import Proved


def gaps(folder: Path, faults: Faults,
         progress: Progress = no_progress) -> tuple[Proved, GapReport] | None:  # fmt: skip
    """The replies that the booklet leaves unanswered; None, and faults, where it has errors."""
    proved = prove(folder, faults, drafts=True, progress=progress, games=faults)
    if proved is None or faults.has_errors:
        return None
    progress("looking for gaps", 0.95)
    return proved, _find(proved, faults)


def _find(proved: Proved, faults: Faults) -> GapReport:
    """With the engine's opinions where answers are kept."""
    settings, counts = proved.settings, proved.booklet.counts or NO_GAMES
    with opened_book() as book:
        find = partial(find_gaps, proved.booklet, counts, book=lambda position: book.at(position.board()))
        try:
            with kept_lookup(proved.files, settings.engine) as lookup:
                return find(score=opinion(lookup))
        except EngineFault as fault:
            faults.warning(fault.code, settings.engine_place, fault.message, fault.hint)
            return find()
