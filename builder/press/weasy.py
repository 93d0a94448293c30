"""WeasyPrint, held at arm's length: HTML and style sheets in, one PDF file out.

Nothing else in the project imports WeasyPrint, and it is imported only when a PDF is made.
It reads what `builder.press.fetch` allows; what it logs becomes faults.
"""

from __future__ import annotations

import logging
import re
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from builder.faults import Faults
from builder.place import Place
from builder.press import fetch

# The ids that the frame's document is parted at: what stands before the one is the front, what
# begins with the other the back.
SEAM = "seam"
BACK_MATTER = "back-matter"
_MM_PER_PIXEL = 25.4 / 96  # CSS Values 3, 6.2
# Sets the frame's document, from the pages of the main matter's anchors and their count.
Frame: TypeAlias = Callable[[Mapping[str, int], int], str]


class PressMissing(Exception):
    """WeasyPrint or a library under it is not installed; the text says what to install."""


class PressFailed(Exception):
    """WeasyPrint gave up on this document; the text says why."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A style sheet: its text, and the file its faults are told at."""

    file: str
    text: str


@dataclass(frozen=True, slots=True)
class PdfFacts:
    """What the other outputs want to know of the PDF.

    `pages` counts every page. `front_pages` counts those before page 1, which are numbered
    in roman. `page_of` gives the printed page number of every anchor of the main matter.
    """

    pages: int
    front_pages: int
    page_of: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Copy:
    """What is to be laid out: the main matter, and the frame that depends on its pages."""

    main: str
    frame: Frame | None
    sheets: Sequence[Sheet]


def press(copy: Copy, shelves: Mapping[str, fetch.Shelf], target: Path, faults: Faults,
          place_of: Callable[[str], Place | None]) -> PdfFacts:  # fmt: skip
    """Lays out `copy` and writes the PDF to `target`.

    `place_of` tells where the author asked for an address, None when no author did. Raises
    PressMissing, PressFailed.
    """
    with _layout(copy, shelves, faults, place_of) as layout:
        main = layout.render(copy.main)
        pages = _Pages((), tuple(main.pages), ())
        if copy.frame:
            frame = layout.render(copy.frame(pages.page_of(), len(main.pages)))
            pages = _framed(frame.pages, main.pages)
        document = main.copy(pages.all)
        with _failing():
            document.write_pdf(
                target, pdf_tags=True,
                finisher=lambda _, pdf: _number_pages(pdf, len(pages.front)),
            )  # fmt: skip
    _tell_foreign_fonts(document, copy.sheets, faults)
    return PdfFacts(len(pages.all), len(pages.front), pages.page_of())


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an anchor stands: its page, counted from 0, and how far below the page's upper
    edge, in mm."""

    page: int
    top: float


def measure(copy: Copy, shelves: Mapping[str, fetch.Shelf], faults: Faults,
            place_of: Callable[[str], Place | None]) -> Mapping[str, Spot]:  # fmt: skip
    """Lays out the main matter of `copy` and tells where its anchors stand, and no more.

    See `press`.
    """
    found: dict[str, Spot] = {}
    with _layout(copy, shelves, faults, place_of) as layout:
        for number, page in enumerate(layout.render(copy.main).pages):
            for anchor, (_, top, *_) in page.anchors.items():
                found.setdefault(anchor, Spot(number, top * _MM_PER_PIXEL))
    return found


@contextmanager
def _layout(copy: Copy, shelves: Mapping[str, fetch.Shelf], faults: Faults,
            place_of: Callable[[str], Place | None]) -> Iterator[_Layout]:  # fmt: skip
    """WeasyPrint ready for `copy`, its log being listened to. Raises PressMissing, PressFailed."""
    weasyprint = _weasyprint()
    log = _Log(faults, place_of)
    with log.listening():
        yield _Layout(weasyprint, shelves, copy.sheets, log)


@contextmanager
def _failing() -> Iterator[None]:
    """WeasyPrint at work: whatever a theme or a picture can make it trip over is PressFailed."""
    try:
        yield
    except MemoryError:
        raise
    except Exception as error:
        raise PressFailed(f"{type(error).__name__}: {error}") from error


@dataclass(frozen=True, slots=True)
class _Pages:
    """WeasyPrint's pages in the order of the book."""

    front: tuple[Any, ...]
    main: tuple[Any, ...]
    back: tuple[Any, ...]

    @property
    def all(self) -> tuple[Any, ...]:
        return (*self.front, *self.main, *self.back)

    def page_of(self) -> dict[str, int]:
        """The printed number of each anchor's page; the front has none of these numbers."""
        found: dict[str, int] = {}
        for number, page in enumerate((*self.main, *self.back), start=1):
            for anchor in page.anchors:
                found.setdefault(anchor, number)
        return found


def _framed(frame: Sequence[Any], main: Sequence[Any]) -> _Pages:
    """The pages before the seam, the main matter, and the pages from the back's first on."""
    at: dict[str, int] = {}
    for number, page in enumerate(frame):
        for anchor in page.anchors:  # a box that is parted has its anchor on every page
            at.setdefault(anchor, number)
    front, back = at.get(SEAM, len(frame)), at.get(BACK_MATTER, len(frame))
    return _Pages(tuple(frame[:front]), tuple(main), tuple(frame[back:]))


def _weasyprint() -> Any:
    """The module. Raises PressMissing."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)
            import weasyprint
            import weasyprint.text.fonts
    except ImportError as error:
        raise PressMissing(
            f"the PDF needs WeasyPrint ({error}); install it with: pip install weasyprint"
        ) from error
    except OSError as error:
        raise PressMissing(
            f"the PDF needs the Pango library ({str(error).splitlines()[0]}); install it, on "
            "Debian and Ubuntu with: apt-get install libpango-1.0-0 libpangoft2-1.0-0 "
            "libharfbuzz-subset0"
        ) from error
    return weasyprint


# --- what it reads -------------------------------------------------------------------------


class _Layout:
    """WeasyPrint with the style sheets, read once, and the fonts that they name."""

    def __init__(self, weasyprint: Any, shelves: Mapping[str, fetch.Shelf],
                 sheets: Sequence[Sheet], log: _Log) -> None:  # fmt: skip
        self._weasyprint = weasyprint
        self._font_config = weasyprint.text.fonts.FontConfiguration()
        self._fetcher = _fetcher(shelves, log)
        self._sheets = [self._read(sheet, log) for sheet in sheets]

    def _read(self, sheet: Sheet, log: _Log) -> Any:
        with log.reading(sheet.file), _failing():
            return self._weasyprint.CSS(
                string=sheet.text, base_url=f"{fetch.ORIGIN}{fetch.THEME}/",
                url_fetcher=self._fetcher, font_config=self._font_config,
            )  # fmt: skip

    def render(self, html: str) -> Any:
        """The laid out document."""
        with _failing():
            document = self._weasyprint.HTML(
                string=html, base_url=fetch.ORIGIN, url_fetcher=self._fetcher
            )
            return document.render(font_config=self._font_config, stylesheets=self._sheets)


def _fetcher(shelves: Mapping[str, fetch.Shelf], log: _Log) -> Any:
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class Fetcher(URLFetcher):
        """WeasyPrint's interface over `fetch.read`; opens nothing by itself."""

        def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
            try:
                body, media_type = fetch.read(url, shelves)
            except fetch.Refused as error:
                log.refused(url, str(error))
                raise ValueError(str(error)) from error
            return URLFetcherResponse(url, body, {"Content-Type": media_type})

    return Fetcher()


class _Log(logging.Handler):
    """Turns what WeasyPrint logs, and what it was refused, into faults."""

    def __init__(self, faults: Faults, place_of: Callable[[str], Place | None]) -> None:
        super().__init__(logging.WARNING)
        self._faults = faults
        self._place_of = place_of
        self._refused: set[str] = set()
        self._sheet = ""

    @contextmanager
    def listening(self) -> Iterator[None]:
        loggers = [logging.getLogger(name) for name in ("weasyprint", "fontTools")]
        for logger in loggers:
            logger.addHandler(self)
        try:
            yield
        finally:
            for logger in loggers:
                logger.removeHandler(self)

    @contextmanager
    def reading(self, sheet: str) -> Iterator[None]:
        """While it reads this style sheet."""
        self._sheet = sheet
        yield
        self._sheet = ""

    def refused(self, address: str, reason: str) -> None:
        self._refused.add(address)
        shown = address if len(address) <= 80 else address[:79] + "…"
        shown = shown.removeprefix(fetch.ORIGIN).removeprefix(fetch.PICTURES + "/")
        self._faults.error("print-file", self._place(address),
                           f"the PDF can't use {shown}: {reason}")  # fmt: skip

    def emit(self, record: logging.LogRecord) -> None:
        address = str(record.args[0]) if isinstance(record.args, tuple) and record.args else ""
        if address in self._refused:
            return
        message = record.getMessage().replace(fetch.ORIGIN, "").rstrip(".")
        at = re.search(r" at (\d+):(\d+)", message)
        place = self._place(address)
        if self._sheet and at:
            line, column = int(at.group(1)), int(at.group(2))
            place = Place(self._sheet, line, column, column + 1)
        if record.levelno >= logging.ERROR:
            self._faults.error("print-file", place, message)
        else:
            self._faults.warning("print-layout", place, message)

    def _place(self, address: str) -> Place:
        return self._place_of(address) or Place(self._sheet or "booklet.toml", 1, 1, 2)


# --- what it made --------------------------------------------------------------------------


def _number_pages(pdf: Any, front_pages: int) -> None:
    """Page labels (ISO 32000-1, 12.4.2), so that a reader's page box says what is printed."""
    import pydyf

    labels = pydyf.Array()
    if front_pages:
        labels.extend([0, pydyf.Dictionary({"S": "/r"})])
    labels.extend([front_pages, pydyf.Dictionary({"S": "/D"})])
    pdf.catalog["PageLabels"] = pydyf.Dictionary({"Nums": labels})


def _tell_foreign_fonts(document: Any, sheets: Sequence[Sheet], faults: Faults) -> None:
    """Letters that no font of the theme has came from this computer: tell which."""
    ours = {
        family.strip()
        for sheet in sheets
        for family in re.findall(
            r"@font-face\s*\{[^}]*?font-family\s*:\s*[\"']?([^;\"'}]+)", sheet.text
        )
    }
    for font in document.fonts.values():
        if font.family not in ours:
            letters = "".join(sorted({char for text in font.to_unicode.values() for char in text}))
            faults.warning(
                "print-font", Place("booklet.toml", 1, 1, 2),
                f"no font of the print theme has {letters[:40]}; this computer's {font.family} "
                "stands in, and another computer's PDF may differ",
            )  # fmt: skip
