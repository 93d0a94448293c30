"""Pages that are filled: a diagram with no room under its move lets the text run on.

In: a document's laid out pages. Out: which diagrams are to come later in its tree, and behind
what, and which tables are to be parted, so that pages don't end short; whoever lays the document
out does so a second time.

A board can't be parted, and stands under its move. Where the rest of a page is too low for it, the
paragraphs that follow fill that rest, and the board comes behind them, on the next page. From a
left-hand page it comes to the facing one, with nothing to fill this one too. From a right-hand page it
would be overleaf from its move: there the page may end somewhat short instead. A table that is to stand
whole is parted where it would leave a page shorter than that.

The pages that this leads to are worked out from the heights of the first layout. Where that
is a line out, a page is a line shorter than it might be, and nothing else.

Where a last page has a few lines only, pages that are a line longer may have room for them: the
document is laid out once more with the class `longer` on its root, and stays so if that saves
the page.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from builder.press.fill_pieces import Line, Piece, Reading, Room

# A page may end short by this part of its height rather than have a diagram overleaf, or a table
# parted.
_SHORT = 0.25
_GAIN = 0.1  # of a page's height, for which a diagram opens the facing page with nothing to fill this one
_LEAST_ROWS = 5  # of a table that may be parted, the head's too: two and two of the others
# The text that a diagram waits for runs over to the next page by this part of it at most.
_OVERHANG = 0.3
_HAIR = 0.01  # pixels of rounding
LONGER = "longer"  # the class of a document whose pages have a line more; the theme gives it to them
_FEW = 0.2  # of a page's height, at most
_TAGS = frozenset({"p", "ul", "ol", "blockquote", "div"})  # what may run on in front of one


@dataclass(frozen=True, slots=True)
class Later:
    """A diagram that is to stand behind another element of the document, or where it is, but may
    open a page there."""

    element: Any
    behind: Any | None


@dataclass(frozen=True, slots=True)
class Changes:
    """What is to be other in the second layout: what comes `later`, and the elements of the tables
    that are `parted`."""

    later: Sequence[Later] = ()
    parted: Sequence[Any] = ()

    def __bool__(self) -> bool:
        return bool(self.later or self.parted)


def changes(root: Any, pages: Sequence[Any], recto: bool) -> Changes:
    """`root` is the document's element, `pages` WeasyPrint's page boxes, the first of them on the
    right where `recto` says so."""
    if not pages:
        return Changes()
    reading = Reading(pages)
    pieces = [*reading.pieces()][reading.before :]
    parents = {child: parent for parent in root.iter() for child in parent}
    rooms = reading.columns or [Room(pages[0].height)]
    return _Filling(pieces, rooms, not reading.columns, recto, parents, reading.over_notes).run()


def put(changed: Changes, root: Any) -> None:
    """Changes the document's tree; style sheets see classes, `later` and `parted`."""
    for table in changed.parted:
        table.set("class", f"{table.get('class', '')} parted")
    parents = {child: parent for parent in root.iter() for child in parent}
    for move in changed.later:
        move.element.set("class", f"{move.element.get('class', '')} later")
        if move.behind is None:
            continue
        parents[move.element].remove(move.element)
        parent = parents[move.behind]
        parent.insert(list(parent).index(move.behind) + 1, move.element)
        parents[move.element] = parent


def ends_with_few_lines(pages: Sequence[Any]) -> bool:
    """Whether another page comes before the last one, and that has so few lines, notes among
    them, and neither boards nor pictures, that others might hold them."""
    if len(pages) < 2:
        return False
    body, *around = pages[-1].children
    boxes = [*body.descendants()]
    if any(type(box).__name__.endswith("ReplacedBox") or box.element is not None and box.element.tag == "figure"
           for box in boxes):  # fmt: skip
        return False
    ends = [box.position_y + box.height for box in boxes if type(box).__name__ == "LineBox"]
    used = max(ends, default=body.position_y) - body.position_y
    used += sum(box.margin_height() for box in around if type(box).__name__ == "FootnoteAreaBox")
    return 0 < used <= pages[-1].height * _FEW


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
    way. `rooms` are the pages' or columns', the last one for all after it; on `spreads` a right-hand
    page has its end overleaf."""

    pieces: list[Piece]
    rooms: list[Room]
    spreads: bool
    opens_recto: bool
    parents: Mapping[Any, Any]
    over_notes: float = 0.0  # the height of what stands over a page's notes
    moves: list[Later] = field(default_factory=list)
    moved: set[int] = field(default_factory=set)
    parted: list[Any] = field(default_factory=list)
    room: Room = Room(0.0)  # this page's
    noted: bool = False  # this page has a note

    def run(self) -> Changes:
        piece = line = 0
        recto = self.spreads and self.opens_recto
        number = 0
        while piece < len(self.pieces):
            if number and line == 0 and self.pieces[piece].forced:
                recto = self.spreads  # what breaks a page begins on a right-hand one
            self.room = self.rooms[min(number, len(self.rooms) - 1)]
            piece, line = self._page(piece, line, recto)
            recto = self.spreads and not recto
            number += 1
        return Changes(self.moves, self.parted)

    def _page(self, piece: int, line: int, recto: bool) -> tuple[int, int]:
        """Fills a page from there on; where the next one begins."""
        first, used, self.noted = piece, 0.0, False
        ends: list[_Break] = []
        while piece < len(self.pieces):
            one = self.pieces[piece]
            if piece > first:
                if one.forced:
                    return piece, 0
                if not (one.keep_before or self.pieces[piece - 1].keep_after):
                    ends.append(_Break(piece, 0, used))
            top = used + (one.padding if line == 0 else one.head)
            top += one.margin if piece > first else 0.0
            full, bottom = self._lines(piece, line, top, ends, at_top=piece == first)
            if full < len(one.lines):
                if one.movable and piece > first and self._run_on(piece, used, ends, recto):
                    continue
                if piece > first and self._part(one, ends):
                    continue
                return self._end(ends, piece, full)
            used = bottom
            piece, line = piece + 1, 0
        return piece, 0

    def _lines(self, piece: int, start: int, top: float, ends: list[_Break],
               at_top: bool) -> tuple[int, float]:  # fmt: skip
        """How many lines of the piece have come when the page is full, and the height until then."""
        one = self.pieces[piece]
        for number, line in enumerate(one.lines[start:], start):
            bottom = top + line.height + self._notes(line)
            if bottom > self.room.height + _HAIR and not (at_top and number == start):
                return number, top
            top = bottom
            self.noted |= line.notes > 0
            after = number + 1
            if ((start or after >= one.orphans) and len(one.lines) - after >= one.widows
                    and not one.lines[after].kept):  # fmt: skip
                ends.append(_Break(piece, after, top))
        return len(one.lines), top

    def _notes(self, line: Line) -> float:
        """What a line's notes take of the page."""
        if self.room.noted or not line.notes:
            return 0.0
        return (line.notes + (0.0 if self.noted else self.over_notes)) * self.room.number

    def _end(self, ends: list[_Break], piece: int, line: int) -> tuple[int, int]:
        if ends:
            return ends[-1].piece, ends[-1].line
        return piece, line

    def _part(self, table: Piece, ends: list[_Break]) -> bool:
        """Lets a table begin on a page that it is too high for, if else much of it stays empty. One
        that is too high for any page was cut although it is to stand whole: it may have few rows."""
        short = self.room.height - (ends[-1].used if ends else 0.0)
        least = _LEAST_ROWS if len(table.lines) == 1 else len(table.lines) + 1
        if len(table.rows) < least or short < self.room.height * _SHORT:
            return False
        table.padding += max(0.0, table.lines[0].height - sum(row.height for row in table.rows))
        table.lines, table.rows = list(table.rows), ()
        self.parted.append(table.element)
        return True

    def _run_on(self, piece: int, used: float, ends: list[_Break], recto: bool) -> bool:
        """Lets what follows a diagram run on in front of it, if that helps, or lets it open the facing
        page by itself, so that what it is kept with stays here."""
        one = self.pieces[piece]
        short = self.room.height - (ends[-1].used if ends else used)
        if id(one) in self.moved or short < (self.room.height * _SHORT if recto else one.lines[0].height * 0.2):
            return False
        count, behind = self._runner(piece, used)
        if behind is None and (recto or not ends or used - ends[-1].used < self.room.height * _GAIN):
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
            room = self.room.height - used
            height = sum(one.height for one in part)
            if height > room and not (
                _begins_in(part[0], room) and height < room + self.room.height * _OVERHANG
            ):
                break
            count, behind, used = count + len(part), element, used + height
            if used >= self.room.height:
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
    return here + piece.widows <= len(piece.lines) and piece.height_of(here) <= room
