"""Imposition: a finished PDF laid out on sheets of paper.

In: a PDF and a `Job`. Out: another PDF, each of whose pages is one side of a sheet, and what was
done (`Imposed`). The pages are carried over whole, as form XObjects (ISO 32000-1, 8.10); what
makes sense only on a screen stays behind: links, outline, tags. So the PDF that is laid out
remains the one to read and to hear. The same input gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject, BooleanObject, ContentStream, DecodedStreamObject, DictionaryObject, FloatObject,
    NameObject, NumberObject, TextStringObject,
)  # fmt: skip

from builder import __version__
from builder.faults import Faults
from builder.place import Place
from builder.press import geometry
from builder.press.geometry import POINTS, Box, Grid, Matrix, PageShape, Size, moved, scaled
from builder.press.job import THICK, Job, largest, settled
from builder.press.pdf_files import OURS, PdfFile, is_ours, open_pdf, reading
from builder.press.plan import Binding, Sheet, Side, Turn, plan
from builder.press.press_marks import press_marks


@dataclass(frozen=True, slots=True)
class Imposed:
    """What was done: `job` with its open questions answered, and what a printer's user must
    know. `page` is the largest page's size, `title` and `language` are the document's own and
    may be empty."""

    pdf: bytes
    job: Job
    grid: Grid
    sheets: tuple[Sheet, ...]
    pages: int
    page: Size
    title: str
    language: str

    @property
    def turn(self) -> Turn:
        assert self.job.turn is not None
        return self.job.turn

    @property
    def blanks(self) -> int:
        """Places on the sheets that stay empty."""
        places = sum(1 for sheet in self.sheets for side in (sheet.front, sheet.back)
                     for _ in side.cells())  # fmt: skip
        return places - self.pages


def impose(source: PdfFile, job: Job, faults: Faults) -> Imposed | None:
    """Lays a PDF out; None after an error. What a user should know becomes a notice."""
    with reading(source, faults):
        reader = open_pdf(source, faults)
        if reader is None:
            return None
        if is_ours(reader):
            faults.error("press-twice", source.place, "this PDF is laid out on sheets already",
                         "lay out the one that it was made from")  # fmt: skip
            return None
        shapes = [geometry.page_shape(page) for page in reader.pages]
        page = largest(shapes)
        grid, job = settled(job, page)
        assert job.turn is not None
        sheets = plan(
            len(shapes), job.binding, job.turn, across=grid.across,
            down=grid.down, signature=job.signature, wide=grid.is_wide,
        )  # fmt: skip
        made = _Planned(reader, shapes, job, grid, sheets)
        _tell(made, source.place, faults)
        return Imposed(_pdf(made), job, grid, sheets, len(shapes), page, made.title, made.language)
    return None


@dataclass(frozen=True, slots=True)
class _Planned:
    """A PDF that was read, its pages' shapes, and how they go on sheets."""

    reader: PdfReader
    shapes: list[PageShape]
    job: Job
    grid: Grid
    sheets: tuple[Sheet, ...]

    @property
    def title(self) -> str:
        return " ".join(str((self.reader.metadata or {}).get("/Title") or "").split())

    @property
    def language(self) -> str:
        return str(self.reader.root_object.get("/Lang") or "")


# --- what to tell -----------------------------------------------------------------------------


def _tell(made: _Planned, here: Place, faults: Faults) -> None:
    shapes, job, grid = made.shapes, made.job, made.grid
    if not all(shape.size.is_about(shapes[0].size) for shape in shapes):
        faults.warning("press-sizes", here, "the pages are not all of one size",
                       "each stands in the middle of the largest page's place")  # fmt: skip
    if grid.scale < 1:
        size = largest(shapes)
        hint = next((f"--sheet {name} prints them at 100 %" for name in geometry.SHEETS
                     if settled(replace(job, sheet=name), size)[0].scale == 1), "")  # fmt: skip
        faults.notice("press-scaled", here,
                      f"the pages are made smaller, to {grid.scale:.0%} of their size: "
                      f"they are too large for {job.sheet}".replace("%", " %"), hint)  # fmt: skip
    nested = job.signature or len(made.sheets)
    if job.binding is Binding.BOOKLET and nested > THICK:
        faults.warning("press-thick", here,
                       f"{nested} sheets folded into one another are hard to staple",
                       "--signature 5 makes several thin parts, to be sewn or glued")  # fmt: skip
    left_out = [number for number, page in enumerate(made.reader.pages, 1) if _has_printed_notes(page)]
    if left_out:
        faults.warning("press-notes", here,
                       "notes, stamps or form fields are left out, on page "
                       + ", ".join(map(str, left_out[:10])) + (" …" if left_out[10:] else ""),
                       "have another program print them into the page first")  # fmt: skip
    if job.marks and not press_marks(grid, job.binding):
        faults.notice("press-marks", here, f"{job.sheet} has no room for marks beside the pages")


_PRINTED = 1 << 2  # a bit of an annotation's flags (ISO 32000-1, table 165)


def _has_printed_notes(page: Any) -> bool:
    """Whether something lies on the page that would be printed with it, other than links."""
    for annotation in page.get("/Annots") or ():
        note = annotation.get_object()
        if not isinstance(note, DictionaryObject) or note.get("/Subtype") in ("/Link", "/Popup"):
            continue
        if "/AP" in note and int(note.get("/F", 0)) & _PRINTED:
            return True
    return False


# --- the PDF ----------------------------------------------------------------------------------


def _pdf(made: _Planned) -> bytes:
    shapes, job, grid = made.shapes, made.job, made.grid
    writer = PdfWriter()
    writer.pdf_header = "%PDF-1.7"
    forms = [_form(writer, page, shape) for page, shape in zip(made.reader.pages, shapes, strict=True)]
    drawn_marks = press_marks(grid, job.binding) if job.marks else ""
    for sheet in made.sheets:
        for side in (sheet.front, sheet.back):
            placements = list(_placements(side, shapes, job, grid))
            page = writer.add_blank_page(grid.sheet.width, grid.sheet.height)
            page[NameObject("/Resources")] = DictionaryObject({
                NameObject("/XObject"): DictionaryObject({
                    NameObject(placed.name): forms[placed.page] for placed in placements
                })
            })  # fmt: skip
            drawing = drawn_marks + "".join(placed.drawing() for placed in placements)
            page[NameObject("/Contents")] = writer._add_object(_stream(drawing.encode("ascii")))
    _describe(writer, made)
    buffer = io.BytesIO()
    writer.write(buffer)
    return buffer.getvalue()


def _form(writer: PdfWriter, page: Any, shape: PageShape) -> Any:
    """A page as a form XObject in `writer`; what it shares with others is carried over once."""
    contents = page.get_contents()
    form = _stream(contents.get_data() if isinstance(contents, ContentStream) else b"")
    bleed = shape.own_bleed
    form[NameObject("/Type")] = NameObject("/XObject")
    form[NameObject("/Subtype")] = NameObject("/Form")
    form[NameObject("/BBox")] = ArrayObject(
        FloatObject(round(side, 4)) for side in (bleed.left, bleed.bottom, bleed.right, bleed.top)
    )
    for name in ("/Resources", "/Group"):
        if name in page:
            form[NameObject(name)] = page.raw_get(name).clone(writer)
    return writer._add_object(form)


def _stream(data: bytes) -> Any:
    plain = DecodedStreamObject()
    plain.set_data(data)
    return plain.flate_encode()


@dataclass(frozen=True, slots=True)
class _Placement:
    """A page on a side of a sheet: the map from its space to the sheet's, and where it ends."""

    page: int
    matrix: Matrix
    clip: Box

    @property
    def name(self) -> str:
        return f"/P{self.page + 1}"

    def drawing(self) -> str:
        m, clip = self.matrix, self.clip
        ends = _numbers(clip.left, clip.bottom, clip.size.width, clip.size.height)
        return f"q {ends} re W n {_numbers(m.a, m.b, m.c, m.d, m.e, m.f)} cm {self.name} Do Q\n"


def _placements(side: Side, shapes: list[PageShape], job: Job, grid: Grid) -> Iterator[_Placement]:
    """The pages of one side. A page ends at its neighbours' places; outwards it may bleed."""
    wide, high = grid.sheet.width, grid.sheet.height
    over = Matrix(-1, 0, 0, -1, wide, high) if side.turned else Matrix()
    for row, column, cell in side.cells():
        if cell.page is None:
            continue
        shape, place = shapes[cell.page], grid.box(row, column)
        creep = cell.creep * job.thickness * POINTS * (1 if cell.fold_right else -1)
        left = place.left + (grid.cell.width - shape.size.width * grid.scale) / 2
        bottom = place.bottom + (grid.cell.height - shape.size.height * grid.scale) / 2
        matrix = shape.upright.then(scaled(grid.scale)).then(moved(left + creep, bottom))
        clip = Box(
            place.left if column else 0.0, place.bottom if row < grid.down - 1 else 0.0,
            place.right if column < grid.across - 1 else wide, place.top if row else high,
        )  # fmt: skip
        yield _Placement(cell.page, matrix.then(over), over.box(clip))


def _numbers(*values: float) -> str:
    """Lengths to a ten-thousandth of a point."""
    return " ".join(f"{round(value, 4) + 0.0:.4f}".rstrip("0").rstrip(".") for value in values)


def _describe(writer: PdfWriter, made: _Planned) -> None:
    """What a print window takes from the file, and what tells the press that it made it."""
    root = writer.root_object
    duplex = "/DuplexFlipShortEdge" if made.job.turn is Turn.SHORT else "/DuplexFlipLongEdge"
    # ISO 32000-1, table 150: no scaling, the right edge, the tray that holds the right paper.
    root[NameObject("/ViewerPreferences")] = DictionaryObject({
        NameObject("/PrintScaling"): NameObject("/None"),
        NameObject("/Duplex"): NameObject(duplex),
        NameObject("/PickTrayByPDFSize"): BooleanObject(True),
    })  # fmt: skip
    if made.language:
        root[NameObject("/Lang")] = TextStringObject(made.language)
    reader = made.reader
    if "/OCProperties" in reader.root_object:  # else hidden layers would show
        layers = reader.root_object.raw_get("/OCProperties")
        root[NameObject("/OCProperties")] = layers.clone(writer)
    root[NameObject("/PageLabels")] = _labels(len(made.sheets))
    written = {"/Producer": f"Plyleaf {__version__}", "/Keywords": OURS, "/Title": made.title}
    dates = {name: str((reader.metadata or {}).get(name) or "")
             for name in ("/CreationDate", "/ModDate")}  # fmt: skip
    writer.add_metadata({name: text for name, text in (written | dates).items() if text})


def _labels(sheets: int) -> DictionaryObject:
    """`1a`, `1b`, `2a` …: the fronts and backs of the sheets (ISO 32000-1, 12.4.2)."""
    numbers = ArrayObject()
    for side in range(2 * sheets):
        label = TextStringObject(f"{side // 2 + 1}{'ab'[side % 2]}")
        numbers += [NumberObject(side), DictionaryObject({NameObject("/P"): label})]
    return DictionaryObject({NameObject("/Nums"): numbers})
