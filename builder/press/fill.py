"""Pages that are filled: a diagram with no room under its move lets the text run on.

In: a document's laid out pages. Out: which diagrams are to come later in its tree, and behind
what, so that pages don't end short; whoever lays the document out does so a second time.

A board can't be parted, and stands under its move. Where the rest of a page is too low for it,
the paragraphs that follow fill that rest, and the board comes behind them, on the next page.
From a left-hand page it comes to the facing one. From a right-hand page it would be overleaf
from its move: there the page may end somewhat short instead.

The pages that this leads to are worked out from the heights of the first layout. Where that
is a line out, a page is a line shorter than it might be, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

# A page may end short by this part of its height rather than have a diagram overleaf.
_SHORT_RECTO = 0.25
# The text that a diagram waits for runs over to the next page by this part of it at most.
_OVERHANG = 0.3
_FORCED = frozenset({"page", "left", "right", "recto", "verso"})
_HAIR = 0.01  # pixels of rounding
_MOVABLE = frozenset({"diagram", "abreast"})
_TAGS = frozenset({"p", "ul", "ol", "blockquote", "div"})  # what may run on in front of one


@dataclass(slots=True)
class Piece:
    """What a page break can't part otherwise than between its `lines`, whose heights these are.

    `margin` is the space over it that goes at a page's top, `padding` what stays there. `notes`
    is the height of the notes that it brings to the page's foot. Heights are CSS pixels.
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

    @property
    def height(self) -> float:
        return self.margin + self.padding + sum(self.lines) + self.notes


@dataclass(frozen=True, slots=True)
class Later:
    """An element of the document that is to stand behind another."""

    element: Any
    behind: Any


def later_diagrams(root: Any, pages: Sequence[Any], recto: bool) -> list[Later]:
    """`root` is the document's element, `pages` WeasyPrint's page boxes, the first of them on the
    right where `recto` says so."""
    if not pages:
        return []
    reading = _Reading(pages)
    pieces = list(reading.pieces())
    parents = {child: parent for parent in root.iter() for child in parent}
    heights = reading.heights or [pages[0].height]
    return _Filling(pieces, heights, not reading.heights, recto, parents).run()


def put(moves: Iterable[Later], root: Any) -> None:
    """Changes the document's tree."""
    parents = {child: parent for parent in root.iter() for child in parent}
    for move in moves:
        parents[move.element].remove(move.element)
        parent = parents[move.behind]
        parent.insert(list(parent).index(move.behind) + 1, move.element)
        parents[move.element] = parent
        move.element.set("class", f"{move.element.get('class', '')} later")


# --- the first layout, read -------------------------------------------------------------------


class _Reading:
    """Walks through the pages' boxes."""

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
        whole = style["break_inside"] == "avoid" or box.is_table_wrapper
        if whole or lines:
            self._read += 1
            heights = [box.border_height()] if whole else [line.height for line in lines]
            if self._last is not None and self._last.element is box.element:
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
        piece = Piece(
            box.element, lines, max(margins) + min(margins), self._padding, self._keep,
            self._forced,
            box.style["orphans"], box.style["widows"],
            keep_after=False, movable=bool(classes & _MOVABLE),
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


def _pixels(length: Any) -> float:
    value = getattr(length, "value", length)
    return float(value) if isinstance(value, int | float) else 0.0


# --- the second layout, foreseen --------------------------------------------------------------


@dataclass(slots=True)
class _Break:
    """A place where a page may end: before a line of a piece, the page being `used` so far."""

    piece: int
    line: int
    used: float


@dataclass(slots=True)
class _Filling:
    """Fills page after page, or column after column. `pieces` are put into a new order on the
    way. `heights` are the pages', the last one's for all after it; on `spreads` a right-hand
    page has its end overleaf."""

    pieces: list[Piece]
    heights: list[float]
    spreads: bool
    opens_recto: bool
    parents: Mapping[Any, Any]
    moves: list[Later] = field(default_factory=list)
    moved: set[int] = field(default_factory=set)
    height: float = 0.0  # of this page

    def run(self) -> list[Later]:
        piece = line = 0
        recto = self.spreads and self.opens_recto
        number = 0
        while piece < len(self.pieces):
            if number and line == 0 and self.pieces[piece].forced:
                recto = self.spreads  # what breaks a page begins on a right-hand one
            self.height = self.heights[min(number, len(self.heights) - 1)]
            piece, line = self._page(piece, line, recto)
            recto = self.spreads and not recto
            number += 1
        return self.moves

    def _page(self, piece: int, line: int, recto: bool) -> tuple[int, int]:
        """Fills a page from there on; where the next one begins."""
        first, used = piece, 0.0
        ends: list[_Break] = []
        while piece < len(self.pieces):
            one = self.pieces[piece]
            if piece > first:
                if one.forced:
                    return piece, 0
                if not (one.keep_before or self.pieces[piece - 1].keep_after):
                    ends.append(_Break(piece, 0, used))
            top = used + one.notes + (one.padding if line == 0 else 0.0)
            top += one.margin if piece > first else 0.0
            full = self._lines(piece, line, top, ends, at_top=piece == first)
            if full is not None:
                if one.movable and piece > first and self._run_on(piece, used, ends, recto):
                    continue
                return self._end(ends, piece, full)
            used = top + sum(one.lines[line:])
            piece, line = piece + 1, 0
        return piece, 0

    def _lines(self, piece: int, start: int, top: float, ends: list[_Break],
               at_top: bool) -> int | None:  # fmt: skip
        """The first line that the page has no room for; None if it has room for all."""
        one = self.pieces[piece]
        for line in range(start, len(one.lines)):
            if top + one.lines[line] > self.height + _HAIR and not (at_top and line == start):
                return line
            top += one.lines[line]
            rest = len(one.lines) - line - 1
            if (start or line + 1 >= one.orphans) and rest >= one.widows:
                ends.append(_Break(piece, line + 1, top))
        return None

    def _end(self, ends: list[_Break], piece: int, line: int) -> tuple[int, int]:
        if ends:
            return ends[-1].piece, ends[-1].line
        return piece, line

    def _run_on(self, piece: int, used: float, ends: list[_Break], recto: bool) -> bool:
        """Lets what follows a diagram run on in front of it, if that helps."""
        one = self.pieces[piece]
        short = self.height - (ends[-1].used if ends else used)
        if id(one) in self.moved or short < (self.height * _SHORT_RECTO if recto else one.lines[0] * 0.2):
            return False
        count, behind = self._runner(piece, used)
        if behind is None:
            return False
        self.pieces[piece : piece + 1 + count] = [*self.pieces[piece + 1 : piece + 1 + count], one]
        self.moves.append(Later(one.element, behind))
        self.moved.add(id(one))
        one.keep_before = False
        return True

    def _runner(self, piece: int, used: float) -> tuple[int, Any]:
        """How many of the pieces behind a diagram fill the page, and the element they end with."""
        count, behind = 0, None
        for element in self._followers(self.pieces[piece].element):
            inside = set(element.iter())
            part = []
            for one in self.pieces[piece + 1 + count :]:
                if one.element not in inside:
                    break
                part.append(one)
            if not part:
                continue
            if any(one.movable or one.keep_after or one.forced for one in part):
                break
            if self._belongs_to_next(piece + count + len(part)):
                break
            room = self.height - used
            height = sum(one.height for one in part)
            if height > room and not (
                _begins_in(part[0], room) and height < room + self.height * _OVERHANG
            ):
                break
            count, behind, used = count + len(part), element, used + height
            if used >= self.height:
                break
        return count, behind

    def _belongs_to_next(self, piece: int) -> bool:
        """Whether this is the move of the next diagram, say: what is too short to be parted."""
        one, after = self.pieces[piece], self.pieces[piece + 1 : piece + 2]
        return len(one.lines) < one.orphans + one.widows and any(
            other.movable and other.keep_before for other in after
        )

    def _followers(self, element: Any) -> Iterator[Any]:
        """The elements that come after, out of its line and its variations up to the chapter."""
        while True:
            parent = self.parents[element]
            siblings = list(parent)
            for sibling in siblings[siblings.index(element) + 1 :]:
                if sibling.tag not in _TAGS and sibling.tag != "span":
                    return
                yield sibling
            if not {"line", "variation"} & set(parent.get("class", "").split()):
                return
            element = parent


def _begins_in(piece: Piece, room: float) -> bool:
    """Whether a page with so much room can hold the piece's first lines and no more."""
    here = piece.orphans
    return (
        here + piece.widows <= len(piece.lines)
        and piece.height - sum(piece.lines[here:]) <= room
    )
