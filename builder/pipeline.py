"""The stages, in order: settings and source, book, proof, outputs.

Only this file and the errands (`builder.errands`) know every room. Faults are collected on the way; a
stage is entered when the one before left something to go on with, and outputs only when there is no
error.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from builder import names
from builder.book.make import make_booklet
from builder.faults import Faults, Severity, why
from builder.outputs import (
    EPUB, PARTS, PDF, PGN, SITE, write_outputs, write_site_data_part, write_site_part,
)  # fmt: skip
from builder.place import file_place
from builder.progress import Progress, no_progress
from builder.proof.run import Depth, run_proof
from builder.proved import Proved
from builder.settings import ENGINE_NODES
from builder.source.booklet import BookletSource, read_booklet
from builder.write.stage import staging, target_is_allowed

if TYPE_CHECKING:
    from builder.press.means import Means


@dataclass(frozen=True, slots=True)
class Order:
    """What to build: which `parts` of the booklet in `folder`, and where to."""

    folder: Path
    target: Path
    parts: tuple[str, ...] = PARTS
    drafts: bool = False
    strict: bool = False
    fresh: bool = False  # nothing is taken from what earlier builds kept


@dataclass(frozen=True, slots=True)
class Report:
    """What a build made. `claims` were proved, `skipped` want an engine. `pages` is None where
    no PDF was made."""

    chapters: int
    positions: int
    diagrams: int
    exercises: int
    claims: int
    skipped: int
    pages: int | None
    seconds: float
    results: tuple[Path, ...]


# --- the way through ---------------------------------------------------------------------------


def check(folder: Path, faults: Faults, progress: Progress = no_progress) -> Proved | None:
    """Reads and proves everything, drafts too, and the booklet without its drafts."""
    proved = prove(folder, faults, drafts=True, progress=progress, depth=Depth.RULES)
    if proved is not None and any(chapter.draft for chapter in proved.booklet.chapters):
        # A name that only a draft gives is missing from the builds.
        source = read_booklet(folder, faults)
        if source is not None:
            make_booklet(source, faults, drafts=False)
    return proved


def prove(folder: Path, faults: Faults, drafts: bool, progress: Progress = no_progress,
          depth: Depth = Depth.CLAIMS, nodes: int = ENGINE_NODES,
          games: Faults | None = None) -> Proved | None:  # fmt: skip
    """From files to a proved model; None when there was nothing to make a model of.

    `nodes` are the engine's for a position, where `depth` has it asked. `games` as in `make_booklet`:
    whoever reads the model's counts gives them.
    """
    progress("reading the chapters", 0.0)
    source: BookletSource | None = read_booklet(folder, faults)
    if source is None:
        return None
    progress("playing the moves", 0.05)
    booklet = make_booklet(source, faults, drafts, games, counting_progress(progress, 0.1, 0.6))
    begin = 0.1 if booklet.counts is None else 0.6
    progress("proving the claims", begin)
    report = run_proof(source, booklet, faults, depth, nodes,
                       lambda words, share: progress(words, begin + (0.95 - begin) * share))  # fmt: skip
    return Proved(source.files, source.settings, booklet, report, tuple(source.chapters))


def counting_progress(progress: Progress, begin: float, end: float) -> Callable[[int, int], None]:
    """Tells how many bytes of games are behind, as a part of the work."""

    def behind(done: int, total: int) -> None:
        progress(f"counting games, {done >> 20} of {total >> 20} MB",
                 begin + (end - begin) * done / max(1, total))  # fmt: skip

    return behind


def build(order: Order, faults: Faults, progress: Progress = no_progress) -> Report | None:
    """Makes the outputs and moves them into place; None, and nothing moved, after an error."""
    if not target_is_allowed(order.target, order.folder, faults):
        return None
    with _ready_to_print(order) as means:
        return _built(order, faults, progress, means)


@contextmanager
def _ready_to_print(order: Order) -> Iterator[Means]:
    """A process that will lay out the PDF gets ready while the chapters are read."""
    from builder.press.means import Helpers, Means

    with Helpers() as helpers:
        if PDF in order.parts:
            helpers.prepare()
        yield Means(order.fresh, helpers)


def _built(order: Order, faults: Faults, progress: Progress, means: Means) -> Report | None:
    started = time.monotonic()
    # Games that can't be read are told where they were asked for: by `count`, `gaps` and blocks.
    proved = prove(order.folder, faults, order.drafts,
                   lambda words, share: progress(words, share * 0.2),
                   games=Faults() if SITE in order.parts else None)  # fmt: skip
    if proved is None or failed(faults, order.strict):
        return None
    with staging(order.target, faults) as stage:
        if stage is None:
            return None
        try:
            pages = write_outputs(proved, order.parts, stage, faults, progress, means)
            progress("moving everything into place", 0.98)
            if failed(faults, order.strict) or not stage.commit(faults):
                return None
        except OSError as error:  # no room on the disk, say
            faults.error("out-write", file_place(error.filename or order.target),
                         f"the outputs can't be made: {why(error)}", "the last good output is as it was")
            return None
    return _report(proved, order, pages, time.monotonic() - started)


def preview(folder: Path, target: Path, faults: Faults) -> bool:
    """The site alone, drafts included, straight into an empty folder; whether it is whole. Nothing
    is made for the site's address: the preview isn't there."""
    proved = prove(folder, faults, drafts=True, games=Faults())
    if proved is None or faults.has_errors:
        return False
    proved = replace(proved, settings=replace(proved.settings, address=""))
    write_site_part(proved, target, (), faults)
    write_site_data_part(proved, target, {})
    return not faults.has_errors


def failed(faults: Faults, strict: bool) -> bool:
    """Whether a command fails with these faults."""
    return faults.has_errors or (strict and faults.count(Severity.WARNING) > 0)


def _report(proved: Proved, order: Order, pages: int | None, seconds: float) -> Report:
    start_files = {SITE: (names.CONTENTS_PAGE,), PDF: (names.PDF_FILE, names.COVER_FILE),
                   EPUB: (names.EPUB_FILE,), PGN: (names.PGN_FILE, names.EPD_FILE)}  # fmt: skip
    wanted = (order.target / name for part in PARTS if part in order.parts
              for name in start_files[part])  # fmt: skip
    booklet, claims = proved.booklet, proved.report.claims
    return Report(
        chapters=len(booklet.chapters),
        positions=len(booklet.reached),
        diagrams=len(booklet.diagrams),
        exercises=len(booklet.exercises),
        claims=claims.total - claims.skipped,
        skipped=claims.skipped,
        pages=pages,
        seconds=seconds,
        results=tuple(path for path in wanted if path.is_file()),
    )
