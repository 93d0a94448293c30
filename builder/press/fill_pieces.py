"""What a page break can't part, read from a document's laid out pages.

In: WeasyPrint's page boxes. Out: one `Piece` after another, for `builder.press.fill`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

_FORCED = frozenset({"page", "left", "right", "recto", "verso"})
_MOVABLE = frozenset({"diagram", "abreast"})


@dataclass(slots=True)
class Piece:
    """What a page break can't part otherwise than between its `lines`, whose heights these are.

    `margin` is the space over it that goes at a page's top, `padding` what stays there. `notes`
    is the height of the notes that it brings to the page's foot, `rows` are the heights of a table's,
    `head` is that of the head which it has on its further pages too. Heights are CSS pixels.
    """

    element: Any
    lines: list[float]
    margin: float
    padding: float
    keep_before: bool
    forced: bool
    orphans: int = 2
    widows: int = 2
    keep_after: bool = False
    movable: bool = False
    notes: float = 0.0
    rows: tuple[float, ...] = ()
    head: float = 0.0

    @property
    def height(self) -> float:
        return self.margin + self.padding + sum(self.lines) + self.notes


class Reading:
    """Walks through a document's pages' boxes."""

    def __init__(self, pages: Sequence[Any]) -> None:
        self._pages = pages
        self._margins: list[float] = []
        self._padding = 0.0
        self._keep = self._forced = False
        self._last: Piece | None = None
        self._read = 0  # boxes of pieces so far
        self._begun: set[int] = set()  # the elements whose boxes have begun, by their ids
        self._bottom = 0.0  # of the page
        self.heights: list[float] = []  # of the columns, where the text stands in columns

    def pieces(self) -> Iterator[Piece]:
        for page in self._pages:
            notes = dict(_notes(page))
            self._bottom = page.content_box_y() + page.height
            for piece in self._walk(page.children[0]):
                inside = (notes.get(one, 0.0) for one in piece.element.iter())
                piece.notes = sum(inside) if notes else 0.0
                yield piece

    def _walk(self, box: Any) -> Iterator[Piece]:
        """The pieces that begin in a box. One that was parted before gets its further lines."""
        style, read = box.style, self._read
        if box.is_column:
            self.heights.append(self._bottom - box.content_box_y())
        if box.element is None or id(box.element) not in self._begun:
            self._begun.add(id(box.element))
            self._margins.append(_pixels(style["margin_top"]))
            self._keep |= style["break_before"] == "avoid"
            self._forced |= style["break_before"] in _FORCED
        lines = [child for child in box.children if type(child).__name__ == "LineBox"]
        whole = style["break_inside"] == "avoid"
        if whole or lines or box.is_table_wrapper:
            self._read += 1
            heights = [box.border_height()] if whole else [line.height for line in lines]
            goes_on = self._last is not None and self._last.element is box.element
            if not whole and not lines:  # a table that may be parted between rows
                heads, rows = _rows(box)
                heights = rows if goes_on else heads + rows
                self._padding += 0.0 if goes_on else _caption(box)
            if self._last is not None and goes_on:
                self._last.lines.extend(heights)
            else:
                yield self._piece(box, heights)
        else:
            self._padding += _pixels(style["padding_top"])
            for child in box.children:
                if child.is_in_normal_flow() and hasattr(child, "children"):
                    yield from self._walk(child)
            self._padding += _pixels(style["padding_bottom"])
        self._margins.append(_pixels(style["margin_bottom"]))
        # What has nothing in it, as the anchor of a line, keeps nothing before it.
        if self._last is not None and self._read > read and style["break_after"] == "avoid":
            self._last.keep_after = True
        self._forced |= style["break_after"] in _FORCED

    def _piece(self, box: Any, lines: list[float]) -> Piece:
        margins = [0.0, *self._margins]
        classes = set(box.element.get("class", "").split())
        heads, rows = _rows(box)
        piece = Piece(
            box.element, lines, max(margins) + min(margins), self._padding, self._keep,
            self._forced,
            box.style["orphans"], box.style["widows"],
            keep_after=False, movable=bool(classes & _MOVABLE), rows=(*heads, *rows),
            head=sum(heads),
        )  # fmt: skip
        self._margins, self._padding = [], 0.0
        self._keep = self._forced = False
        self._last = piece
        return piece


def _notes(page: Any) -> Iterator[tuple[Any, float]]:
    """The notes at a page's foot, with their heights."""
    for area in page.children[1:]:
        if type(area).__name__ == "FootnoteAreaBox":
            for note in area.children:
                yield note.element, note.margin_height()


def _rows(box: Any) -> tuple[list[float], list[float]]:
    """The heights of a table's rows, those of its head before the others; nothing for what isn't
    one. A head stands on every page."""
    heads: list[float] = []
    rows: list[float] = []
    table = box if box.is_table_wrapper else next(iter(box.children), None)
    if getattr(table, "is_table_wrapper", False):
        for group in table.descendants():
            if type(group).__name__ == "TableRowGroupBox":
                heights = heads if group.is_header else rows
                heights.extend(row.border_height() for row in group.children)
    return heads, rows


def _caption(wrapper: Any) -> float:
    """The height of what stands over or under a table."""
    return sum(float(box.margin_height()) for box in wrapper.children
               if type(box).__name__ == "TableCaptionBox")  # fmt: skip


def _pixels(length: Any) -> float:
    value = getattr(length, "value", length)
    return float(value) if isinstance(value, int | float) else 0.0
