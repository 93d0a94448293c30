"""What WeasyPrint made of a part, taken as data: its PDF objects before they are written.

WeasyPrint hands a finisher the objects of `pydyf`, its writer of PDF syntax, in which references
are bytes like `12 0 R`. The objects that only a whole document has (catalog, tree of pages, root
of the structure, names, outline) stay behind; `builder.press.join` makes those.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from typing import Any
from urllib.parse import unquote

from builder.press.laid import Bookmark, FontUse, Laid, PdfObject, Target, token
from builder.press.numbers import Content, tidy
from builder.press.parts import ELSEWHERE
from builder.press.pdf_file import pack
from builder.press.variants import About

_REFERENCE = re.compile(rb"(\d+) 0 R")
_TOO_LARGE = re.compile(rb"(?=.*(?:(?<![\d.])\d{11}|nan|inf))[-.\d naif]+ [A-Za-z*]{1,3}")
_PRINTED = 4  # a flag of annotations, which archives ask for (ISO 19005-2, 6.3.2)
_SCALE = 0.75  # PDF's points in a pixel of CSS


def take(document: Any, pdf: Any, contents: Mapping[int, Content],
         files: Mapping[str, bytes]) -> Laid:  # fmt: skip
    """The part that is drawn in `pdf`, a `pydyf.PDF`.

    `contents` gives, by the identity of a stream, the content with holes for its numbers; `files`
    the whole files of the fonts by WeasyPrint's names for them.
    """
    return _Taker(document, pdf, contents, files).laid()


class _Taker:
    def __init__(self, document: Any, pdf: Any, contents: Mapping[int, Content],
                 files: Mapping[str, bytes]) -> None:  # fmt: skip
        self._document = document
        self._pdf = pdf
        self._contents = contents
        self._fonts = {one.name: one for one in _font_uses(document.fonts.values(), files)}
        self._structure = self._at(self._at(pdf.catalog["StructTreeRoot"])["K"][0])
        page = self._at(pdf.page_references[0])
        self._font_table = self._at(self._at(page["Resources"])["Font"])
        self._number: dict[int, int] = {}  # ours, by pydyf's
        self._waiting: list[Any] = []

    def laid(self) -> Laid:
        for item in self._pdf.objects:
            if isinstance(item, dict) and item.get("Type") == "/Annot":
                _lead_elsewhere(item)
                item["F"] = _PRINTED
        pages = [self._ours(reference) for reference in self._pdf.page_references]
        index = {reference: number for number, reference in enumerate(self._pdf.page_references)}
        nums = self._at(self._at(self._pdf.catalog["StructTreeRoot"])["ParentTree"])["Nums"]
        parents = [
            tuple(map(self._element, one)) if isinstance(one, list) else self._ours(one)
            for one in nums[1::2]
        ]
        tops = [self._ours(reference) for reference in self._structure["K"]]
        objects: list[PdfObject] = []
        while len(objects) < len(self._waiting):  # more join on the way
            objects.append(self._object(self._waiting[len(objects)]))
        names = self._pdf.catalog.get("Names", {}).get("Dests", {}).get("Names", [])
        return Laid(
            pages=tuple(pages),
            objects=tuple(objects),
            tops=tuple(tops),
            parents=tuple(parents),
            targets=tuple(
                Target(name.string, index[page], x, y)
                for name, (page, _, x, y, _) in zip(names[::2], names[1::2], strict=True)
            ),
            bookmarks=tuple(map(_bookmark, self._document.make_bookmark_tree(_SCALE, True))),
            fonts=tuple(self._fonts.values()),
            info=self._text(self._pdf.info),
            language=self._text(self._pdf.catalog["Lang"]),
            about=_about(self._document.metadata, self._pdf.info),
        )

    def _element(self, reference: bytes | None) -> int | None:
        """Our number for the element that marked content belongs to; None for an artifact."""
        return None if reference is None else self._ours(reference)

    def _at(self, reference: bytes) -> Any:
        """The object that a reference names."""
        found = _REFERENCE.fullmatch(reference)
        assert found, reference
        return self._pdf.objects[int(found[1])]

    def _ours(self, reference: bytes) -> int:
        """Our number for the object, which is taken when its turn comes."""
        item = self._at(reference)
        if item.number not in self._number:
            self._number[item.number] = len(self._waiting)
            self._waiting.append(item)
        return self._number[item.number]

    # --- objects ------------------------------------------------------------------------------

    def _object(self, item: Any) -> PdfObject:
        if not hasattr(item, "stream"):
            return PdfObject(self._text(item))
        if hasattr(item, "_resources"):  # a drawing; pictures and fonts have none
            _refuse_too_large(item.stream)
        if id(item) in self._contents:
            return PdfObject(self._text(item.extra), self._contents[id(item)])
        data = stream_bytes(item.stream)
        if item.compress:
            extra = {**item.extra, "Filter": "/FlateDecode"}
            return PdfObject(self._text(extra), (pack(data),), True)
        return PdfObject(self._text(item.extra), (data,), True)

    def _text(self, value: Any) -> str:
        return "".join(self._syntax(value))

    def _syntax(self, value: Any) -> Iterator[str]:
        """PDF syntax (ISO 32000-1, 7.3)."""
        if isinstance(value, dict):
            is_fonts = value is self._font_table
            yield "<<"
            for key, inner in value.items():
                yield f"/{key} "
                if is_fonts and key in self._fonts:
                    yield token("F", key)
                elif key in ("StructParents", "StructParent"):
                    yield token("K", inner)
                elif key in ("ID", "Headers"):
                    yield from self._cell_names(inner)
                else:
                    yield from self._syntax(inner)
            yield ">>"
        elif isinstance(value, list | tuple):
            yield "["
            for number, inner in enumerate(value):
                yield " " if number else ""
                yield from self._syntax(inner)
            yield "]"
        elif isinstance(value, bytes) and _REFERENCE.fullmatch(value):
            yield self._reference(value)
        else:
            yield _atom(value)

    def _reference(self, reference: bytes) -> str:
        item = self._at(reference)
        if item is self._pdf.pages:
            return token("P")
        if item is self._structure:
            return token("D")
        return token("R", self._ours(reference))

    def _cell_names(self, value: Any) -> Iterator[str]:
        """WeasyPrint names the cells that head others; the names are made the part's own."""
        if isinstance(value, list):
            yield "["
            for inner in value:
                yield from self._cell_names(inner)
            yield "]"
        else:
            yield f"({token('T')}-{value.string})"


def _about(metadata: Any, info: Any) -> About:
    return About(
        metadata.title or "", ", ".join(metadata.authors), metadata.generator or "",
        info["Producer"].string, metadata.created or "", metadata.modified or "",
    )  # fmt: skip


def _atom(value: Any) -> str:
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else f"{value:.4f}".rstrip("0").rstrip(".")
    if hasattr(value, "data"):
        return value.data.decode("latin-1").replace("\x01", "\\001")
    if isinstance(value, bytes):
        return value.decode("latin-1")
    return str(value)


def stream_bytes(items: Sequence[Any]) -> bytes:
    """The content of a stream of pydyf's."""
    return b"\n".join(
        tidy(item) if isinstance(item, bytes)
        else item.data if hasattr(item, "data") else _atom(item).encode("latin-1")
        for item in items
    )


def _refuse_too_large(operators: Sequence[Any]) -> None:
    """Raises ValueError where an operator has a number that no reader takes (ISO 32000-1, annex C.2), as
    a style sheet may compute it: the document would be broken from there on."""
    for operator in operators:
        if isinstance(operator, bytes) and _TOO_LARGE.fullmatch(operator):
            raise ValueError("a number in what is drawn is too large for a PDF")


def _lead_elsewhere(annotation: Any) -> None:
    """A link to another part is to an address outside for WeasyPrint; in the joined document it
    is to a named destination."""
    import pydyf

    action = annotation.get("A")
    address = action.get("URI") if action else None
    if address is not None and str(address.string).startswith(ELSEWHERE):
        anchor = unquote(str(address.string).removeprefix(ELSEWHERE))
        del annotation["A"]
        annotation["Dest"] = pydyf.String(anchor)


def _bookmark(found: Any) -> Bookmark:
    title, (page, x, y), children, state = found
    return Bookmark(title, page, x, y, state == "closed", tuple(map(_bookmark, children)))


def _font_uses(fonts: Iterator[Any], files: Mapping[str, bytes]) -> Iterator[FontUse]:
    """The fonts that can be made anew for the whole document; the others stay as they are."""
    same: dict[str, list[Any]] = {}
    for font in fonts:
        same.setdefault(font.hash, []).append(font)
    for name, several in same.items():
        if not all(_is_plain(font, files.get(name, b"")) for font in several):
            continue
        first = several[0]
        yield FontUse(
            name, sha256(files[name]).hexdigest(), first.name.decode("latin-1"), first.family,
            first.flags, first.ascent, first.descent,
            {glyph: text for font in several for glyph, text in font.to_unicode.items()},
            {glyph: width for font in several for glyph, width in font.widths.items()},
        )  # fmt: skip


def _is_plain(font: Any, file: bytes) -> bool:
    """Whether its file is TrueType without variations, pictures and missing glyphs."""
    special = font.bitmap or font.png or font.svg or font.colr or font.missing or font.used_in_forms
    return not special and "fvar" not in font.tables and file[:4] in (b"\0\1\0\0", b"true")
