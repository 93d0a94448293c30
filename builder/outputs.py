"""What a build makes of a proved booklet: PDF, site, EPUB, PGN and EPD, written into a stage.

Other processes lay out the PDF, where there are any, while this one writes the rest. The EPUB, the EPD
file and the site's data give the PDF's pages: they come last, and wait for them.
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from builder import names
from builder.faults import Faults
from builder.place import file_place
from builder.progress import Progress
from builder.proved import Proved
from builder.settings import SETTINGS_FILE
from builder.write.stage import Stage

if TYPE_CHECKING:
    from builder.press.means import Helpers, Means
    from builder.press.pdf import PdfFacts

SITE, PDF, PGN, EPUB = "site", "pdf", "pgn", "epub"
PARTS = (SITE, PDF, EPUB, PGN)


def write_outputs(proved: Proved, parts: tuple[str, ...], stage: Stage, faults: Faults,
                  progress: Progress, means: Means) -> int | None:  # fmt: skip
    """Writes the parts into the stage; the number of pages of the PDF, if one was made."""
    if PDF not in parts:
        _Others(proved, parts, stage, faults, progress).write()
        return None
    told = Faults()
    # The helpers end before the thread is waited for, which waits for them.
    with ThreadPoolExecutor(1) as thread, means.helpers:
        laid = thread.submit(_print, proved, stage.part(PDF), told, parts == (PDF,), means)
        laid.add_done_callback(lambda _: means.helpers.at_work.set())
        means.helpers.at_work.wait()  # what is done here until then would hold that thread up
        _Others(proved, parts, stage, faults, progress, _Coming(laid, means.helpers)).write()
        progress("laying out the PDF", 0.6)
        facts = laid.result()
    faults.repeat(told.sorted())
    return facts.pages if facts else None


# --- the PDF --------------------------------------------------------------------------------------


def lay_out(proved: Proved, target: Path, faults: Faults, means: Means | None = None) -> PdfFacts | None:
    """The booklet's PDF. Raises PressMissing."""
    from builder.press.means import Means
    from builder.press.pdf import write_pdf

    return write_pdf(proved.booklet, proved.settings, proved.files.folder, target, faults, means or Means())


def write_pdf_part(proved: Proved, folder: Path, faults: Faults, alone: bool,
                   means: Means | None = None) -> PdfFacts | None:  # fmt: skip
    """The booklet's PDF; None, and told, where the press is not installed. `alone`: nothing else is
    made, so that this is an error."""
    from builder.press.pdf import PressMissing

    try:
        return lay_out(proved, folder / names.PDF_FILE, faults, means)
    except PressMissing as error:
        tell = faults.error if alone else faults.warning
        tell("pdf-missing", file_place(SETTINGS_FILE), f"no PDF was made: {error}")
        return None


def _print(proved: Proved, folder: Path, faults: Faults, alone: bool, means: Means) -> PdfFacts | None:
    """The PDF, and the cover's sheet where that is a file of its own."""
    facts = write_pdf_part(proved, folder, faults, alone, means)
    if facts and _has_sheet(proved):
        from builder.press.cover import write_cover

        write_cover(proved.booklet, proved.settings, proved.files.folder, facts.pages,
                    folder / names.COVER_FILE, faults)  # fmt: skip
    return facts


def _has_sheet(proved: Proved) -> bool:
    cover = proved.settings.cover
    return cover is not None and cover.kind == "separate"


@dataclass(frozen=True, slots=True)
class _Coming:
    """A PDF that is being laid out by the helpers."""

    laid: Future[PdfFacts | None]
    helpers: Helpers

    def is_possible(self) -> bool:
        """Whether the press is installed."""
        from builder.press.workers import PressMissing

        try:
            self.helpers.check()
        except PressMissing:
            return False
        return True

    def page_of(self) -> Mapping[str, int]:
        """The printed pages of anchors. It may be some time until they are known."""
        facts = self.laid.result()
        return facts.page_of if facts else {}


# --- the rest -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Others:
    """All parts but the PDF; `pdf` is None where none is being made."""

    proved: Proved
    parts: tuple[str, ...]
    stage: Stage
    faults: Faults
    progress: Progress
    pdf: _Coming | None = None

    def write(self) -> None:
        if PGN in self.parts:
            self.progress("writing PGN", 0.2)
            self._write_pgn(self.stage.part(PGN))
        if SITE in self.parts:
            self.progress("making the site", 0.25)
            write_site_part(self.proved, self.stage.part(SITE), self._downloads(), self.faults)
        if EPUB in self.parts:
            self.progress("making the EPUB", 0.4)
            self._write_epub(self.stage.part(EPUB))
        if PGN in self.parts:
            self._write_epd(self.stage.part(PGN))
        if SITE in self.parts:
            write_site_data_part(self.proved, self.stage.part(SITE), self._page_of())

    def _page_of(self) -> Mapping[str, int]:
        if self.pdf is None:
            return {}
        self.progress("laying out the PDF", 0.6)
        return self.pdf.page_of()

    def _write_pgn(self, folder: Path) -> None:
        from builder.write.pgn import write_pgn

        write_pgn(self.proved.booklet, folder / names.PGN_FILE)

    def _write_epd(self, folder: Path) -> None:
        from builder.write.epd import write_epd

        write_epd(self.proved.booklet, folder / names.EPD_FILE, self._page_of())

    def _write_epub(self, folder: Path) -> None:
        from builder.write.epub import write_epub

        write_epub(self.proved.booklet, self.proved.files, folder / names.EPUB_FILE, self._page_of,
                   self.faults)  # fmt: skip

    def _downloads(self) -> tuple[str, ...]:
        """The files beside the site that it can link to: made now, or left from before."""
        cover = (names.COVER_FILE,) if _has_sheet(self.proved) else ()
        pdf = (names.PDF_FILE, *cover) if self.pdf and self.pdf.is_possible() else ()
        made = {PDF: pdf, EPUB: (names.EPUB_FILE,),
                PGN: (names.PGN_FILE, names.EPD_FILE)}  # fmt: skip
        return tuple(name for part, files in made.items()
                     for name in (sorted(files) if part in self.parts else self.stage.earlier(part)))  # fmt: skip


def write_site_part(proved: Proved, folder: Path, downloads: tuple[str, ...], faults: Faults) -> None:
    """The site but for its data."""
    from builder.write.site import write_site

    write_site(proved.booklet, proved.settings, proved.files, folder, downloads, faults)


def write_site_data_part(proved: Proved, folder: Path, page_of: Mapping[str, int]) -> None:
    """What the site's scripts look up, the PDF's pages among it."""
    from builder.write.site import write_site_data

    write_site_data(proved.booklet, folder, page_of)
