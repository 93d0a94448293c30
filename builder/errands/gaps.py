"""The replies that a booklet leaves unanswered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

import chess

from builder.faults import Faults
from builder.model import NO_GAMES, Position
from builder.openings.book import Book, opened_book
from builder.pipeline import Progress, Proved, no_progress, prove
from builder.proof.engine_answers import EngineFault
from builder.proof.engine_kept import kept_lookup, opinion
from builder.proof.gaps import GapReport, find_gaps

# A move is often played from this share on: a reader meets it once in twenty games.
OFTEN = 0.05
# The shares are believed where they stand for so much: below it, a single game would be more than
# `OFTEN`.
ENOUGH = 20


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
        find = partial(find_gaps, proved.booklet, counts, often=often_played(book))
        try:
            with kept_lookup(proved.files, settings.engine) as lookup:
                return find(score=opinion(lookup))
        except EngineFault as fault:
            faults.warning(fault.code, settings.engine_place, fault.message, fault.hint)
            return find()


def often_played(book: Book) -> Callable[[Position], Mapping[chess.Move, float]]:
    """The moves that the book often plays in a position, with their shares."""

    def often(position: Position) -> Mapping[chess.Move, float]:
        played = book.at(position.board())
        if played.count < ENOUGH:
            return {}
        return {move: share for move, share in played.shares.items() if share >= OFTEN}

    return often
