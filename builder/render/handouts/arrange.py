"""Exercises on sheets of paper, so that each solution lies behind its task.

In: how high each task and each solution is in a column. Out: rows that hold both, on as few
sheets as there can be. Nothing here knows HTML.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_MOST_SLACK = 14.0  # mm that a row may be higher than it need be, on a sheet that isn't full


@dataclass(frozen=True, slots=True)
class Heights:
    """Of one exercise's task and of its solution, in mm."""

    task: float
    solution: float

    @property
    def both(self) -> float:
        return max(self.task, self.solution)


@dataclass(frozen=True, slots=True)
class Row:
    """Exercises side by side: `first` is the first one's index. Lengths in mm; `top` is
    counted from the upper edge of the room that a sheet has for rows."""

    first: int
    count: int
    top: float
    height: float


@dataclass(frozen=True, slots=True)
class ExerciseSheet:
    rows: tuple[Row, ...]


def arrange(heights: Sequence[Heights], columns: int, room: float,
            gap: float) -> tuple[ExerciseSheet, ...] | None:  # fmt: skip
    """The sheets for exercises in `columns`, with rows `gap` apart in `room` (mm); None where
    something is higher than the room."""
    sheets: list[list[tuple[int, int, float]]] = []
    left = -1.0
    for first in range(0, len(heights), columns):
        cells = heights[first : first + columns]
        height = max(cell.both for cell in cells)
        if height > room:
            return None
        if height > left:
            sheets.append([])
            left = room
        sheets[-1].append((first, len(cells), height))
        left -= height + gap
    return tuple(_spread(rows, room, gap) for rows in sheets)


def _spread(rows: Sequence[tuple[int, int, float]], room: float, gap: float) -> ExerciseSheet:
    """Gives what room is left to the gaps, within reason."""
    spare = room - sum(height for _, _, height in rows) - gap * (len(rows) - 1)
    slack = min(_MOST_SLACK, spare / len(rows))
    placed: list[Row] = []
    top = 0.0
    for first, count, height in rows:
        placed.append(Row(first, count, top, height + slack))
        top += height + slack + gap
    return ExerciseSheet(tuple(placed))
