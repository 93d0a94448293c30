"""What is wrong with laid out pages, found in the boxes of the layout.

The boxes are WeasyPrint's, in CSS pixels. What a box draws outside of itself (a board's
coordinates, letters that hang over) doesn't count, nor what is one part of a board to another.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from builder.book.make import make_booklet
from builder.faults import Faults
from builder.model import Booklet
from builder.press.kept import Kept
from builder.press.paginate import Copy
from builder.press.parts import split
from builder.press.pdf import print_theme, printed_booklet
from builder.press.themed import themed
from builder.press.weasy import Layout, Sheaf, _without_seam
from builder.settings import PAGE_SIZES
from builder.source.booklet import read_booklet

THEMES = ("book", "handout")
PAPERS = ("A5", "A4", "Letter")
_SLACK = 0.6  # pixels
_HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
_LEADING = frozenset({"summary", "hint"})  # what is no more than a heading for what follows


@dataclass(frozen=True)
class Laid:
    """A part of a booklet: WeasyPrint's page boxes."""

    booklet: Booklet
    pages: list[Any]


def lay_out(folder: Path, theme: str, page: str, language: str | None = None) -> list[Laid]:
    """The parts of the booklet in a folder."""
    faults = Faults()
    booklet, printed, press = _ready(folder, theme, page, language, faults)
    layout = Layout(press.setting(faults), faults)
    found = []
    for part in split(printed.main(), printed.frame()):
        sheaf = Sheaf(part.text(lambda _: 2), part.recto, 11, True, part.refers_to)
        with layout._log.listening():
            pages = _without_seam(layout._filled(sheaf).pages)
        found.append(Laid(booklet, [page._page_box for page in pages]))
    told = [fault.as_text() for fault in faults.sorted() if "print" in fault.code]
    assert not told, told
    return found


def print_to(folder: Path, theme: str, page: str, language: str, target: Path) -> None:
    """The same as a PDF."""
    faults = Faults()
    _, printed, press = _ready(folder, theme, page, language, faults)
    press.print_copy(Copy(printed.main(), printed.frame()), target, faults, Kept(None))


def _ready(folder: Path, theme: str, page: str, language: str | None, faults: Faults):
    source = read_booklet(folder, faults)
    assert source is not None
    settings = replace(source.settings, language=language or source.settings.language)
    booklet = make_booklet(replace(source, settings=settings), faults)
    width, height = PAGE_SIZES[page]
    chosen = print_theme(theme, folder, faults)
    assert chosen is not None
    told = replace(settings.print, theme=theme, width=width, height=height)
    printed = printed_booklet(booklet, chosen, replace(settings, print=told))
    return booklet, printed, themed(chosen, told, booklet, folder)


@dataclass(frozen=True)
class Rect:
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Rect) -> bool:
        return (min(self.right, other.right) - max(self.left, other.left) > _SLACK
                and min(self.bottom, other.bottom) - max(self.top, other.top) > _SLACK)  # fmt: skip

    def inside(self, other: Rect) -> bool:
        return (self.left >= other.left - _SLACK and self.right <= other.right + _SLACK
                and self.top >= other.top - _SLACK and self.bottom <= other.bottom + _SLACK)  # fmt: skip


@dataclass(frozen=True)
class Ink:
    """Something drawn: a text, a board or a picture."""

    kind: str
    words: str
    rect: Rect
    element: Any


def faults_of(parts: list[Laid]) -> list[str]:
    """Everything that is wrong, in words."""
    return [told for part in parts for told in (
        *_on_pages(part), *_at_page_ends(part), *_parted(part), *_rows_alone(part), *_cut_boards(part),
        *_far_from_their_moves(part), *_notes_overleaf(part), *_high_lines(part),
    )]  # fmt: skip


# --- what a page shows --------------------------------------------------------------------------


def _on_pages(part: Laid) -> Iterator[str]:
    for number, page in enumerate(part.pages):
        block = Rect(page.content_box_x(), page.content_box_y(),
                     page.content_box_x() + page.width, page.content_box_y() + page.height)  # fmt: skip
        above = replace(block, bottom=block.bottom - sum(box.margin_height() for box in _feet(page)))
        inks: list[Ink] = []
        for box in page.children:
            margin = type(box).__name__ == "MarginBox"
            found = list(_inks(box))
            for ink in found:
                limit = _rect(box) if margin else above if box is page.children[0] else block
                if margin and box.style["overflow"] == "hidden":
                    ink = replace(ink, rect=replace(ink.rect, right=limit.right))
                if not ink.rect.inside(limit):
                    yield f"page {number}: {ink.kind} {ink.words!r} is outside: {ink.rect} of {block}"
            inks += found
        for at, one in enumerate(inks):
            for other in inks[at + 1 :]:
                if one.rect.meets(other.rect) and not _one_picture(one, other):
                    yield f"page {number}: {one.words!r} and {other.words!r} overlap: {one.rect} {other.rect}"


def _one_picture(one: Ink, other: Ink) -> bool:
    return one.kind == other.kind == "svg" or {one.kind, other.kind} == {"board", "svg"}


def _feet(page: Any) -> list[Any]:
    """Where a page has its notes."""
    return [box for box in page.children if type(box).__name__ == "FootnoteAreaBox"]


def _inks(box: Any) -> Iterator[Ink]:
    """Texts in the height of their small letters; boards and pictures as a whole."""
    name = type(box).__name__
    element = box.element
    classes = (element.get("class") or "").split() if element is not None else []
    if "pboard" in classes and name == "BlockBox":
        yield Ink("board", (element.text or "")[:9], _rect(box), element)
        return
    if name == "TextBox":
        if box.text.strip():
            base = box.position_y + box.baseline
            size = box.style["font_size"]
            size = getattr(size, "value", size)
            width = box.width - (len(box.text) - len(box.text.rstrip(" "))) * size * 0.25
            yield Ink("text", box.text, Rect(box.position_x, base - size * 0.45,
                                             box.position_x + width, base), element)  # fmt: skip
        return
    if name.endswith("ReplacedBox"):
        yield Ink("svg" if element.tag.endswith("svg") else "picture", element.get("alt") or "",
                  _rect(box), element)  # fmt: skip
        return
    for child in getattr(box, "children", ()):
        yield from _inks(child)


def _rect(box: Any) -> Rect:
    x, y = box.border_box_x(), box.border_box_y()
    return Rect(x, y, x + box.border_width(), y + box.border_height())


# --- where pages end ----------------------------------------------------------------------------


def _at_page_ends(part: Laid) -> Iterator[str]:
    for number, page in enumerate(part.pages):
        lines = list(_lines(page.children[0]))
        for line, _ in lines:
            text = "".join(ink.words for ink in _inks(line)).rstrip()
            if re.search(r"(?<!\S)\d+\.(\.\.)?$", text) and "move" in _last_classes(line).split():
                yield f"page {number}: a number without its move ends the line {text!r}"
        for words in _cut_early(lines):
            yield f"page {number}: the line {words!r} ends early"
    ends = [(number, lines[0][1].element, lines[-1][1].element) for number, page in enumerate(part.pages)
            if page.page_type.name != "front"  # the contents are made up of summaries
            for column in _columns(page) if (lines := list(_lines(column)))]  # fmt: skip
    for (number, _, element), (_, after, _) in zip(ends, ends[1:], strict=False):
        if element is not None and element is not after and (element.tag in _HEADINGS or element.get("class") in _LEADING):
            yield f"page {number}: ends with the {element.get('class') or 'heading'} {''.join(element.itertext())!r}"


def _columns(page: Any) -> list[Any]:
    """A page's columns, or what it holds where it has none."""
    body = page.children[0]
    return [box for box in body.descendants() if box.is_column] or [body]


def _cut_early(lines: list[tuple[Any, Any]]) -> Iterator[str]:
    """Lines of a single word, with room for the next line's first word and a space behind it."""
    for (line, block), (after, next_block) in zip(lines, lines[1:], strict=False):
        if block is not next_block or block is None or block.element.find("br") is not None:
            continue
        inks, follow = list(_inks(line)), list(_inks(after))
        words = "".join(ink.words for ink in inks).strip()
        if not words or " " in words or not follow or follow[0].kind != "text":
            continue
        first = follow[0].words.split(" ")[0]
        taken = (follow[0].rect.right - follow[0].rect.left) * (len(first) + 1) / len(follow[0].words)
        if max(ink.rect.right for ink in inks) + taken < block.content_box_x() + block.width * 0.9:
            yield words


def _last_classes(line: Any) -> str:
    box = line
    found = ""
    while getattr(box, "children", ()):
        box = box.children[-1]
        found += " " + ((box.element.get("class") or "") if box.element is not None else "")
    return found


def _lines(box: Any, block: Any = None) -> Iterator[tuple[Any, Any]]:
    """Lines outside of boards, each with its block."""
    if type(box).__name__ == "LineBox":
        yield box, block
        return
    if box.element is not None and "pboard" in (box.element.get("class") or ""):
        return
    for child in getattr(box, "children", ()):
        yield from _lines(child, box)


def shortness(parts: list[Laid], whole: bool = False) -> tuple[int, float, int]:
    """How many columns there are on pages that another of their part follows, by how much of the
    page's height they are short on average, and how many by more than a quarter. Of `whole` pages
    the longest column counts."""
    found = [_short(page, column) for part in parts for page, after in zip(part.pages, part.pages[1:], strict=False)
             if list(_lines(after.children[0]))
             for column in (page.children[:1] if whole else _columns(page)) if list(_lines(column))]  # fmt: skip
    return len(found), sum(found) / max(1, len(found)), sum(one > 0.25 for one in found)


def _short(page: Any, column: Any) -> float:
    bottom = page.content_box_y() + page.height
    bottom -= sum(box.margin_height() for box in _feet(page))
    lowest = max(_bottom(box) for box in _lowest(column))
    return max(0.0, bottom - lowest) / page.height


def _lowest(box: Any) -> Iterator[Any]:
    if type(box).__name__ == "LineBox" or box.style["break_inside"] == "avoid":
        yield box
    else:
        for child in getattr(box, "children", ()):
            yield from _lowest(child)


def _bottom(box: Any) -> float:
    return box.position_y + box.margin_height()


def _parted(part: Laid) -> Iterator[str]:
    """Blocks that stand on two pages or more: boards never, paragraphs with two lines each."""
    spread: dict[int, list[tuple[int, Any, int]]] = {}
    for number, page in enumerate(part.pages):
        for box in _blocks(page.children[0]):
            count = sum(type(child).__name__ == "LineBox" for child in box.children)
            spread.setdefault(id(box.element), []).append((number, box, count))
    for found in spread.values():
        box = found[0][1]
        tag, classes = box.element.tag, box.element.get("class") or ""
        if len({number for number, *_ in found}) < 2:
            continue
        if tag == "figure" or "pboard" in classes or "abreast" in classes:
            yield f"pages {[number for number, *_ in found]}: {tag} {classes} is parted"
        ends = (found[0][2], found[-1][2])
        if min(ends) == 1 and box.style["orphans"] > 1 and tag not in _HEADINGS:
            yield f"page {found[0][0]}: a line alone: {''.join(box.element.itertext())[:40]!r} {ends}"


def _rows_alone(part: Laid) -> Iterator[str]:
    """Tables on two pages or more of which a page has a single row, a foot's not counted."""
    spread: dict[int, dict[int, int]] = {}
    words: dict[int, str] = {}
    for number, page in enumerate(part.pages):
        for box in page.children[0].descendants():
            if type(box).__name__ == "TableRowGroupBox" and not box.is_header and box.element.get("class") != "foot":
                rows = spread.setdefault(id(box.element), {})
                rows[number] = rows.get(number, 0) + len(box.children)
                words[id(box.element)] = " ".join(box.element.itertext())[:40]
    for table, rows in spread.items():
        if len(rows) > 1 and min(rows.values()) == 1:
            yield f"pages {[*rows]}: a row alone of the table {words[table]!r}"


def _cut_boards(part: Laid) -> Iterator[str]:
    """Boards of which lines or annotations are left out: at a page's end that is possible."""
    for number, page in enumerate(part.pages):
        seen: set[int] = set()  # the box of the board itself comes before the one of its lines
        for box in page.children[0].descendants():
            classes = (box.element.get("class") or "").split() if box.element is not None else []
            if "pboard" not in classes or type(box).__name__ != "BlockBox" or id(box.element) in seen:
                continue
            seen.add(id(box.element))
            inside = [type(one).__name__ for one in box.descendants()]
            lines, pictures = inside.count("LineBox"), sum(name.endswith("ReplacedBox") for name in inside)
            if lines != (box.element.text or "").count("\n") + 1 or pictures != len(box.element):
                yield f"page {number}: the board {(box.element.text or '')[:9]!r} has {lines} lines, {pictures} pictures"


def _high_lines(part: Laid) -> Iterator[str]:
    """Lines of paragraphs that are higher than their style says, so that those below are off."""
    for number, page in enumerate(part.pages):
        for line, block in _lines(page.children[0]):
            if block is None or block.element is None or block.element.tag != "p":
                continue
            inks, height = list(_inks(line)), block.style["line_height"]
            if all(ink.kind == "text" for ink in inks) and line.height - height.value > 0.05:
                yield f"page {number}: the line {''.join(ink.words for ink in inks)[:40]!r} is {line.height} high"


def _blocks(box: Any) -> Iterator[Any]:
    for child in getattr(box, "children", ()):
        if type(child).__name__ == "BlockBox" and child.element is not None:
            kinds = {type(one).__name__ for one in child.children}
            if "LineBox" in kinds or child.element.tag == "figure":
                yield child
        yield from _blocks(child)


def _far_from_their_moves(part: Laid) -> Iterator[str]:
    at: dict[str, int] = {}
    for number, page in enumerate(part.pages):
        for box in page.descendants():
            if box.element is not None and (name := box.element.get("id")):
                at.setdefault(name, number)
    for diagram in part.booklet.diagrams:
        if diagram.ply is None or diagram.standalone or diagram.anchor not in at:
            continue
        way = at[diagram.anchor] - at.get(diagram.ply.anchor, at[diagram.anchor])
        if way > 1:
            yield f"{diagram.anchor} is {way} pages from its move"


def _notes_overleaf(part: Laid) -> Iterator[str]:
    """Notes that begin on another page than their marks stand on."""
    marks: dict[int, int] = {}
    for number, page in enumerate(part.pages):
        body, feet = page.children[0], _feet(page)
        for box in body.descendants():
            if box.element is not None and "foot-note" in (box.element.get("class") or "").split():
                marks.setdefault(id(box.element), number)
        for note in (note for foot in feet for note in foot.children):
            if marks.get(id(note.element), number) != number:
                words = "".join(note.element.itertext())[:40]
                yield f"page {number}: the note {words!r} belongs to page {marks.pop(id(note.element))}"
