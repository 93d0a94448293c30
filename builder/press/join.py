"""Parts that are laid out, joined into one PDF.

WeasyPrint's page objects can't go from one process to another, and finished PDFs had each its own
subset of every font, and only half of what a document needs: no links to other parts, no common
outline, structure or names. So parts are handed over as PDF objects before they are written
(`builder.press.laid`), and here they get their numbers, the page numbers that they print, one
font for all of them, and what a document has only once: the tree of pages, page labels, outline,
named destinations and the structure that makes a tagged PDF. Parts are taken one by one, so that
memory does not grow with the booklet.
"""

from __future__ import annotations

import re
from codecs import BOM_UTF16_BE
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import BinaryIO

from builder.press.geometry import Box
from builder.press.joined_fonts import united, write_font
from builder.press.laid import TOKEN, Bookmark, FontUse, Laid, PdfObject
from builder.press.numbers import fill
from builder.press.page_marks import Cut, marks_round
from builder.press.pdf_file import PdfFile
from builder.press.variants import ARCHIVE, COLOURS, PLAIN, About, colour_profile, xmp

_BOX = re.compile(r"/(Media|Trim|Bleed)Box \[([^\]]*)\]")
COVER_PAGES = 4  # front and back, and the blank insides of both


@dataclass(frozen=True, slots=True)
class Whole:
    """What the document is besides its parts.

    The first `front_pages` pages are numbered in roman, the others from 1 on. So many `blanks` stand
    behind the parts, round them the front and the back of a `cover`, each with a blank page inside.
    `cut` is that of all pages; `variant` is one of `press.variants`.
    """

    front_pages: int
    blanks: int = 0
    cover: tuple[Laid, Laid] | None = None
    cut: Cut = Cut()
    variant: str = PLAIN


def join(parts: Iterable[tuple[Laid, int]], whole: Whole, number: Mapping[str, int],
         subset: Callable[[FontUse], bytes], file: BinaryIO) -> None:  # fmt: skip
    """Writes the PDF to `file`.

    `parts` come with the printed numbers of their first pages. `number` gives the printed page of
    every anchor; `subset` makes a font's file.
    """
    joiner = _Joiner(file, number, whole.cut)
    front, back = whole.cover or (None, None)
    if front:
        joiner.add(front, 1)
        joiner.add_blanks(1)
    for laid, first in parts:
        joiner.add(laid, first)
    joiner.add_blanks(whole.blanks)
    if back:
        joiner.add_blanks(1)
        joiner.add(back, 1)
    joiner.close(whole, subset)


@dataclass(frozen=True, slots=True)
class _Entry:
    """A bookmark whose page has its number in the document."""

    title: str
    point: str
    closed: bool
    children: tuple[_Entry, ...]


class _Joiner:
    def __init__(self, file: BinaryIO, number: Mapping[str, int], cut: Cut) -> None:
        self._pdf = PdfFile(file)
        self._number = number
        self._cut = cut
        self._tree = self._pdf.number()
        self._document = self._pdf.number()
        self._pages: list[int] = []
        self._tops: list[int] = []
        self._parents: list[int] = []  # nodes of the tree of parents, one for each part
        self._keys = 0
        self._targets: dict[str, str] = {}
        self._bookmarks: list[_Entry] = []
        self._fonts: dict[tuple[str, str], tuple[int, list[FontUse]]] = {}
        self._pictures: dict[bytes, int] = {}
        self._parts = 0
        self._info = self._language = ""
        self._boxes: dict[str, str] = {}
        self._marks = 0  # what draws them on blank pages
        self._about = About()

    def add(self, laid: Laid, first: int) -> None:
        """Writes the objects of a part whose first page has the number `first`."""
        if not self._parts:
            self._info, self._language, self._about = laid.info, laid.language, laid.about
            self._boxes = dict(_BOX.findall(laid.objects[laid.pages[0]].head))
        names = _Names(self._parts, self._tree, self._document, self._keys)
        names.fonts = {use.name: self._font(use) for use in laid.fonts}
        seen = [self._picture(item) for item in laid.objects]
        names.objects = [known or self._pdf.number() for known in seen]
        for item, known, number in zip(laid.objects, seen, names.objects, strict=True):
            if not known:
                self._write(item, number, names, first)
        self._pictures.update(
            (_digest(item), number)
            for item, number in zip(laid.objects, names.objects, strict=True) if item.is_picture
        )  # fmt: skip
        pages = [names.objects[page] for page in laid.pages]
        self._pages += pages
        self._tops += [names.objects[top] for top in laid.tops]
        self._parents.append(self._parent_node(laid, names))
        self._keys += len(laid.parents)
        for target in laid.targets:
            self._targets.setdefault(target.anchor, _point(pages[target.page], target.x, target.y))
        self._bookmarks += [_entry(mark, pages) for mark in laid.bookmarks]
        self._parts += 1

    def add_blanks(self, count: int) -> None:
        """Pages of the first one's size with nothing on them but the marks for cutting."""
        boxes = "".join(f"/{name}Box[{sides}]" for name, sides in self._boxes.items())
        contents = ""
        if count and self._cut.marks:
            self._marks = self._marks or self._blank_marks()
            contents = f"/Contents {self._marks} 0 R"
        for _ in range(count):
            head = f"<</Type/Page/Parent {self._tree} 0 R/Tabs/S/Resources<<>>{boxes}{contents}>>"
            self._pages.append(self._pdf.add(_ascii(head)))

    def _blank_marks(self) -> int:
        number = self._pdf.number()
        trim = Box(*map(float, self._boxes["Trim"].split()))
        self._pdf.pack_stream(number, b"<<>>", marks_round(trim, self._cut))
        return number

    def _write(self, item: PdfObject, number: int, names: _Names, first: int) -> None:
        head = names.resolve(item.head)
        if item.stream is None:
            self._pdf.write(number, head)
            return
        data = fill(item.stream, lambda page: first + page if isinstance(page, int)
                    else self._number.get(page))  # fmt: skip
        write = self._pdf.write_stream if item.packed else self._pdf.pack_stream
        write(number, head, data)

    def _picture(self, item: PdfObject) -> int | None:
        """The number of the same picture in an earlier part."""
        return self._pictures.get(_digest(item)) if item.is_picture else None

    def _font(self, use: FontUse) -> int:
        key = use.name, use.file
        if key not in self._fonts:
            self._fonts[key] = self._pdf.number(), []
        number, uses = self._fonts[key]
        uses.append(use)
        return number

    def _parent_node(self, laid: Laid, names: _Names) -> int:
        """A leaf of the tree that leads from marked content to its elements (14.7.4.4)."""
        rows = []
        for key, parents in enumerate(laid.parents, start=self._keys):
            several = parents if isinstance(parents, tuple) else (parents,)
            shown = " ".join("null" if parent is None else f"{names.objects[parent]} 0 R"
                             for parent in several)  # fmt: skip
            rows.append(f"{key}[{shown}]" if isinstance(parents, tuple) else f"{key} {shown}")
        last = self._keys + len(laid.parents) - 1
        return self._pdf.add(_ascii(f"<</Limits[{self._keys} {last}]/Nums[{' '.join(rows)}]>>"))

    # --- what a document has once -------------------------------------------------------------

    def close(self, whole: Whole, subset: Callable[[FontUse], bytes]) -> None:
        pdf = self._pdf
        for number, uses in self._fonts.values():
            use = united(uses)
            write_font(pdf, number, use, subset(use))
        pdf.write(self._tree, _ascii(
            f"<</Type/Pages/Count {len(self._pages)}/Kids[{_references(self._pages)}]>>"
        ))  # fmt: skip
        labels = _page_labels(whole.front_pages, len(self._pages), whole.cover is not None)
        catalog = pdf.add(_ascii(
            f"<</Type/Catalog/Pages {self._tree} 0 R/Lang {self._language}"
            f"/PageLabels {labels}{self._outline()}{self._names()}"
            f"/StructTreeRoot {self._structure()} 0 R"
            f"/MarkInfo<</Marked true>>/ViewerPreferences<</DisplayDocTitle true>>{self._claims(whole.variant)}>>"
        ))  # fmt: skip
        pdf.close(catalog, pdf.add(_ascii(self._info)))

    def _claims(self, variant: str) -> str:
        """What says of which kind the document is (`builder.press.variants`)."""
        if variant == PLAIN:
            return ""
        metadata = self._pdf.number()
        language = self._language.strip("()")
        self._pdf.write_stream(metadata, b"<</Type/Metadata/Subtype/XML>>",
                               xmp(self._about, language, variant))  # fmt: skip
        if variant != ARCHIVE:
            return f"/Metadata {metadata} 0 R"
        colours = self._pdf.number()
        self._pdf.pack_stream(colours, b"<</N 3>>", colour_profile())
        return (f"/Metadata {metadata} 0 R/OutputIntents[<</Type/OutputIntent/S/GTS_PDFA1"
                f"/OutputConditionIdentifier({COLOURS})/Info({COLOURS})"
                f"/DestOutputProfile {colours} 0 R>>]")  # fmt: skip

    def _structure(self) -> int:
        """The root of the structure (14.7.2): one document, which holds what the parts hold."""
        parents = self._pdf.add(_ascii(f"<</Kids[{_references(self._parents)}]>>"))
        root = self._pdf.number()
        self._pdf.write(self._document, _ascii(
            f"<</Type/StructElem/S/Document/P {root} 0 R/K[{_references(self._tops)}]>>"
        ))  # fmt: skip
        self._pdf.write(root, _ascii(
            f"<</Type/StructTreeRoot/K[{self._document} 0 R]/ParentTree {parents} 0 R"
            f"/ParentTreeNextKey {self._keys}>>"
        ))  # fmt: skip
        return root

    def _names(self) -> str:
        """The named destinations (12.3.2.3), sorted as a reader looks for them."""
        if not self._targets:
            return ""
        rows = sorted((_bytes(anchor), point) for anchor, point in self._targets.items())
        shown = "".join(f"<{name.hex()}>{point}" for name, point in rows)
        return f"/Names<</Dests<</Names[{shown}]>>>>"

    def _outline(self) -> str:
        """The outline (12.3.3)."""
        if not self._bookmarks:
            return ""
        root = self._pdf.number()
        first, last, count = self._outline_level(self._bookmarks, root)
        self._pdf.write(root, _ascii(f"<</Type/Outlines/First {first} 0 R/Last {last} 0 R/Count {count}>>"))
        return f"/Outlines {root} 0 R"

    def _outline_level(self, entries: Iterable[_Entry], parent: int) -> tuple[int, int, int]:
        """The numbers of the first and the last of the entries, and how many are to be seen."""
        numbered = [(self._pdf.number(), entry) for entry in entries]
        seen = len(numbered)
        for at, (number, entry) in enumerate(numbered):
            written = f"<</Title {_text(entry.title)}/Dest{entry.point}/Parent {parent} 0 R"
            if at:
                written += f"/Prev {numbered[at - 1][0]} 0 R"
            if at + 1 < len(numbered):
                written += f"/Next {numbered[at + 1][0]} 0 R"
            if entry.children:
                first, last, count = self._outline_level(entry.children, number)
                written += f"/First {first} 0 R/Last {last} 0 R/Count {-count if entry.closed else count}"
                seen += 0 if entry.closed else count
            self._pdf.write(number, _ascii(written + ">>"))
        return numbered[0][0], numbered[-1][0], seen


class _Names:
    """What the tokens of one part stand for."""

    def __init__(self, part: int, tree: int, document: int, keys: int) -> None:
        self.objects: list[int] = []
        self.fonts: dict[str, int] = {}
        self._part = part
        self._tree = tree
        self._document = document
        self._keys = keys

    def resolve(self, text: str) -> bytes:
        return _ascii(TOKEN.sub(self._one, text))

    def _one(self, found: re.Match[str]) -> str:
        kind, name = found.groups()
        match kind:
            case "R":
                return f"{self.objects[int(name)]} 0 R"
            case "F":
                return f"{self.fonts[name]} 0 R"
            case "P":
                return f"{self._tree} 0 R"
            case "D":
                return f"{self._document} 0 R"
            case "K":
                return str(self._keys + int(name))
            case _:
                return str(self._part)


def _digest(item: PdfObject) -> bytes:
    found = sha256(item.head.encode("latin-1"))
    for piece in item.stream or ():
        found.update(piece if isinstance(piece, bytes) else b"")
    return found.digest()


def _page_labels(front_pages: int, pages: int, is_covered: bool) -> str:
    """Page labels (12.4.2), so that a reader's page box says what is printed. A cover's pages are
    C1 to C4, as the trade calls them (common practice, no source)."""
    leaf = COVER_PAGES // 2 if is_covered else 0
    roman = f"{leaf}<</S/r>>" if front_pages else ""
    inside = f"{roman}{leaf + front_pages}<</S/D>>"
    if not is_covered:
        return f"<</Nums[{inside}]>>"
    return f"<</Nums[0<</P(C)/S/D>>{inside}{pages - leaf}<</P(C)/S/D/St {leaf + 1}>>]>>"


def _entry(mark: Bookmark, pages: list[int]) -> _Entry:
    children = tuple(_entry(child, pages) for child in mark.children)
    return _Entry(mark.title, _point(pages[mark.page], mark.x, mark.y), mark.closed, children)


def _point(page: int, x: float, y: float) -> str:
    return f"[{page} 0 R/XYZ {_length(x)} {_length(y)} 0]"


def _length(points: float) -> str:
    return f"{points:.2f}".rstrip("0").rstrip(".")


def _references(numbers: Iterable[int]) -> str:
    return " ".join(f"{number} 0 R" for number in numbers)


def _bytes(text: str) -> bytes:
    """A text string (7.9.2.2)."""
    return text.encode("ascii") if text.isascii() else BOM_UTF16_BE + text.encode("utf-16-be")


def _text(text: str) -> str:
    return f"<{_bytes(text).hex()}>"


def _ascii(text: str) -> bytes:
    return text.encode("latin-1")
