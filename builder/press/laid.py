"""A part that is laid out: its PDF objects as data, ready to be joined with those of others.

Objects are numbered from 0. Their text is PDF syntax in which `token` stands where the joined
document's numbers will; streams are bytes beside it. `encode` and `decode` are the form in which
a part goes from one process to another and into the store.
"""

from __future__ import annotations

import json
import re
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from builder.press.numbers import Content, Digits, Hole
from builder.press.variants import About

TOKEN = re.compile("\x01([A-Z])([^\x01]*)\x01")


def token(kind: str, name: object = "") -> str:
    """What stands for an object of the joined document: `R` and a number for one of the part's
    own, `F` and a name for a font, `K` and a number for a key of the tree of parents, `P` for the
    tree of pages, `D` for the root of the structure."""
    return f"\x01{kind}{name}\x01"


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An entry of the outline: it leads to a point on a page of the part, counted from 0."""

    title: str
    page: int
    x: float
    y: float
    closed: bool
    children: tuple[Bookmark, ...]


@dataclass(frozen=True, slots=True)
class Target:
    """An anchor: a point, in PDF units, on a page of the part."""

    anchor: str
    page: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class FontUse:
    """What a part uses of a font whose file is TrueType: glyphs with their text and widths.

    `name` is WeasyPrint's resource name, `file` the SHA-256 of the font's file.
    """

    name: str
    file: str
    base_font: str
    family: str
    flags: int
    ascent: int
    descent: int
    text: Mapping[int, str]
    widths: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class PdfObject:
    """`head` is its dictionary, or the whole object where it is no stream."""

    head: str
    stream: Content | None = None
    packed: bool = False  # whether `stream` is what the head's filters made

    @property
    def is_picture(self) -> bool:
        """Whether it is a picture that says the same in any part."""
        return self.packed and "/Image" in self.head and not TOKEN.search(self.head)


@dataclass(frozen=True, slots=True)
class Laid:
    """`pages` are the numbers of the page objects; `tops` those of the structure's elements that
    are not in another; `parents` those of the elements, by keys of the tree of parents, a list of
    them for each page (None for what became an artifact) and one for each annotation behind the
    pages."""

    pages: tuple[int, ...]
    objects: tuple[PdfObject, ...]
    tops: tuple[int, ...]
    parents: tuple[tuple[int | None, ...] | int, ...]
    targets: tuple[Target, ...]
    bookmarks: tuple[Bookmark, ...]
    fonts: tuple[FontUse, ...]
    info: str
    language: str
    about: About = About()


@dataclass(frozen=True, slots=True)
class Extent:
    """What others want to know of a part: its pages, the page of each anchor counted from 0, the
    files that it was made from, by address with their SHA-256, and the SHA-256 of the fonts' files
    that are to be made for all parts."""

    pages: int
    page_of: Mapping[str, int]
    files: Mapping[str, str]
    fonts: Sequence[str]


def encode(laid: Laid, files: Mapping[str, str]) -> bytes:
    """As bytes, which `extent` and `decode` read."""
    page_of = {one.anchor: one.page for one in laid.targets}
    fonts = [one.file for one in laid.fonts]
    shown = [len(laid.pages), page_of, dict(files), fonts]
    front = json.dumps(shown, separators=(",", ":")).encode("ascii")
    return len(front).to_bytes(4, "big") + front + _encode(laid)


def extent(data: bytes) -> Extent:
    return Extent(*json.loads(data[4 : _front(data)]))


def _front(data: bytes) -> int:
    return 4 + int.from_bytes(data[:4], "big")


def _encode(laid: Laid) -> bytes:
    body = bytearray()

    def piece(one: bytes | Hole) -> list[Any] | int:
        if isinstance(one, Hole):
            return [one.page, one.places, one.digits.glyphs, one.digits.widths]
        body.extend(one)
        return len(one)

    objects = [
        [one.head, None if one.stream is None else [piece(part) for part in one.stream], one.packed]
        for one in laid.objects
    ]
    rest = {
        "pages": laid.pages, "tops": laid.tops, "parents": laid.parents, "info": laid.info,
        "language": laid.language, "about": asdict(laid.about), "objects": objects,
        "targets": [[one.anchor, one.page, one.x, one.y] for one in laid.targets],
        "bookmarks": [asdict(one) for one in laid.bookmarks],
        "fonts": [asdict(one) for one in laid.fonts],
    }  # fmt: skip
    head = json.dumps(rest, separators=(",", ":")).encode("ascii")
    return zlib.compress(len(head).to_bytes(4, "big") + head + body, 3)


def decode(data: bytes) -> Laid:
    """The part."""
    plain = zlib.decompress(data[_front(data) :])
    start = 4 + int.from_bytes(plain[:4], "big")
    rest = json.loads(plain[4:start])
    at = start

    def piece(one: Any) -> bytes | Hole:
        nonlocal at
        if isinstance(one, int):
            at += one
            return plain[at - one : at]
        page, places, glyphs, widths = one
        return Hole(page, places, Digits(tuple(glyphs), tuple(widths)))

    objects = tuple(
        PdfObject(head, None if stream is None else tuple(map(piece, stream)), packed)
        for head, stream, packed in rest["objects"]
    )
    return Laid(
        tuple(rest["pages"]), objects, tuple(rest["tops"]),
        tuple(one if isinstance(one, int) else tuple(one) for one in rest["parents"]),
        tuple(Target(*one) for one in rest["targets"]), tuple(map(_bookmark, rest["bookmarks"])),
        tuple(map(_font, rest["fonts"])), rest["info"], rest["language"],
        About(**rest["about"]),
    )  # fmt: skip


def _bookmark(found: dict[str, Any]) -> Bookmark:
    children = tuple(map(_bookmark, found["children"]))
    return Bookmark(found["title"], found["page"], found["x"], found["y"], found["closed"], children)


def _font(found: dict[str, Any]) -> FontUse:
    by_glyph = {name: {int(glyph): value for glyph, value in found[name].items()}
                for name in ("text", "widths")}  # fmt: skip
    return FontUse(**{**found, **by_glyph})
