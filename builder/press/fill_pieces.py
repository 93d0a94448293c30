"""What a page break can't part, read from a document's laid out pages.

In: WeasyPrint's page boxes. Out: one `Piece` after another, for `builder.press.fill`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

_FORCED = frozenset({"page", "left", "right", "recto", "verso"})
_MOVABLE = frozenset({"diagram", "abreast"})


@dataclass(frozen=True, slots=True)
class Line:
    """What no page break parts: a line, a row of a table, or all of what stands whole.

    `notes` is the height of the notes that it brings to the page's foot, `kept` says that no page
    begins with it. Heights are CSS pixels.
    """

    height: float
    notes: float = 0.0
    kept: bool = False


@dataclass(slots=True)
class Piece:
    """What a page break can't part otherwise than between its `lines`.

    `margin` is the space over it that goes at a page's top, `padding` what stays there. `rows` are
    those of a table, `head` is the height of the head which it has on its further pages too.
    """

    element: Any
    lines: list[Line]
    margin: float
    padding: float
    keep_before: bool
    forced: bool
    orphans: int = 2
    widows: int = 2
    keep_after: bool = False
    movable: bool = False
    rows: tuple[Line, ...] = ()
    head: float = 0.0

    @property
    def height(self) -> float:
        return self.height_of(len(self.lines))

    def height_of(self, lines: int) -> float:
        """With so many of its lines."""
        return self.margin + self.padding + sum(one.height + one.notes for one in self.lines[:lines])


@dataclass(frozen=True, slots=True)
class Room:
    """What a page or column holds. `noted`: there are notes at its foot, and `height` is without
    them. A note in the second of two columns shortens both: that is its `number`."""

    height: float
    noted: bool = False
    number: int = 1


@dataclass(frozen=True, slots=True)
class _Space:
    """Space over a piece. `below` is the element that it stands below, if it does."""

    margin: float
    padding: float
    below: Any = None


class Reading:
    """Walks through a document's pages' boxes."""

    def __init__(self, pages: Sequence[Any]) -> None:
        self._pages = pages
        self._above: list[_Space] = []  # what the next piece has over it
        self._keep = self._forced = False
        self._last: Piece | None = None
        self._made = self._read = 0  # pieces and boxes of pieces so far
        self._begun: set[int] = set()  # the elements whose boxes have begun, by their ids
        self._bottom = self._foot = 0.0  # of the page; the height of its notes
        self._number = 0  # of the column
        self._notes: dict[int, float] = {}  # heights of the page's notes, by their elements' ids
        self.over_notes = 0.0  # the height of what stands over a page's notes
        self.columns: list[Room] = []  # where the text stands in columns
        self.before = 0  # pieces that stand over the first column

    def pieces(self) -> Iterator[Piece]:
        for page in self._pages:
            self._bottom = page.content_box_y() + page.height
            self._notes, self._foot, self._number = {}, 0.0, 0
            for area in page.children[1:]:
                if type(area).__name__ == "FootnoteAreaBox" and area.children:
                    self._notes = {id(note.element): note.margin_height() for note in area.children}
                    self._foot = area.margin_height()
                    self.over_notes = self._foot - sum(self._notes.values())
            yield from self._walk(page.children[0])

    def _walk(self, box: Any) -> Iterator[Piece]:
        """The pieces that begin in a box. One that was parted before gets its further lines."""
        style, read = box.style, self._read
        whole = style["break_inside"] == "avoid"
        if box.is_column:
            self.before = self.before if self.columns else self._made
            height = self._bottom - self._foot - box.content_box_y()
            self._number += 1
            self.columns.append(Room(height, self._foot > 0, self._number))
        if box.element is None or id(box.element) not in self._begun:
            self._begun.add(id(box.element))
            padding = 0.0 if whole else _pixels(style["padding_top"])
            self._above.append(_Space(_pixels(style["margin_top"]), padding))
            self._keep |= style["break_before"] == "avoid"
            self._forced |= style["break_before"] in _FORCED
        else:  # it goes on: what stands below it comes later
            self._above = [space for space in self._above if space.below is not box.element]
        boxes = [child for child in box.children if type(child).__name__ == "LineBox"]
        if whole or boxes or box.is_table_wrapper:
            self._read += 1
            goes_on = self._last is not None and self._last.element is box.element
            if whole:
                lines = [Line(box.border_height(), self._brought(box))]
            elif boxes:
                lines = [Line(line.height, self._brought(line)) for line in boxes]
            else:  # a table that may be parted between rows
                heads, rows = self._rows(box, goes_on)
                lines = rows if goes_on else heads + rows
                self._above.append(_Space(0.0, 0.0 if goes_on else _caption(box)))
            if self._last is not None and goes_on:
                self._last.lines.extend(lines)
                self._last.rows += tuple(self._rows(box, goes_on)[1])
            else:
                yield self._piece(box, lines)
        else:
            for child in box.children:
                if child.is_in_normal_flow() and hasattr(child, "children"):
                    yield from self._walk(child)
        padding = 0.0 if whole else _pixels(style["padding_bottom"])
        self._above.append(_Space(_pixels(style["margin_bottom"]), padding, box.element))
        # What has nothing in it, as the anchor of a line, keeps nothing before it.
        if self._last is not None and self._read > read and style["break_after"] == "avoid":
            self._last.keep_after = True
        self._forced |= style["break_after"] in _FORCED

    def _piece(self, box: Any, lines: list[Line]) -> Piece:
        margins = [0.0, *(space.margin for space in self._above)]
        classes = set(box.element.get("class", "").split())
        heads, rows = self._rows(box)
        piece = Piece(
            box.element, lines, max(margins) + min(margins),
            sum(space.padding for space in self._above), self._keep, self._forced,
            1 if rows else box.style["orphans"], 1 if rows else box.style["widows"],
            keep_after=False, movable=bool(classes & _MOVABLE), rows=(*heads, *rows),
            head=sum(row.height for row in heads),
        )  # fmt: skip
        self._above = []
        self._keep = self._forced = False
        self._last = piece
        self._made += 1
        return piece

    def _brought(self, box: Any) -> float:
        """The height of the notes that a box brings to the page's foot."""
        if not self._notes:
            return 0.0
        elements = {id(one.element) for one in box.descendants()}
        return sum(height for note, height in self._notes.items() if note in elements)

    def _rows(self, box: Any, goes_on: bool = False) -> tuple[list[Line], list[Line]]:
        """A table's rows, those of its head before the others; nothing for what isn't one. A head
        stands on every page."""
        heads: list[Line] = []
        rows: list[Line] = []
        table = box if box.is_table_wrapper else next(iter(box.children), None)
        if getattr(table, "is_table_wrapper", False):
            keep = not goes_on
            for group in table.descendants():
                if type(group).__name__ != "TableRowGroupBox":
                    continue
                before = group
                for row in group.children:
                    keep |= "avoid" in (before.style["break_before"], row.style["break_before"])
                    (heads if group.is_header else rows).append(
                        Line(row.border_height(), self._brought(row), keep)
                    )
                    keep, before = row.style["break_after"] == "avoid", row
                keep |= group.is_header and not goes_on
        return heads, rows


def _caption(wrapper: Any) -> float:
    """The height of what stands over or under a table."""
    return sum(float(box.margin_height()) for box in wrapper.children
               if type(box).__name__ == "TableCaptionBox")  # fmt: skip


def _pixels(length: Any) -> float:
    value = getattr(length, "value", length)
    return float(value) if isinstance(value, int | float) else 0.0
