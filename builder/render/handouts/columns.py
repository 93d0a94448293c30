"""Rows of a known height in the columns of one page.

In: how high each row is, and which must not be parted from the next. Out: which rows stand in
which column. Nothing here knows HTML.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_STEPS = 12  # of halving, from a page to a fraction of a line


@dataclass(frozen=True, slots=True)
class Strip:
    """A row: its height in mm, and whether the next one must follow in the same column."""

    height: float
    keep: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """Rows `first` to `end`, the latter excluded."""

    first: int
    end: int
    height: float


def balanced(strips: Sequence[Strip], count: int, room: float) -> tuple[Column, ...] | None:
    """The rows in `count` columns as low as can be; None where they need more than `room` mm."""
    best = _filled(strips, count, room)
    if best is None:
        return None
    low, high = 0.0, room
    for _ in range(_STEPS):
        middle = (low + high) / 2
        found = _filled(strips, count, middle)
        if found is None:
            low = middle
        else:
            best, high = found, middle
    return best


def _filled(strips: Sequence[Strip], count: int, room: float) -> tuple[Column, ...] | None:
    """The rows in columns of that height, one filled after the other."""
    columns: list[Column] = []
    first, height, index = 0, 0.0, 0
    while index < len(strips):
        end = _kept_end(strips, index)
        block = sum(strip.height for strip in strips[index:end])
        if block > room:
            return None
        if height + block > room:
            columns.append(Column(first, index, height))
            first, height = index, 0.0
        height += block
        index = end
    columns.append(Column(first, len(strips), height))
    return tuple(columns) if len(columns) <= count else None


def _kept_end(strips: Sequence[Strip], index: int) -> int:
    """Behind the last row that must stand with the one at `index`."""
    while index < len(strips) - 1 and strips[index].keep:
        index += 1
    return index + 1
