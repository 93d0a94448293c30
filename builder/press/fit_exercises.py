"""Exercises on as few sheets as they fit on, each solution behind its task."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from builder.press.weasy import Spot
from builder.render.handouts.arrange import Heights, arrange
from builder.render.handouts.exercise_sheets import (
    ROW_GAP, SIZES, FittedExercises, ShownExercise, column_choices, galley_html,
    solution_anchor, solution_end, task_anchor, task_end,
)  # fmt: skip
from builder.render.handouts.paper import GALLEY_HEIGHT, Paper
from builder.settings import PrintSettings

# Lays out a galley and tells where its anchors stand.
Measure: TypeAlias = Callable[[str], Mapping[str, Spot]]


@dataclass(frozen=True, slots=True)
class TooHigh:
    """What fits on no sheet, even in the smallest type: its indexes."""

    indexes: tuple[int, ...]


def fit_exercises(paper: Paper, shown: Sequence[ShownExercise], page: PrintSettings,
                  measure: Measure) -> FittedExercises | TooHigh:  # fmt: skip
    """The largest type in which every solution fits, then the fewest sheets, then the widest
    columns."""
    high: set[int] = set(range(len(shown)))
    for size in SIZES:
        found: list[FittedExercises] = []
        for columns in column_choices(page.width, page.height):
            heights = _heights(measure(galley_html(paper, shown, columns, size)), len(shown))
            sheets = arrange(heights, columns.count, columns.room, ROW_GAP)
            if sheets is not None:
                found.append(FittedExercises(columns, size, sheets))
            high &= {index for index, cell in enumerate(heights) if cell.both > columns.room}
        if found:
            return min(found, key=lambda one: len(one.sheets))
    return TooHigh(tuple(sorted(high)))


def _heights(spots: Mapping[str, Spot], count: int) -> tuple[Heights, ...]:
    def between(first: str, last: str) -> float:
        start, end = spots[first], spots[last]
        return (end.page - start.page) * GALLEY_HEIGHT + end.top - start.top

    return tuple(Heights(between(task_anchor(index), task_end(index)),
                         between(solution_anchor(index), solution_end(index)))
                 for index in range(count))  # fmt: skip
