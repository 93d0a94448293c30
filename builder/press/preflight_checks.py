"""The checks of a preflight, one function each.

In: a `Document`, which is a PDF's pages with the ink on them. Out: a `Row`, with what was looked at
and what is wrong.

The limits are common practice, no source, where none is named.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pypdf import PdfReader

from builder.press.geometry import POINTS, Box, PageShape, Size
from builder.press.job import THICK, Job, Layout
from builder.press.plan import padded
from builder.press.preflight_boards import Board, WantedBoard, colour_alone, missing
from builder.press.preflight_ink import Drawn, Image, Ink, Text
from builder.press.preflight_links import read_links

DPI = 300  # of a picture at its printed size
EDGE = 5.0  # millimetres at the edges that office printers leave blank
SMALLEST = 6.5  # points
PALEST_TEXT, PALEST = 0.4, 0.1  # darkness from 0 (paper) to 1; lighter breaks up into dots
HAIRLINE = 0.25  # points; two dots of a printer with 600 dots to the inch
BLEED = 2.5  # millimetres over the edge that a picture needs which is to be cut there
_NEAR = 0.5 * POINTS  # rounding of other programs


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong; `page` is its label in the PDF, empty for no page."""

    page: str
    words: str


@dataclass(frozen=True, slots=True)
class Row:
    """A check: what was looked at in a few words, and what is wrong with it."""

    check: str
    looked_at: str
    findings: tuple[Finding, ...] = ()

    @property
    def passed(self) -> bool:
        return not self.findings


@dataclass(frozen=True, slots=True)
class Page:
    """A page as a reader's page box calls it, and what it prints."""

    label: str
    shape: PageShape
    ink: tuple[Ink, ...]


@dataclass(frozen=True, slots=True)
class Document:
    """What the checks look at. Lengths on the pages times `scale` are lengths on paper."""

    pages: tuple[Page, ...]
    scale: float
    boards: tuple[Board, ...]

    def texts(self) -> Iterator[tuple[str, Text]]:
        """Each text with its page's label."""
        for page in self.pages:
            for ink in page.ink:
                if isinstance(ink, Text):
                    yield page.label, ink


# --- pages --------------------------------------------------------------------------------------


def page_sizes(document: Document) -> Row:
    """Whether all pages are cut to one size."""
    first = document.pages[0].shape.size
    looked_at = _size_words(first)
    bad = [Finding(page.label, f"{_size_words(page.shape.size)}, the first page is {looked_at}")
           for page in document.pages if not page.shape.size.is_about(first)]  # fmt: skip
    if document.scale < 1:
        looked_at += f", printed at {100 * document.scale:.0f} %"
    return Row("page size", looked_at, tuple(bad))


def _size_words(size: Size) -> str:
    return f"{size.width / POINTS:.0f} × {size.height / POINTS:.0f} mm"


def page_count(document: Document, job: Job) -> Row:
    """Whether the pages fill the sheets, and the sheets can be folded."""
    count = len(document.pages)
    words = f"{count} page" if count == 1 else f"{count} pages"
    if job.layout is not Layout.BOOKLET:
        return Row("page count", f"{words}, any number will do: nothing is folded")
    found = []
    blanks = padded(count, 4) - count
    if blanks:
        found.append(Finding("", f"a folded booklet has four pages to a sheet: {blanks} too few; "
                                 'binding = "stapled" adds them'))  # fmt: skip
    nested = job.signature or padded(count, 4) // 4
    if nested > THICK:
        found.append(Finding("", f"{nested} sheets folded into one another are too thick to "
                                 "staple: --signature 5 makes thinner parts"))  # fmt: skip
    return Row("page count", f"{words}, folded as a booklet", tuple(found))


# --- ink ----------------------------------------------------------------------------------------


def fonts(document: Document) -> Row:
    """Whether every font that shows something is in the file."""
    names: dict[str, tuple[str, bool]] = {}
    for label, ink in document.texts():
        names.setdefault(ink.font.name, (label, ink.font.is_embedded))
        if not ink.font.is_embedded and names[ink.font.name][1]:
            names[ink.font.name] = (label, False)
    bad = tuple(Finding(label, f"{name} is not in the file: another computer's may look different")
                for name, (label, embedded) in names.items() if not embedded)  # fmt: skip
    return Row("fonts", f"{len(names)} embedded" if not bad else f"{len(names)} used", bad)


def text_sizes(document: Document) -> Row:
    """Whether all text is large enough on paper."""
    sizes = [(ink.size * document.scale, label, ink.text) for label, ink in document.texts()]
    bad = tuple(Finding(label, f"{size:.1f} pt: {_quoted(text)}")
                for size, label, text in sizes if size < SMALLEST - 0.05)  # fmt: skip
    smallest = f"the smallest is {min(sizes)[0]:.1f} pt" if sizes else "none"
    return Row("text size", f"{smallest}, wanted {SMALLEST:g} pt", bad)


def _quoted(text: str) -> str:
    return f"“{text[:40]}{'…' if text[40:] else ''}”" if text else "text"


def pictures(document: Document) -> Row:
    """Whether pictures are fine enough on paper."""
    found = [(ink.dpi / document.scale, page.label, ink.pixels) for page in document.pages
             for ink in page.ink if isinstance(ink, Image) and ink.pixels != (1, 1)]  # fmt: skip
    bad = tuple(Finding(label, f"{dpi:.0f} dpi: a picture of {width} × {height} pixels")
                for dpi, label, (width, height) in found if dpi < DPI - 1)  # fmt: skip
    lowest = f"{len(found)}, the coarsest has {min(found)[0]:.0f} dpi" if found else "none"
    return Row("pictures", f"{lowest}, wanted {DPI} dpi", bad)


def margins(document: Document) -> Row:
    """Whether all keeps off the edge, but for what reaches over it to be cut."""
    edge = EDGE * POINTS / document.scale
    bad: list[Finding] = []
    nearest = None
    for page in document.pages:
        trim = Box(0, 0, page.shape.size.width, page.shape.size.height)
        for ink in page.ink:
            if _is_blank(ink):
                continue
            distance = _distance(ink.box, trim)
            if distance is None or _bleeds(ink, page.shape):
                continue
            nearest = distance if nearest is None else min(nearest, distance)
            if distance < edge - _NEAR:
                bad.append(Finding(page.label, _margin_words(ink, distance * document.scale)))
    words = "nothing printed" if nearest is None else (
        f"{max(0.0, nearest) * document.scale / POINTS:.1f} mm are kept clear"
    )
    return Row("margins", f"{words}, wanted {EDGE:g} mm", tuple(bad))


def _is_blank(ink: Ink) -> bool:
    """Paper laid on paper."""
    return not isinstance(ink, Image) and ink.paint.darkness < 0.02


def _distance(box: Box, trim: Box) -> float | None:
    """How near a box comes to the page's edge, negative over it; None where it lies outside."""
    if box.right <= trim.left or box.left >= trim.right or box.top <= trim.bottom or (
            box.bottom >= trim.top):  # fmt: skip
        return None
    return min(box.left - trim.left, box.bottom - trim.bottom,
               trim.right - box.right, trim.top - box.top)  # fmt: skip


def _bleeds(ink: Ink, shape: PageShape) -> bool:
    """Whether it is made to be cut: reaches as far over each edge that it comes near to as the
    page's bleed, which must be a bleed's width."""
    if isinstance(ink, Text):
        return False
    box, bleed, size = ink.box, shape.bleed, shape.size
    reaches = ((box.left, bleed.left), (box.bottom, bleed.bottom),
               (size.width - box.right, size.width - bleed.right),
               (size.height - box.top, size.height - bleed.top))  # fmt: skip
    return all(-limit >= BLEED * POINTS and reach <= limit + _NEAR
               for reach, limit in reaches if reach < EDGE * POINTS)  # fmt: skip


def _margin_words(ink: Ink, distance: float) -> str:
    what = _quoted(ink.text) if isinstance(ink, Text) else (
        "a picture" if isinstance(ink, Image) else "a line or area")  # fmt: skip
    if distance < -_NEAR:
        return f"{what} goes over the edge of the page without a bleed"
    return f"{what} is {max(0.0, distance) / POINTS:.1f} mm from the edge"


def greys(document: Document) -> Row:
    """Whether a printer with one ink shows everything."""
    bad = [Finding(page.label, words) for page in document.pages for ink in page.ink
           if not _is_cut_off(ink.box, page.shape.bleed)
           and (words := _grey_words(ink, page, document.scale))]  # fmt: skip
    return Row("greys and hairlines",
               f"wanted: text from {PALEST_TEXT:.0%}, the rest from {PALEST:.0%} grey, lines from "
               f"{HAIRLINE:g} pt".replace("%", " %"), tuple(bad))  # fmt: skip


def _is_cut_off(box: Box, bleed: Box) -> bool:
    """Whether it lies outside of what is printed for use, as a printer's marks do."""
    return (box.right <= bleed.left + _NEAR or box.left >= bleed.right - _NEAR
            or box.top <= bleed.bottom + _NEAR or box.bottom >= bleed.top - _NEAR)  # fmt: skip


def _grey_words(ink: Ink, page: Page, scale: float) -> str:
    """Why it would be lost on a mono printer; empty where it would not."""
    if isinstance(ink, Image):
        return ""
    dark = ink.paint.darkness
    if _is_blank(ink):
        if isinstance(ink, Text) and not _lies_on_ink(ink, page):
            return f"white text on paper: {_quoted(ink.text)}"
        return ""
    if isinstance(ink, Text) and dark < PALEST_TEXT:
        return f"text in {100 * dark:.0f} % grey: {_quoted(ink.text)}"
    if dark < PALEST:
        return f"a line or area in {100 * dark:.0f} % grey"
    thickness = ink.thickness if isinstance(ink, Drawn) else None
    if thickness is not None and thickness * scale < HAIRLINE - 0.01:
        return f"a line of {thickness * scale:.2f} pt"
    return ""


def _lies_on_ink(text: Text, page: Page) -> bool:
    """Whether something dark lies under white letters."""
    return any(
        isinstance(under, Image) or (isinstance(under, Drawn) and under.form.filled
                                     and under.paint.darkness > 0.5)
        for under in page.ink if under.box.grown(1.0).holds(text.box)
    )  # fmt: skip


# --- diagrams and links ---------------------------------------------------------------------------


def annotations(document: Document, wanted: tuple[WantedBoard, ...]) -> Row:
    """Whether every board shows its annotations, told apart without colour."""
    marked = [board for board in document.boards if board.drawn]
    bad = [Finding(document.pages[board.page].label,
                   "annotations of one form and one grey differ in colour alone")
           for board in marked if colour_alone(board)]  # fmt: skip
    for diagram in wanted:
        lacking = missing(diagram, document.boards)
        if lacking is None:
            bad.append(Finding("", f"{diagram.name} is on no page"))
        elif lacking:
            bad.append(Finding("", f"{diagram.name}: {lacking} of its annotations' shapes are "
                                   "missing or too light"))  # fmt: skip
    return Row("annotations", f"{len(document.boards)} boards, {len(marked)} with annotations",
               tuple(bad))  # fmt: skip


def links(reader: PdfReader, document: Document) -> Row:
    """Whether every link and bookmark leads somewhere."""
    links = read_links(reader)
    bad = tuple(Finding("" if link.page is None else document.pages[link.page].label, link.words)
                for link in links.bad)  # fmt: skip
    return Row("links", f"{links.count} links and bookmarks", bad)
