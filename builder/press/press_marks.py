"""Marks beside the pages that tell where to fold and where to cut.

In: the grid of a sheet's side. Out: PDF drawing operators, or nothing where the sheet has no room.
Marks stand off the pages, so that none is left when a fold or a cut is a little out (common
practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator

from builder.press.geometry import POINTS, Box, Grid
from builder.press.plan import Binding

OFF = 3 * POINTS  # from the pages; a bleed of 3 mm ends there
LONGEST = 5 * POINTS
SHORTEST = 1.5 * POINTS


def press_marks(grid: Grid, binding: Binding) -> str:
    """Lines at the corners of the pages' block; dashed ones where it is folded in the middle;
    lines between the cells where they are cut apart. Empty where nothing fits."""
    folded, cut = binding is Binding.BOOKLET, binding is Binding.STACK
    block, inner = grid.block, range(1, grid.across)
    between = [block.left + column * grid.cell.width for column in inner]
    solid = list(_upright([block.left, block.right, *(between if cut else ())], grid))
    rows = [block.top - row * grid.cell.height for row in range(1, grid.down)]
    solid += _level([block.bottom, block.top, *(rows if cut else ())], grid)
    dashed = list(_upright(between, grid)) if folded else []
    if not solid and not dashed:
        return ""
    return (f"q 0 G 0.5 w\n{''.join(map(_line, solid))}[3 2] 0 d\n"
            f"{''.join(map(_line, dashed))}Q\n")  # fmt: skip


def _upright(places: list[float], grid: Grid) -> Iterator[Box]:
    """Above and below the block, at each of these places across."""
    room = grid.block.bottom - OFF
    if room >= SHORTEST:
        length = min(room, LONGEST)
        for x in places:
            yield Box(x, grid.block.bottom - OFF - length, x, grid.block.bottom - OFF)
            yield Box(x, grid.block.top + OFF, x, grid.block.top + OFF + length)


def _level(places: list[float], grid: Grid) -> Iterator[Box]:
    """Left and right of the block, at each of these heights."""
    room = grid.block.left - OFF
    if room >= SHORTEST:
        length = min(room, LONGEST)
        for y in places:
            yield Box(grid.block.left - OFF - length, y, grid.block.left - OFF, y)
            yield Box(grid.block.right + OFF, y, grid.block.right + OFF + length, y)


def _line(line: Box) -> str:
    return f"{line.left:.3f} {line.bottom:.3f} m {line.right:.3f} {line.top:.3f} l S\n"
