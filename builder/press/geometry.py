"""Sheets of paper, boxes on them, and the maps from one to the other.

Paper is measured in millimetres, everything inside a PDF in points (1/72 inch; ISO 32000-1,
8.3.2.3), with the origin at the lower left and y upwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import hypot
from types import MappingProxyType
from typing import Any

POINTS = 72 / 25.4  # in a millimetre

# Millimetres, upright. A3, A4, B4: ISO 216. SRA3, SRA4: ISO 217. Letter, Tabloid (lying wide
# also called Ledger): ANSI/ASME Y14.1, sizes A and B (8.5 x 11 in, 11 x 17 in).
SHEETS: Mapping[str, tuple[float, float]] = MappingProxyType({
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "B4": (250.0, 353.0),
    "SRA4": (225.0, 320.0),
    "SRA3": (320.0, 450.0),
    "Letter": (215.9, 279.4),
    "Tabloid": (279.4, 431.8),
    "Ledger": (279.4, 431.8),
})  # fmt: skip
OVERHANG = 1.0 * POINTS  # what a page may be too large for a sheet without being made smaller


@dataclass(frozen=True, slots=True)
class Size:
    """Width and height in points."""

    width: float
    height: float

    @property
    def lying(self) -> Size:
        """A quarter turn of it."""
        return Size(self.height, self.width)

    def is_about(self, other: Size, within: float = OVERHANG) -> bool:
        return abs(self.width - other.width) <= within and abs(self.height - other.height) <= within


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in points, `left` ≤ `right` and `bottom` ≤ `top`."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def size(self) -> Size:
        return Size(self.right - self.left, self.top - self.bottom)

    @property
    def is_empty(self) -> bool:
        return self.right <= self.left or self.top <= self.bottom

    def within(self, other: Box) -> Box:
        """What both share; an empty box where they share nothing."""
        left, bottom = max(self.left, other.left), max(self.bottom, other.bottom)
        return Box(left, bottom, max(left, min(self.right, other.right)),
                   max(bottom, min(self.top, other.top)))  # fmt: skip

    def grown(self, by: float) -> Box:
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def holds(self, other: Box) -> bool:
        return (self.left <= other.left and self.bottom <= other.bottom
                and other.right <= self.right and other.top <= self.top)  # fmt: skip


def box_of(points: Iterable[tuple[float, float]]) -> Box:
    """The smallest box round some points. Raises ValueError when there are none."""
    across, up = zip(*points, strict=True)
    return Box(min(across), min(up), max(across), max(up))


@dataclass(frozen=True, slots=True)
class Matrix:
    """x' = ax + cy + e, y' = bx + dy + f: the six numbers as PDF writes them (8.3.3)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def then(self, next_: Matrix) -> Matrix:
        """This map first, `next_` after it."""
        return Matrix(
            self.a * next_.a + self.b * next_.c, self.a * next_.b + self.b * next_.d,
            self.c * next_.a + self.d * next_.c, self.c * next_.b + self.d * next_.d,
            self.e * next_.a + self.f * next_.c + next_.e,
            self.e * next_.b + self.f * next_.d + next_.f,
        )  # fmt: skip

    def point(self, x: float, y: float) -> tuple[float, float]:
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    def box(self, box: Box) -> Box:
        """The smallest box round the image of `box`."""
        sides = ((x, y) for x in (box.left, box.right) for y in (box.bottom, box.top))
        return box_of(self.point(x, y) for x, y in sides)

    @property
    def across(self) -> float:
        """How long a horizontal length of 1 becomes."""
        return hypot(self.a, self.b)

    @property
    def up(self) -> float:
        """How long a vertical length of 1 becomes."""
        return hypot(self.c, self.d)


def moved(x: float, y: float) -> Matrix:
    return Matrix(e=x, f=y)


def scaled(by: float) -> Matrix:
    return Matrix(a=by, d=by)


# A page's /Rotate turns it clockwise as it is shown (ISO 32000-1, table 30).
_QUARTERS = (Matrix(), Matrix(0, -1, 1, 0), Matrix(-1, 0, 0, -1), Matrix(0, 1, -1, 0))


@dataclass(frozen=True, slots=True)
class PageShape:
    """A page as it is meant to be cut.

    `size` is that of the trimmed page as it is shown. `upright` maps the page's own space to
    one in which the trimmed page is upright with its lower left corner at the origin; in that
    space `bleed` is the box of what may be printed. `own_bleed` is the same in the page's own.
    """

    size: Size
    bleed: Box
    upright: Matrix
    own_bleed: Box


def page_shape(page: Any) -> PageShape:
    """The shape of a page of pypdf.

    The page is cut at its trim box, else its crop box, else its media box; what lies outside
    the bleed box (else the trim box) is not printed (ISO 32000-1, 14.11.2). Boxes that are
    upside down or reach out of the media box are put right.
    """
    media = _box(page, "/MediaBox") or Box(0.0, 0.0, 612.0, 792.0)
    crop = (_box(page, "/CropBox") or media).within(media)
    if crop.is_empty:
        crop = media
    trim = (_box(page, "/TrimBox") or crop).within(media)
    if trim.is_empty:
        trim = crop
    bleed = (_box(page, "/BleedBox") or trim).within(media)
    if not bleed.holds(trim):
        bleed = trim
    unit = float(page.get("/UserUnit", 1.0))
    turn = _QUARTERS[int(page.get("/Rotate", 0) or 0) // 90 % 4]
    turned = turn.then(scaled(unit if unit > 0 else 1.0))
    cut = turned.box(trim)
    upright = turned.then(moved(-cut.left, -cut.bottom))
    return PageShape(cut.size, upright.box(bleed), upright, bleed)


def _box(page: Any, name: str) -> Box | None:
    """A page's own or inherited box; None where it has none, or none with a surface."""
    values = page.get(name)
    if values is None or len(values) != 4:
        return None
    x, y, other_x, other_y = (float(value) for value in values)
    box = box_of(((x, y), (other_x, other_y)))
    return None if box.is_empty else box


@dataclass(frozen=True, slots=True)
class Grid:
    """The places of one side of a sheet: `across` by `down` cells that touch one another,
    together in the middle of the sheet. `scale` is what pages are made smaller by."""

    sheet: Size
    across: int
    down: int
    cell: Size
    scale: float

    @property
    def is_wide(self) -> bool:
        return self.sheet.width > self.sheet.height

    @property
    def block(self) -> Box:
        """All cells together."""
        width, height = self.across * self.cell.width, self.down * self.cell.height
        left, bottom = (self.sheet.width - width) / 2, (self.sheet.height - height) / 2
        return Box(left, bottom, left + width, bottom + height)

    def box(self, row: int, column: int) -> Box:
        """A cell; rows count from the top."""
        left = self.block.left + column * self.cell.width
        top = self.block.top - row * self.cell.height
        return Box(left, top - self.cell.height, left + self.cell.width, top)


def best_grid(page: Size, sheet: Size, ways: Iterable[tuple[int, int]]) -> Grid:
    """The grid that needs least scaling, of those `across` by `down` in `ways`.

    Pages are never made larger. Where several need the same, the earlier way wins, on a sheet
    that lies if the cells together lie.
    """
    grids: list[Grid] = []
    for across, down in ways:
        block = Size(across * page.width, down * page.height)
        papers = (sheet.lying, sheet) if block.width > block.height else (sheet, sheet.lying)
        grids += [_grid(page, across, down, paper) for paper in papers]
    return max(grids, key=lambda grid: grid.scale)


def _grid(page: Size, across: int, down: int, sheet: Size) -> Grid:
    wide, tall = across * page.width, down * page.height
    fits = wide <= sheet.width + OVERHANG and tall <= sheet.height + OVERHANG
    scale = 1.0 if fits else min(sheet.width / wide, sheet.height / tall)
    return Grid(sheet, across, down, Size(page.width * scale, page.height * scale), scale)


def sheet_size(name: str) -> Size:
    """A sheet's size in points, upright. Raises KeyError for a name not in SHEETS."""
    width, height = SHEETS[name]
    return Size(width * POINTS, height * POINTS)
