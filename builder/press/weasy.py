"""WeasyPrint, held at arm's length: HTML and style sheets in, one PDF file out.

No other room of the project imports WeasyPrint, and it is imported only when a PDF is made. It reads
what `builder.press.fetch` allows; what it logs becomes faults (`builder.press.weasy_says`).
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from typing import Any

from builder.faults import Faults
from builder.place import Place, file_place
from builder.press import fetch, fill, greys
from builder.press.bounds import Bounds
from builder.press.drawing import Drawing, without_blanks
from builder.press.laid import Laid, encode
from builder.press.notes_at_foot import notes_at_foot
from builder.press.numbers import FIRST, NotFound, hole
from builder.press.page_marks import Cut, cut_pages
from builder.press.parts import SEAM
from builder.press.tags import mend_tags
from builder.press.take import take
from builder.press.variants import without_guesses
from builder.press.weasy_says import Log, fetcher
from builder.press.whole_texts import whole_texts

_MM_PER_PIXEL = 25.4 / 96  # CSS Values 3, 6.2


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
class Setting:
    """What every part of a document is laid out with: style sheets, the files that may be read,
    where an author asked for the pictures among them, by their addresses, how pages are cut, and
    what it may take where not all of that is our own."""

    sheets: tuple[Sheet, ...]
    shelves: Mapping[str, fetch.Shelf]
    places: Mapping[str, Place]
    cut: Cut = Cut()
    bounds: Bounds | None = None


@dataclass(frozen=True, slots=True)
class Sheaf:
    """What one part is laid out from: its HTML with room for page numbers.

    `recto` is the side that it opens on, `first` the number of its first page. Where the numbers
    of its pages are `filled` in later, `first` is any number that gives them the right digits.
    `refers_to` are the anchors whose pages it tells.
    """

    html: str
    recto: bool
    first: int
    filled: bool
    refers_to: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an anchor stands: its page, counted from 0, and how far below the page's upper
    edge, in mm."""

    page: int
    top: float


@dataclass(frozen=True, slots=True)
class Made:
    """A part as `builder.press.laid.encode` gives it, and the whole files of the fonts that are to
    be made for all parts, by their SHA-256."""

    part: bytes
    fonts: Mapping[str, bytes]


class Layout:
    """WeasyPrint with the style sheets, read once, and the fonts that they name.

    What it logs becomes `faults`. Use it as a context. Raises PressMissing, and in its methods
    PressFailed.
    """

    def __init__(self, setting: Setting, faults: Faults) -> None:
        self._weasyprint = _weasyprint()
        self._faults = faults
        self._cut = setting.cut
        self._families = _families(setting.sheets)
        self._log = Log(faults, setting.places)
        self._font_config = self._weasyprint.text.fonts.FontConfiguration()
        self._read_files: dict[str, str] = {}
        self._fetcher = fetcher(setting.shelves, self._log, self._read_files)
        with self._log.listening():
            self._sheets = [self._read(sheet) for sheet in setting.sheets]
        self._sheet_files = dict(self._read_files)

    def lay_out(self, sheaf: Sheaf) -> Made:
        """The part. Raises PressFailed."""
        self._read_files.clear()
        with self._log.listening(), _failing():
            document = self._filled(sheaf)
            pages = _without_seam(document.pages)
            if not pages:
                raise PressFailed("a part of it gets no page")
            drawing = Drawing(sheaf.refers_to)
            for number, page in enumerate(pages):
                without_blanks(page)
                page.paint = partial(drawing.paint, number, page.paint)
            found: list[Laid] = []

            def finish(document: Any, pdf: Any) -> None:
                mend_tags(document, pdf, drawing.contents)
                cut_pages(pdf, self._cut)
                drawn = without_guesses(greys.in_black(pdf))
                found.append(take(document, drawn, drawing.contents, drawing.files))

            kept = document.copy(pages)
            kept.write_pdf(io.BytesIO(), pdf_tags=True, finisher=finish)
            self._tell_foreign_fonts(kept)
            files = {sha256(file).hexdigest(): file for file in drawing.files.values()}
            laid = found[0]
            part = encode(laid, {**self._sheet_files, **self._read_files})
            return Made(part, {use.file: files[use.file] for use in laid.fonts})

    def measure(self, html: str) -> Mapping[str, Spot]:
        """Where the anchors of a document stand."""
        found: dict[str, Spot] = {}
        with self._log.listening(), _failing():
            pages = self._render(self._read_html(html), None, None).pages
        for number, page in enumerate(pages):
            for anchor, (_, top, *_) in page.anchors.items():
                found.setdefault(anchor, Spot(number, top * _MM_PER_PIXEL))
        return found

    def _filled(self, sheaf: Sheaf) -> Any:
        """The part laid out, with pages a line longer where that saves a last page of few lines."""
        document = self._laid_twice(sheaf, "")
        pages = _page_boxes(document)
        if fill.ends_with_few_lines(pages):
            longer = self._laid_twice(sheaf, fill.LONGER)
            if len(_page_boxes(longer)) < len(pages):
                return longer
        return document

    def _laid_twice(self, sheaf: Sheaf, kind: str) -> Any:
        """The part laid out, a second time where diagrams or tables would leave pages short.
        `kind` is a class of the document's root."""
        html, own = self._read_html(sheaf.html), _own_sheet(sheaf)
        root = html.etree_element
        if kind:
            root.set("class", f"{root.get('class', '')} {kind}")
        document = self._render(html, own, _counters())
        changed = fill.changes(root, _page_boxes(document), sheaf.recto)
        if changed:
            fill.put(changed, root)
            document = self._render(html, own, _counters())
        return document

    def _read_html(self, html: str) -> Any:
        return self._weasyprint.HTML(
            string=html, base_url=fetch.ORIGIN, url_fetcher=self._fetcher
        )

    def _render(self, html: Any, sheet: str | None, counters: Any) -> Any:
        own = [self._weasyprint.CSS(string=sheet)] if sheet else []
        with whole_texts(), notes_at_foot():
            return html.render(font_config=self._font_config, counter_style=counters,
                               stylesheets=[*self._sheets, *own])  # fmt: skip

    def _read(self, sheet: Sheet) -> Any:
        with self._log.reading(sheet.file), _failing():
            return self._weasyprint.CSS(
                string=sheet.text, base_url=f"{fetch.ORIGIN}{fetch.THEME}/",
                url_fetcher=self._fetcher, font_config=self._font_config,
            )  # fmt: skip

    def _tell_foreign_fonts(self, document: Any) -> None:
        """Letters that no font of the theme has came from this computer: tell which."""
        for font in document.fonts.values():
            if font.family not in self._families:
                letters = "".join(
                    sorted({char for text in font.to_unicode.values() for char in text})
                )
                self._faults.warning(
                    "print-font", file_place("booklet.toml"),
                    f"no font of the print theme has {letters[:40]}; this computer's {font.family} "
                    "stands in, and another computer's PDF may differ",
                )  # fmt: skip


@contextmanager
def _failing() -> Iterator[None]:
    """WeasyPrint at work: whatever a theme or a picture can make it trip over is PressFailed."""
    try:
        yield
    except (MemoryError, PressFailed):
        raise
    except NotFound as error:
        raise PressFailed("the number of a page can't be filled in where the style sheet puts it, or "
                          f"another counter has reached {FIRST:,}") from error  # fmt: skip
    except Exception as error:
        raise PressFailed(f"{type(error).__name__}: {error}") from error


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


def pango_version() -> int:
    """The version of the library that shapes text. Raises PressMissing."""
    _weasyprint()
    from weasyprint.text.ffi import pango

    found: int = pango.pango_version()
    return found


# --- what it is given and what it gives back -------------------------------------------------


def _families(sheets: Sequence[Sheet]) -> frozenset[str]:
    """The families of the fonts that style sheets bring along."""
    return frozenset(
        family.strip()
        for sheet in sheets
        for family in re.findall(
            r"@font-face\s*\{[^}]*?font-family\s*:\s*[\"']?([^;\"'}]+)", sheet.text
        )
    )


def _own_sheet(sheaf: Sheaf) -> str:
    """What the press itself says about the pages: the first one's side and number."""
    side = "" if sheaf.recto else "html { break-before: left }"
    first = sheaf.first + (FIRST if sheaf.filled else 0)
    return f"{side} @page :first {{ counter-reset: page {first} !important }}"


def _counters() -> Any:
    """WeasyPrint's counters, with room for the numbers of pages instead of these numbers."""
    from weasyprint.css.counters import CounterStyle

    class Counters(CounterStyle):
        def render_value(self, counter_value: int, *arguments: Any, **named: Any) -> str:
            if counter_value >= FIRST:
                return hole(None, len(str(counter_value - FIRST)))
            return super().render_value(counter_value, *arguments, **named)

    return Counters()


def _without_seam(pages: Sequence[Any]) -> list[Any]:
    """The pages before the one that only shows on which side the next part opens."""
    seam = (number for number, page in enumerate(pages) if SEAM in page.anchors)
    return list(pages[: next(seam, len(pages))])


def _page_boxes(document: Any) -> list[Any]:
    """The boxes of the part's pages."""
    return [page._page_box for page in _without_seam(document.pages)]
