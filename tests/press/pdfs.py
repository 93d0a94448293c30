"""Small PDFs for the tests of the press, and what their sheets show to somebody who reads them.

The pages are made operator by operator, so that a test plants just the fault it means; the
sheets are read back by a walk of its own through what a side draws.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject, DecodedStreamObject, DictionaryObject, FloatObject, NameObject, NumberObject,
    PdfObject, TextStringObject,
)  # fmt: skip

MM = 72 / 25.4
A5 = (148 * MM, 210 * MM)
A4 = (210 * MM, 297 * MM)


@dataclass(frozen=True)
class PageSpec:
    """A page to make: boxes in points, content as PDF operators with `/F1` as its font."""

    content: str = ""
    size: tuple[float, float] = A5
    trim: tuple[float, float, float, float] | None = None
    bleed: tuple[float, float, float, float] | None = None
    rotate: int = 0


def number_page(number: int, size: tuple[float, float] = A5, **more) -> PageSpec:
    """A page that says its number, upright, at its middle."""
    content = f"BT /F1 24 Tf {size[0] / 2:.2f} {size[1] / 2:.2f} Td ({number}) Tj ET"
    return PageSpec(content, size, **more)


def write_pages(path: Path, pages: Iterable[PageSpec], title: str = "") -> Path:
    writer = PdfWriter()
    font = writer._add_object(helvetica())
    for spec in pages:
        page = writer.add_blank_page(*spec.size)
        page[NameObject("/Resources")] = DictionaryObject(
            {NameObject("/Font"): DictionaryObject({NameObject("/F1"): font})}
        )
        stream = DecodedStreamObject()
        stream.set_data(spec.content.encode("latin-1"))
        page[NameObject("/Contents")] = writer._add_object(stream)
        for name, box in (("/TrimBox", spec.trim), ("/BleedBox", spec.bleed)):
            if box:
                page[NameObject(name)] = ArrayObject(map(FloatObject, box))
        if spec.rotate:
            page[NameObject("/Rotate")] = NumberObject(spec.rotate)
    if title:
        writer.add_metadata({"/Title": title})
    writer.write(path)
    return path


def numbered(path: Path, count: int, size: tuple[float, float] = A5) -> Path:
    """A PDF whose pages say 1, 2, 3 …"""
    return write_pages(path, (number_page(number, size) for number in range(1, count + 1)))


def helvetica() -> DictionaryObject:
    return DictionaryObject({
        NameObject("/Type"): NameObject("/Font"),
        NameObject("/Subtype"): NameObject("/Type1"),
        NameObject("/BaseFont"): NameObject("/Helvetica"),
        NameObject("/Encoding"): NameObject("/WinAnsiEncoding"),
    })  # fmt: skip


@dataclass(frozen=True)
class Seen:
    """A page as it lies on a side of a sheet: where its number stands, and which way is up and
    which is right, in points of the sheet as it is shown. `clip` is left, bottom, right, top."""

    number: int
    x: float
    y: float
    up: tuple[float, float]
    right: tuple[float, float]
    clip: tuple[float, float, float, float]


def read_side(page) -> list[Seen]:
    """The numbered pages that a side draws."""
    found: list[Seen] = []
    stack: list[tuple] = []
    matrix, clip, rect = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), None, None
    forms = page["/Resources"].get("/XObject", {})
    contents = page.get_contents()
    for operands, operator in () if contents is None else contents.operations:
        if operator == b"q":
            stack.append((matrix, clip))
        elif operator == b"Q":
            matrix, clip = stack.pop()
        elif operator == b"re":
            x, y, width, height = map(float, operands)
            rect = (x, y, x + width, y + height)
        elif operator == b"W":
            assert matrix == (1, 0, 0, 1, 0, 0)
            clip = rect
        elif operator == b"cm":
            matrix = _times(tuple(map(float, operands)), matrix)
        elif operator == b"Do":
            found.append(_seen(forms[operands[0]].get_object(), matrix, clip))
    return found


def _seen(form, matrix, clip) -> Seen:
    data = form.get_data().decode("latin-1")
    match = re.search(r"([\d.]+) ([\d.]+) Td \((\d+)\) Tj", data)
    assert match, data
    a, b, c, d, e, f = matrix
    x, y = float(match[1]), float(match[2])
    at = (a * x + c * y + e, b * x + d * y + f)
    return Seen(int(match[3]), *at, (c, d), (a, b), clip)


def _times(first, second):
    a, b, c, d, e, f = first
    p, q, r, s, t, u = second
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s,
            e * p + f * r + t, e * q + f * s + u)  # fmt: skip


@dataclass(frozen=True)
class Paper:
    """A printed sheet of paper: what is on its front and, seen through the paper from the
    front, on its back."""

    width: float
    height: float
    front: Sequence[Seen]
    back: Sequence[Seen]


def papers(path: Path, short_edge: bool) -> list[Paper]:
    """What a printer makes of a PDF that prints both sides and turns on its short or long edge.

    Of a sheet that lies wide, the short edges are left and right: turned on them, what was
    right on the back lies left on the paper as seen from the front. Turned on the upper or
    lower edge, what was above lies below.
    """
    pages = PdfReader(path).pages
    assert len(pages) % 2 == 0
    sheets = []
    for number in range(0, len(pages), 2):
        front, back = pages[number], pages[number + 1]
        width, height = float(front.mediabox.width), float(front.mediabox.height)
        assert front.mediabox == back.mediabox and not front.rotation
        sideways = short_edge == (width > height)
        through = [_through(seen, width, height, sideways) for seen in read_side(back)]
        sheets.append(Paper(width, height, read_side(front), through))
    return sheets


def _through(seen: Seen, width: float, height: float, sideways: bool) -> Seen:
    (ux, uy), (rx, ry) = seen.up, seen.right
    left, bottom, right, top = seen.clip
    if sideways:
        return Seen(seen.number, width - seen.x, seen.y, (-ux, uy), (-rx, ry),
                    (width - right, bottom, width - left, top))  # fmt: skip
    return Seen(seen.number, seen.x, height - seen.y, (ux, -uy), (rx, -ry),
                (left, height - top, right, height - bottom))  # fmt: skip


# --- whole documents, for a preflight ---------------------------------------------------------


SANS = Path(__file__).parents[2] / "themes" / "fonts" / "SourceSans3-Regular.ttf"


@dataclass
class Document:
    """A document to plant faults in: eight clean A5 pages with text in an embedded font, a
    picture of 300 dpi, lines, a link and a bookmark. Change it, then `write` it."""

    pages: list[str]  # operators
    sizes: list[tuple[float, float]]
    trims: dict[int, tuple[float, float, float, float]]
    bleeds: dict[int, tuple[float, float, float, float]]
    rotations: dict[int, int]
    links: list[DictionaryObject]  # on page 1
    bookmark: PdfObject
    pixels: int = 300  # of a picture that is used an inch wide
    form: str = ""  # operators of the form /X1
    base_font: str = "/Source-Sans-3"
    embedded: bool = True
    actions: DictionaryObject | None = None

    def write(self, path: Path) -> Path:
        writer = PdfWriter()
        resources = self._resources(writer)
        for number, (content, size) in enumerate(zip(self.pages, self.sizes, strict=True)):
            page = writer.add_blank_page(*size)
            page[NameObject("/Resources")] = resources
            page[NameObject("/Contents")] = writer._add_object(_stream(content))
            for name, boxes in (("/TrimBox", self.trims), ("/BleedBox", self.bleeds)):
                if number in boxes:
                    page[NameObject(name)] = ArrayObject(map(FloatObject, boxes[number]))
            if number in self.rotations:
                page[NameObject("/Rotate")] = NumberObject(self.rotations[number])
        first, last = (writer.pages[at].indirect_reference for at in (0, -1))
        names = ArrayObject([TextStringObject("end"), ArrayObject([last, NameObject("/Fit")])])
        root = writer.root_object
        root[NameObject("/Names")] = dictionary(Dests=dictionary(Names=names))
        title = TextStringObject("The end")
        entry = writer._add_object(dictionary(Title=title, Dest=self.bookmark))
        root[NameObject("/Outlines")] = dictionary(First=entry, Last=entry)
        if self.actions is not None:
            root[NameObject("/OpenAction")] = self.actions
        links = [dictionary(A=action, Type="/Annot", Subtype="/Link", Rect=_rect(40, 40, 90, 60))
                 for action in self.links]  # fmt: skip
        page = first.get_object()
        page[NameObject("/Annots")] = ArrayObject(map(writer._add_object, links))
        writer.write(path)
        return path

    def _resources(self, writer: PdfWriter) -> DictionaryObject:
        font = writer._add_object(_true_type(writer, self.base_font, self.embedded))
        picture = _stream("\x80" * self.pixels**2)
        for key, value in dictionary(
            Type="/XObject", Subtype="/Image", Width=self.pixels, Height=self.pixels,
            ColorSpace="/DeviceGray", BitsPerComponent=8,
        ).items():  # fmt: skip
            picture[key] = value
        form = _stream(self.form)
        named = dictionary(Font=dictionary(F1=font))
        for key, value in dictionary(Type="/XObject", Subtype="/Form", Resources=named,
                                     BBox=_rect(0, 0, 900, 900)).items():  # fmt: skip
            form[key] = value
        xobjects = dictionary(I1=writer._add_object(picture.flate_encode()),
                              X1=writer._add_object(form))  # fmt: skip
        return writer._add_object(dictionary(Font=dictionary(F1=font), XObject=xobjects))


CLEAN_PAGE = (
    "BT /F1 9 Tf 60 500 Td (Text of a page) Tj ET\n"
    "q 72 0 0 72 60 300 cm /I1 Do Q\n"
    "0.5 w 0.5 G 60 280 m 300 280 l S 0.8 g 60 200 100 40 re f 0 g\n"
)


def document(count: int = 8) -> Document:
    to_end = dictionary(S="/GoTo", D=TextStringObject("end"))
    out = dictionary(S="/URI", URI=TextStringObject("https://example.org/scotch"))
    return Document([CLEAN_PAGE] * count, [A5] * count, {}, {}, {}, [to_end, out],
                    TextStringObject("end"))  # fmt: skip


def dictionary(**entries) -> DictionaryObject:
    """A PDF dictionary; texts that begin with a slash are names."""
    found = DictionaryObject()
    for key, value in entries.items():
        if isinstance(value, PdfObject):
            found[NameObject(f"/{key}")] = value
        elif isinstance(value, str):
            found[NameObject(f"/{key}")] = NameObject(value)
        else:
            found[NameObject(f"/{key}")] = NumberObject(value)
    return found


def _rect(*sides: float) -> ArrayObject:
    return ArrayObject(map(FloatObject, sides))


def _stream(content: str) -> DecodedStreamObject:
    stream = DecodedStreamObject()
    stream.set_data(content.encode("latin-1"))
    return stream


def _true_type(writer: PdfWriter, name: str, embedded: bool) -> DictionaryObject:
    """A simple font with the widths of our sans, embedded or not."""
    from fontTools.ttLib import TTFont

    face = TTFont(SANS)
    units, cmap, metrics = face["head"].unitsPerEm, face.getBestCmap(), face["hmtx"]
    widths = [metrics[cmap[code]][0] * 1000 // units for code in range(32, 127)]
    descriptor = dictionary(Type="/FontDescriptor", FontName=name, Flags=32, Ascent=984,
                            Descent=-273, CapHeight=660, ItalicAngle=0, StemV=80,
                            FontBBox=_rect(-400, -400, 2000, 1200))  # fmt: skip
    if embedded:
        file = DecodedStreamObject()
        file.set_data(SANS.read_bytes())
        file[NameObject("/Length1")] = NumberObject(SANS.stat().st_size)
        descriptor[NameObject("/FontFile2")] = writer._add_object(file.flate_encode())
    return dictionary(Type="/Font", Subtype="/TrueType", BaseFont=name, FirstChar=32, LastChar=126,
                      Widths=ArrayObject(map(NumberObject, widths)), Encoding="/WinAnsiEncoding",
                      FontDescriptor=writer._add_object(descriptor))  # fmt: skip
