"""Where pages go on sheets: imposition as a plan, before any PDF is touched.

In: a number of pages and a way to bind or cut them. Out: sheets with a front and a back, each a
grid of cells that hold a page or nothing. The backs are given as somebody sees them who turns the
sheet over on the edge that the printer turns it on.

How signatures fold and stacks are cut is common practice, no source; `tests/press/test_plan.py`
folds and cuts the plans in simulation.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum


class Binding(Enum):
    """How the sheets become a booklet."""

    BOOKLET = "booklet"  # folded in the middle, nested, stitched through the fold
    SHEET = "sheet"  # pages side by side in reading order
    STACK = "stack"  # cut apart, the stacks laid on each other


class Turn(Enum):
    """The edge on which the printer turns a sheet over."""

    SHORT = "short"
    LONG = "long"


@dataclass(frozen=True, slots=True)
class Cell:
    """A place on one side of a sheet.

    `page` counts from 0, None leaves it blank. `creep` counts the sheets that lie outside this
    one in its signature: so many paper thicknesses the page moves towards the fold, and
    `fold_right` tells that the fold is at the page's right.
    """

    page: int | None
    creep: int = 0
    fold_right: bool = False


@dataclass(frozen=True, slots=True)
class Side:
    """Rows from the top, each of cells from the left; `turned` prints it upside down."""

    rows: tuple[tuple[Cell, ...], ...]
    turned: bool = False

    def cells(self) -> Iterator[tuple[int, int, Cell]]:
        """Row, column and cell of each place."""
        for row, cells in enumerate(self.rows):
            for column, cell in enumerate(cells):
                yield row, column, cell


@dataclass(frozen=True, slots=True)
class Sheet:
    front: Side
    back: Side


def plan(pages: int, binding: Binding, turn: Turn, *, across: int = 2, down: int = 1,
         signature: int = 0, wide: bool | None = None) -> tuple[Sheet, ...]:  # fmt: skip
    """The sheets for `pages` pages.

    `across` and `down` are the pages on a side (a booklet always has two across). `signature`
    is the number of sheets nested in one another, 0 for all. `wide` tells whether the sheet lies
    wide; not told, it does when more pages stand across it than down. Raises ValueError for
    numbers that make no sheets.
    """
    if pages < 1 or across < 1 or down < 1 or signature < 0:
        raise ValueError("a plan needs pages, and places for them")
    if binding is Binding.BOOKLET:
        sheets = tuple(_booklet(pages, signature))
    elif binding is Binding.STACK:
        sheets = tuple(_stack(pages, across, down))
    else:
        sheets = tuple(_side_by_side(pages, across, down))
    # A wide sheet's short edges are left and right, and turning it on them shows the back
    # upright.
    upright = Turn.SHORT if (across > down if wide is None else wide) else Turn.LONG
    return sheets if turn is upright else tuple(_turned(sheet) for sheet in sheets)


def padded(pages: int, multiple: int) -> int:
    """The next number from `pages` on that `multiple` divides."""
    return -(-pages // multiple) * multiple


def _turned(sheet: Sheet) -> Sheet:
    return Sheet(sheet.front, Side(sheet.back.rows, turned=True))


def _booklet(pages: int, signature: int) -> Iterator[Sheet]:
    """Signatures one after another; each is 4 pages a sheet, the last as short as it can be."""
    total = padded(pages, 4)
    size = 4 * signature if signature else total
    for start in range(0, total, size):
        end = min(start + size, total)
        for depth in range((end - start) // 4):
            low, high = start + 2 * depth, end - 1 - 2 * depth
            front = _pair(high, low, pages, depth)
            back = _pair(low + 1, high - 1, pages, depth)
            yield Sheet(Side((front,)), Side((back,)))


def _pair(left: int, right: int, pages: int, depth: int) -> tuple[Cell, Cell]:
    return (
        Cell(left if left < pages else None, depth, fold_right=True),
        Cell(right if right < pages else None, depth, fold_right=False),
    )


def _side_by_side(pages: int, across: int, down: int) -> Iterator[Sheet]:
    """Page after page, fronts and backs alike: for reading, not for binding."""
    size = across * down
    for start in range(0, padded(pages, 2 * size), 2 * size):
        sides = [
            Side(tuple(
                tuple(_cell(first + row * across + column, pages) for column in range(across))
                for row in range(down)
            ))
            for first in (start, start + size)
        ]  # fmt: skip
        yield Sheet(*sides)


def _stack(pages: int, across: int, down: int) -> Iterator[Sheet]:
    """Leaves (a page and its back) so spread that the cut stacks follow one another.

    Behind a leaf's front lies its back, so the columns of a back run from the right.
    """
    leaves = padded(pages, 2) // 2
    places = across * down
    sheets = -(-leaves // places)
    for sheet in range(sheets):
        front: list[tuple[Cell, ...]] = []
        back: list[tuple[Cell, ...]] = []
        for row in range(down):
            leaf = [(row * across + column) * sheets + sheet for column in range(across)]
            front.append(tuple(_cell(2 * number, pages) for number in leaf))
            back.append(tuple(_cell(2 * number + 1, pages) for number in reversed(leaf)))
        yield Sheet(Side(tuple(front)), Side(tuple(back)))


def _cell(page: int, pages: int) -> Cell:
    return Cell(page if page < pages else None)
