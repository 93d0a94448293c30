"""A job for the press: which layout, on which sheet, turned on which edge.

In: what a user asked for, and the size of the pages. Out: the same with its open questions
answered, and the grid that the pages go into.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum

from builder.press import geometry
from builder.press.geometry import Grid, PageShape, Size
from builder.press.plan import Binding, Turn

THICK = 20  # sheets nested in one another that still fold and staple; common practice, no source
INCH_PAGES = (Size(612.0, 792.0), Size(396.0, 612.0))  # Letter and its half, in points


class Layout(Enum):
    """How pages go on a sheet."""

    BOOKLET = "booklet"  # folded and stitched
    ONE = "one"
    TWO = "two"
    FOUR = "four"
    STACK = "stack"  # cut apart, piles laid on each other


# The ways, across by down, that a layout may choose from.
_WAYS = {
    Layout.BOOKLET: ((2, 1),),
    Layout.ONE: ((1, 1),),
    Layout.TWO: ((2, 1), (1, 2)),
    Layout.FOUR: ((2, 2),),
    Layout.STACK: ((2, 2), (2, 1), (1, 2)),
}
_BINDINGS = {Layout.BOOKLET: Binding.BOOKLET, Layout.STACK: Binding.STACK}


@dataclass(frozen=True, slots=True)
class Job:
    """What to lay out how.

    `sheet` is a name in `geometry.SHEETS`, empty for what offices have. `turn` is the edge that
    the printer turns sheets on, None for the one that leaves the backs upright. `signature` is
    the number of sheets folded together, 0 for all. `thickness` is the paper's, in millimetres:
    about 0.1 for office paper of 80 g/m² (common practice, no source).
    """

    layout: Layout = Layout.BOOKLET
    sheet: str = ""
    turn: Turn | None = None
    signature: int = 0
    thickness: float = 0.1
    marks: bool = False

    @property
    def binding(self) -> Binding:
        return _BINDINGS.get(self.layout, Binding.SHEET)


def settled(job: Job, page: Size) -> tuple[Grid, Job]:
    """The grid for pages of that size, and the job with its sheet and turn chosen."""
    name = job.sheet or natural_sheet(page)
    sheet = geometry.sheet_size(name)
    ways = _WAYS[job.layout]
    if job.layout is Layout.STACK and geometry.best_grid(page, sheet, ways[:1]).scale < 1:
        ways = ways[1:]  # four to a sheet only where they need no scaling
    grid = geometry.best_grid(page, sheet, ways)
    upright = Turn.SHORT if grid.is_wide else Turn.LONG
    return grid, replace(job, sheet=name, turn=job.turn or upright)


def natural_sheet(page: Size) -> str:
    """What lies in an office's printer: Letter where pages are Letter or its half, else A4."""
    inches = any(page.is_about(size) or page.is_about(size.lying) for size in INCH_PAGES)
    return "Letter" if inches else "A4"


def largest(shapes: Iterable[PageShape]) -> Size:
    """The size that holds every page."""
    sizes = [shape.size for shape in shapes]
    return Size(max(size.width for size in sizes), max(size.height for size in sizes))
