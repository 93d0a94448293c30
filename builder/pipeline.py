"""The stages, in order: settings and source, book, proof, outputs.

Only this file and the errands (`builder.errands`) know every room. Faults are collected on the way; a
stage is entered when the one before left something to go on with, and outputs only when there is no
error.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from builder import names
from builder.book.make import make_booklet
from builder.faults import Faults, Severity, why
from builder.model import Booklet
from builder.place import file_place
from builder.proof.report import ProofReport
from builder.proof.run import Depth, run_proof
from builder.settings import ENGINE_NODES, SETTINGS_FILE, Settings
from builder.source.booklet import BookletSource, read_booklet
from builder.source.files import BookletFiles
from builder.source.syntax import ChapterSource
from builder.write.stage import Stage, staging, target_is_allowed

if TYPE_CHECKING:
    from builder.press.paginate import PdfFacts

SITE, PDF, PGN, EPUB = "site", "pdf", "pgn", "epub"
PARTS = (SITE, PDF, EPUB, PGN)
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
    started = time.monotonic()
    if not target_is_allowed(order.target, order.folder, faults):
        return None
    # Games that can't be read are told where they were asked for: by `count`, `gaps` and blocks.
    proved = prove(order.folder, faults, order.drafts, progress,
                   games=Faults() if SITE in order.parts else None)  # fmt: skip
    if proved is None or failed(faults, order.strict):
        return None
    with staging(order.target, faults) as stage:
        if stage is None:
            return None
        try:
            pages = write_outputs(proved, order.parts, stage, faults, progress, order.fresh)
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
    _write_site(proved, target, None, (), faults)
    return not faults.has_errors


def failed(faults: Faults, strict: bool) -> bool:
    """Whether a command fails with these faults."""
    return faults.has_errors or (strict and faults.count(Severity.WARNING) > 0)


# --- outputs ------------------------------------------------------------------------------------


def write_outputs(proved: Proved, parts: tuple[str, ...], stage: Stage, faults: Faults,
                  progress: Progress, fresh: bool = False) -> int | None:  # fmt: skip
    """Writes the parts into the stage; the number of pages of the PDF, if one was made.

    The PDF comes first: the EPUB, the EPD file and the site give its pages. The site comes last: it
    links to what is there.
    """
    facts = None
    if PDF in parts:
        facts = write_pdf_part(proved, stage.part(PDF), faults, progress, alone=parts == (PDF,),
                               fresh=fresh)  # fmt: skip
        if facts:
            _write_cover(proved, stage.part(PDF), facts, faults, progress)
    if PGN in parts:
        progress("writing PGN and EPD", 0.88)
        _write_games(proved, stage.part(PGN), facts)
    if EPUB in parts:
        progress("making the EPUB", 0.89)
        _write_epub(proved, stage.part(EPUB), facts, faults)
    if SITE in parts:
        progress("making the site", 0.9)
        _write_site(proved, stage.part(SITE), facts, _downloads(parts, stage), faults)
    return facts.pages if facts else None


def _write_games(proved: Proved, folder: Path, facts: PdfFacts | None) -> None:
    from builder.write.epd import write_epd
    from builder.write.pgn import write_pgn

    write_pgn(proved.booklet, folder / names.PGN_FILE)
    write_epd(proved.booklet, folder / names.EPD_FILE, facts.page_of if facts else {})


def _write_epub(proved: Proved, folder: Path, facts: PdfFacts | None, faults: Faults) -> None:
    from builder.write.epub import write_epub

    write_epub(proved.booklet, proved.files, folder / names.EPUB_FILE,
               facts.page_of if facts else {}, faults)  # fmt: skip


def write_pdf_part(proved: Proved, folder: Path, faults: Faults, progress: Progress,
                   alone: bool, fresh: bool = False) -> PdfFacts | None:  # fmt: skip
    """Where the press is not installed the other parts are made all the same."""
    from builder.press.pdf import PressMissing

    try:
        return lay_out(proved, folder / names.PDF_FILE, faults, progress, fresh)
    except PressMissing as error:
        tell = faults.error if alone else faults.warning
        tell("pdf-missing", file_place(SETTINGS_FILE), f"no PDF was made: {error}")
        return None


def _write_cover(proved: Proved, folder: Path, facts: PdfFacts, faults: Faults,
                 progress: Progress) -> None:  # fmt: skip
    """The cover's sheet, where booklet.toml has a cover that is one."""
    from builder.press.cover import write_cover

    cover = proved.settings.cover
    if cover is not None and cover.kind == "separate":
        progress("setting the cover", 0.86)
        write_cover(proved.booklet, proved.settings, proved.files.folder, facts.pages,
                    folder / names.COVER_FILE, faults)  # fmt: skip


def lay_out(proved: Proved, target: Path, faults: Faults, progress: Progress,
            fresh: bool = False) -> PdfFacts | None:  # fmt: skip
    """The booklet's PDF. Raises PressMissing."""
    from builder.press.pdf import write_pdf

    return write_pdf(proved.booklet, proved.settings, proved.files.folder, target, faults,
                     lambda words: progress(words, 0.25), fresh)  # fmt: skip


def _write_site(proved: Proved, folder: Path, facts: PdfFacts | None,
                downloads: tuple[str, ...], faults: Faults) -> None:  # fmt: skip
    from builder.render.site_data import Beside
    from builder.write.site import write_site

    beside = Beside(downloads, facts.page_of if facts else {})
    write_site(proved.booklet, proved.settings, proved.files, folder, beside, faults)


def _downloads(parts: tuple[str, ...], stage: Stage) -> tuple[str, ...]:
    """The files beside the site that it can link to: made now, or left from before."""
    found: list[str] = []
    for part in (PDF, EPUB, PGN):
        if part in parts:
            found.extend(sorted(path.name for path in stage.part(part).iterdir()))
        else:
            found.extend(stage.earlier(part))
    return tuple(found)


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
