"""The stages, in order: settings and source, book, proof, outputs.

This is the only file that knows every room. Faults are collected on the way; a stage is entered
when the one before left something to go on with, and outputs only when there is no error.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, TypeAlias

from builder import names
from builder.book.make import make_booklet
from builder.faults import Faults, Severity
from builder.model import Booklet
from builder.place import Place
from builder.proof.report import ProofReport
from builder.proof.run import Depth, run_proof
from builder.settings import ENGINE_NODES, SETTINGS_FILE, Settings
from builder.source.booklet import BookletSource, read_booklet
from builder.source.files import BookletFiles
from builder.source.syntax import ChapterSource
from builder.write.stage import Stage, staging, target_is_allowed

if TYPE_CHECKING:
    from builder.editions.compare import Change
    from builder.press.handouts import Handout, Wanted
    from builder.press.impose import Imposed
    from builder.press.job import Job
    from builder.press.pdf_files import PdfFile
    from builder.press.preflight import Preflight
    from builder.press.weasy import PdfFacts
    from builder.proof.gaps import GapReport

SITE, PDF, PGN = "site", "pdf", "pgn"
PARTS = (SITE, PDF, PGN)
# Called with the words of the stage that begins, and how much of the work is behind (0 to 1).
Progress: TypeAlias = Callable[[str, float], None]


def no_progress(words: str, done: float) -> None:
    pass


@dataclass(frozen=True, slots=True)
class Proved:
    """A booklet that was read, played out and proved as far as that went."""

    files: BookletFiles
    settings: Settings
    booklet: Booklet
    report: ProofReport
    chapters: tuple[ChapterSource, ...]

    def sheet(self) -> str:
        """The proof sheet, an HTML page."""
        from builder.proof.sheet import sheet_html

        texts = {chapter.source.file: chapter.source for chapter in self.chapters}
        return sheet_html(self.booklet, self.report, texts)


@dataclass(frozen=True, slots=True)
class Order:
    """What to build: which `parts` of the booklet in `folder`, and where to."""

    folder: Path
    target: Path
    parts: tuple[str, ...] = PARTS
    drafts: bool = False
    strict: bool = False


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
          depth: Depth = Depth.CLAIMS, nodes: int = ENGINE_NODES) -> Proved | None:  # fmt: skip
    """From files to a proved model; None when there was nothing to make a model of.

    `nodes` are the engine's for a position, where `depth` has it asked.
    """
    progress("reading the chapters", 0.0)
    source: BookletSource | None = read_booklet(folder, faults)
    if source is None:
        return None
    progress("playing the moves", 0.05)
    booklet = make_booklet(source, faults, drafts)
    progress("proving the claims", 0.1)
    report = run_proof(source, booklet, faults, depth, nodes,
                       lambda words, share: progress(words, 0.1 + 0.85 * share))  # fmt: skip
    return Proved(source.files, source.settings, booklet, report, tuple(source.chapters))


def build(order: Order, faults: Faults, progress: Progress = no_progress) -> Report | None:
    """Makes the outputs and moves them into place; None, and nothing moved, after an error."""
    started = time.monotonic()
    if not target_is_allowed(order.target, order.folder, faults):
        return None
    proved = prove(order.folder, faults, order.drafts, progress)
    if proved is None or failed(faults, order.strict):
        return None
    with staging(order.target, faults) as stage:
        if stage is None:
            return None
        pages = write_outputs(proved, order.parts, stage, faults, progress)
        progress("moving everything into place", 0.98)
        if failed(faults, order.strict) or not stage.commit(faults):
            return None
    return _report(proved, order, pages, time.monotonic() - started)


def preview(folder: Path, target: Path, faults: Faults) -> bool:
    """The site alone, drafts included, straight into an empty folder; whether it is whole."""
    proved = prove(folder, faults, drafts=True)
    if proved is None or faults.has_errors:
        return False
    _write_site(proved, target, (), faults)
    return not faults.has_errors


def failed(faults: Faults, strict: bool) -> bool:
    """Whether a command fails with these faults."""
    return faults.has_errors or (strict and faults.count(Severity.WARNING) > 0)


# --- other ways -----------------------------------------------------------------------------------


def gaps(folder: Path, faults: Faults,
         progress: Progress = no_progress) -> tuple[Proved, GapReport] | None:  # fmt: skip
    """The replies that the booklet leaves unanswered; None, and faults, where it has errors."""
    from builder.proof.games import read_counts
    from builder.proof.gaps import find_gaps

    proved = prove(folder, faults, drafts=True, progress=progress)
    if proved is None or faults.has_errors:
        return None
    counts = read_counts(proved.booklet, proved.files, faults,
                         lambda done, total: progress("counting the games",
                                                      0.1 + 0.8 * done / max(1, total)))  # fmt: skip
    progress("looking for gaps", 0.95)
    return proved, find_gaps(proved.booklet, counts)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two editions' folders; whether to lay both out for their pages; where to write an errata
    sheet, None for nowhere."""

    old: Path
    new: Path
    pages: bool = False
    errata: Path | None = None


def compare(order: Comparison, faults: Faults,
            progress: Progress = no_progress) -> list[Change] | None:  # fmt: skip
    """What changed between two editions; None, and faults, where one of them has errors."""
    from builder.editions.compare import compare as compare_editions
    from builder.editions.compare import page_changes

    editions: list[Proved] = []
    for words, folder in (("reading the old edition", order.old),
                          ("reading the new edition", order.new)):  # fmt: skip
        progress(words, 0.1 + 0.1 * len(editions))
        proved = prove(folder, faults, drafts=False)
        if proved is None or faults.has_errors:
            return None
        editions.append(proved)
    old, new = editions
    changes = compare_editions(old.booklet, new.booklet)
    if order.pages:
        pages: list[Mapping[str, int]] = []
        for proved in editions:
            progress("laying out both editions", 0.3 + 0.3 * len(pages))
            with TemporaryDirectory(prefix="plyleaf-") as temporary:
                facts = _write_pdf(proved, Path(temporary), faults, progress, alone=True)
            if facts is None:
                return None
            pages.append(facts.page_of)
        changes += page_changes(old.booklet, new.booklet, pages[0], pages[1])
    if order.errata is not None and not _write_errata(old, new, changes, order.errata, faults):
        return None
    return changes


def _write_errata(old: Proved, new: Proved, changes: list[Change], target: Path,
                  faults: Faults) -> bool:  # fmt: skip
    """The errata sheet in the new edition's page size; whether it was written."""
    from builder.press.errata import write_errata
    from builder.press.pdf_files import is_plyleafs, put
    from builder.press.weasy import PressMissing

    with TemporaryDirectory(prefix="plyleaf-") as temporary:
        made = Path(temporary) / names.PDF_FILE
        try:
            facts = write_errata(old.booklet, new.booklet, changes, new.files.folder,
                                 new.settings.print, made, faults)  # fmt: skip
        except PressMissing as error:
            faults.error("pdf-missing", Place(str(target), 1, 1, 2), f"no PDF was made: {error}")
            return False
        return facts is not None and put({target: made.read_bytes()}, made, faults,
                                         is_plyleafs)  # fmt: skip


# --- the press ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PressOrder:
    """What to lay out on sheets (a booklet's folder or a PDF) how, and the file to write."""

    source: Path
    job: Job
    target: Path


@dataclass(frozen=True, slots=True)
class Pressed:
    """What the press made."""

    imposed: Imposed
    results: tuple[Path, ...]
    seconds: float


def press(order: PressOrder, faults: Faults,
          progress: Progress = no_progress) -> Pressed | None:  # fmt: skip
    """A PDF laid out for a printer, and a page that tells how to print it."""
    from builder.press.impose import impose
    from builder.press.pdf_files import put

    started = time.monotonic()
    with _finished(order.source, faults, progress) as finished:
        if finished is None:
            return None
        progress("laying out the sheets", 0.8)
        imposed = impose(finished.pdf, order.job, faults)
        if imposed is None:
            return None
        progress("setting the page that tells how to print", 0.9)
        outputs = _instructions(imposed, order.target, faults) | {order.target: imposed.pdf}
        if not put(outputs, finished.pdf.path, faults):
            return None
    return Pressed(imposed, (order.target, *(path for path in outputs if path != order.target)),
                   time.monotonic() - started)  # fmt: skip


def preflight(source: Path, job: Job | None, faults: Faults,
              progress: Progress = no_progress) -> Preflight | None:  # fmt: skip
    """The checks of a booklet's PDF, or of any; `job` as in `builder.press.preflight`."""
    from builder.press.preflight import preflight as look_through
    from builder.press.preflight_boards import wanted_boards

    with _finished(source, faults, progress) as finished:
        if finished is None:
            return None
        progress("looking through the PDF", 0.8)
        diagrams = finished.proved.booklet.diagrams if finished.proved else ()
        return look_through(finished.pdf, job, faults, wanted_boards(diagrams))


@dataclass(frozen=True, slots=True)
class _Finished:
    """A PDF, and the booklet that it was made from where that is known."""

    pdf: PdfFile
    proved: Proved | None


@contextmanager
def _finished(source: Path, faults: Faults, progress: Progress) -> Iterator[_Finished | None]:
    """The PDF itself, or the folder's booklet laid out for the time being; None after an error."""
    from builder.press.pdf_files import PdfFile

    if not source.is_dir():
        yield _Finished(PdfFile(source), None)
        return
    proved = prove(source, faults, drafts=False, progress=progress)
    if proved is None or faults.has_errors:
        yield None
        return
    with TemporaryDirectory(prefix="plyleaf-") as temporary:
        folder = Path(temporary)
        facts = _write_pdf(proved, folder, faults, progress, alone=True)
        if facts is None or faults.has_errors:
            yield None
            return
        yield _Finished(PdfFile(folder / names.PDF_FILE, names.PDF_FILE), proved)


def _instructions(imposed: Imposed, target: Path, faults: Faults) -> dict[Path, bytes]:
    """The page that tells how to print, and where it goes; nothing where it can't be made."""
    from builder.press.instructions import instructions_file, instructions_pdf
    from builder.press.weasy import PressMissing

    try:
        page = instructions_pdf(imposed, target.name, faults)
    except PressMissing as error:
        faults.warning("pdf-missing", Place(str(target), 1, 1, 2),
                       f"the page that tells how to print was not made: {error}")  # fmt: skip
        return {}
    return {} if page is None else {instructions_file(target): page}


# --- handouts -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class HandoutOrder:
    """What is wanted of the booklet in `folder`, and where it goes.

    `replaces` allows that a handout made earlier stands there. `csv` is where flash cards go as
    CSV, too; `pages` has the booklet laid out, so that a summary can tell its pages.
    """

    folder: Path
    wanted: Wanted
    target: Path
    replaces: bool
    csv: Path | None = None
    pages: bool = False
    drafts: bool = False


@dataclass(frozen=True, slots=True)
class Handed:
    """The handout that was made."""

    handout: Handout
    results: tuple[Path, ...]
    seconds: float


def handout(order: HandoutOrder, faults: Faults,
            progress: Progress = no_progress) -> Handed | None:  # fmt: skip
    """Makes a handout from the booklet's chapters. Raises NoChapter (`builder.press.handouts`)."""
    from builder.press.handouts import HandoutPress, chapter_slug
    from builder.press.pdf_files import is_plyleafs, put
    from builder.press.weasy import PressMissing
    from builder.write.cards_csv import csv_is_free, write_cards_csv

    started = time.monotonic()
    proved = prove(order.folder, faults, order.drafts, progress)
    if proved is None or faults.has_errors:
        return None
    wanted = order.wanted
    if wanted.chapter:
        wanted = replace(wanted, chapter=chapter_slug(proved.booklet, wanted.chapter))
    if not _is_free(order, faults) or (order.csv and not csv_is_free(order.csv, faults)):
        return None
    with TemporaryDirectory(prefix="plyleaf-") as temporary:
        made = Path(temporary) / names.PDF_FILE
        page_of: Mapping[str, int] = {}
        try:
            if order.pages:
                facts = _lay_out(proved, made, faults, progress)
                if facts is None:
                    return None
                page_of = facts.page_of
            progress("laying out the handout", 0.5)
            press = HandoutPress(proved.booklet, proved.files.folder, faults, page_of)
            found = press.make(wanted, made)
        except PressMissing as error:
            faults.error("pdf-missing", Place(str(order.target), 1, 1, 2),
                         f"no handout was made: {error}")  # fmt: skip
            return None
        if found is None or faults.has_errors:
            return None
        if not put({order.target: made.read_bytes()}, made, faults, is_plyleafs):
            return None
    if order.csv and not write_cards_csv(found.cards, order.csv, faults):
        return None
    results = (order.target, *((order.csv,) if order.csv else ()))
    return Handed(found, results, time.monotonic() - started)


def _is_free(order: HandoutOrder, faults: Faults) -> bool:
    """A file that nobody named is never replaced."""
    if order.replaces or not os.path.lexists(order.target):
        return True
    faults.error("out-stranger", Place(str(order.target), 1, 1, 2), "this is there already",
                 f"to replace it, name it: -o {order.target}")  # fmt: skip
    return False


# --- outputs ------------------------------------------------------------------------------------


def write_outputs(proved: Proved, parts: tuple[str, ...], stage: Stage, faults: Faults,
                  progress: Progress) -> int | None:  # fmt: skip
    """Writes the parts into the stage; the number of pages of the PDF, if one was made.

    The PDF comes first: the EPD file gives its pages, and the site links to it if it is there.
    """
    facts = None
    if PDF in parts:
        facts = _write_pdf(proved, stage.part(PDF), faults, progress, alone=parts == (PDF,))
    if PGN in parts:
        progress("writing PGN and EPD", 0.88)
        _write_games(proved, stage.part(PGN), facts)
    if SITE in parts:
        progress("making the site", 0.9)
        _write_site(proved, stage.part(SITE), _downloads(parts, stage), faults)
    return facts.pages if facts else None


def _write_games(proved: Proved, folder: Path, facts: PdfFacts | None) -> None:
    from builder.write.epd import write_epd
    from builder.write.pgn import write_pgn

    write_pgn(proved.booklet, folder / names.PGN_FILE)
    write_epd(proved.booklet, folder / names.EPD_FILE, facts.page_of if facts else {})


def _write_pdf(proved: Proved, folder: Path, faults: Faults, progress: Progress,
               alone: bool) -> PdfFacts | None:  # fmt: skip
    """Where the press is not installed the other parts are made all the same."""
    from builder.press.pdf import PressMissing

    try:
        return _lay_out(proved, folder / names.PDF_FILE, faults, progress)
    except PressMissing as error:
        tell = faults.error if alone else faults.warning
        tell("pdf-missing", Place(SETTINGS_FILE, 1, 1, 2), f"no PDF was made: {error}")
        return None


def _lay_out(proved: Proved, target: Path, faults: Faults, progress: Progress) -> PdfFacts | None:
    """The booklet's PDF. Raises PressMissing."""
    from builder.press.pdf import write_pdf

    return write_pdf(proved.booklet, proved.settings, proved.files.folder, target, faults,
                     lambda words: progress(words, 0.25))  # fmt: skip


def _write_site(proved: Proved, folder: Path, downloads: tuple[str, ...], faults: Faults) -> None:
    from builder.write.site import write_site

    write_site(proved.booklet, proved.settings, proved.files, folder, downloads, faults)


def _downloads(parts: tuple[str, ...], stage: Stage) -> tuple[str, ...]:
    """The files beside the site that it can link to: made now, or left from before."""
    found: list[str] = []
    for part in (PDF, PGN):
        if part in parts:
            found.extend(sorted(path.name for path in stage.part(part).iterdir()))
        else:
            found.extend(stage.earlier(part))
    return tuple(found)


def _report(proved: Proved, order: Order, pages: int | None, seconds: float) -> Report:
    start_files = {SITE: (names.CONTENTS_PAGE,), PDF: (names.PDF_FILE,),
                   PGN: (names.PGN_FILE, names.EPD_FILE)}  # fmt: skip
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
