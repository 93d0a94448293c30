"""Exercise sheets: tasks in front, each solution behind its task.

In: exercises, and where they lie. Out: HTML, a side of a sheet a page; and the galley that the
heights are measured on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from builder.draw import layout
from builder.model import Block, Diagram, Exercise, Paragraph, Picture
from builder.render import lines, prose
from builder.render.handouts.arrange import ExerciseSheet, Row
from builder.render.handouts.paper import MARGIN, Box, Paper
from builder.render.medium import Context

GALLEY_TEMPLATE = "galley.html"
TEMPLATE = "exercises.html"

_HEADER = 15.0
_COLUMN_GAP = 9.0
ROW_GAP = 6.0
_LEAST_COLUMN = 55.0
_MOST_SQUARE = 6.5
_STACKED_SQUARE = 5.8  # three rows of boards with words below them go on A4
_BESIDE = 80.0  # a column of this width has room for words beside the board
_BOARD_SHARE = 0.66
# Type sizes in points, the first that all solutions fit in.
SIZES = (10.0, 9.0, 8.0, 7.0)


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of an exercise sheet; lengths in mm."""

    count: int
    width: float
    room: float

    @property
    def beside(self) -> bool:
        """Whether the words stand beside the board."""
        return self.width >= _BESIDE

    @property
    def square(self) -> float:
        if self.beside:
            return min(_MOST_SQUARE, _BOARD_SHARE * self.width / layout.WIDTH)
        return min(_STACKED_SQUARE, self.width / layout.WIDTH)

    def box(self, row: Row, column: int) -> Box:
        return Box(MARGIN + column * (self.width + _COLUMN_GAP), MARGIN + _HEADER + row.top,
                   self.width, row.height)  # fmt: skip


@dataclass(frozen=True, slots=True)
class FittedExercises:
    """How exercises lie on their sheets; `size` of the type is in points."""

    columns: Columns
    size: float
    sheets: tuple[ExerciseSheet, ...]


def column_choices(width: float, height: float) -> tuple[Columns, ...]:
    """The columns that a page of that size (mm) can have, the widest first; two or three on A4,
    where one would waste the paper."""
    inner = width - 2 * MARGIN
    most = max(1, int((inner + _COLUMN_GAP) // (_LEAST_COLUMN + _COLUMN_GAP)))
    return tuple(
        Columns(count, (inner - (count - 1) * _COLUMN_GAP) / count,
                height - 2 * MARGIN - _HEADER)
        for count in range(min(most, max(1, most - 1)), most + 1)
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class ShownExercise:
    """An exercise ready for the templates. `wide` tells that its task holds more than words, and
    can't stand beside the board."""

    number: int
    board: Markup
    task: Markup
    solution: Markup
    wide: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """Where an exercise lies in front, and its solution behind."""

    exercise: ShownExercise
    front: Box
    back: Box


def shown_exercises(paper: Paper, exercises: Sequence[Exercise]) -> tuple[ShownExercise, ...]:
    return tuple(_shown(paper, exercise) for exercise in exercises)


def _shown(paper: Paper, exercise: Exercise) -> ShownExercise:
    at = Context(paper.medium, exercise.chapter)
    return ShownExercise(
        exercise.number, paper.medium.board(exercise.diagram), prose.blocks(exercise.task, at),
        lines.line(exercise.solution, at),
        wide=not all(_is_words(block) for block in exercise.task),
    )  # fmt: skip


def _is_words(block: Block) -> bool:
    return isinstance(block, Paragraph) and not any(
        isinstance(node, Diagram | Picture) for node in block.inlines
    )


def task_anchor(index: int) -> str:
    """The anchor over a task on the galley; the others likewise."""
    return f"task-{index}"


def task_end(index: int) -> str:
    return f"task-end-{index}"


def solution_anchor(index: int) -> str:
    return f"solution-{index}"


def solution_end(index: int) -> str:
    return f"solution-end-{index}"


def galley_html(paper: Paper, shown: Sequence[ShownExercise], columns: Columns,
                size: float) -> str:  # fmt: skip
    """Every task and every solution, `columns.width` wide, between two anchors."""
    return paper.text(
        GALLEY_TEMPLATE, paper.medium.words.exercises, shown=shown, columns=columns, size=size,
        task_anchor=task_anchor, task_end=task_end, solution_anchor=solution_anchor,
        solution_end=solution_end,
    )  # fmt: skip


def exercises_html(paper: Paper, shown: Sequence[ShownExercise], fitted: FittedExercises,
                   turned: bool, chapter: Markup) -> str:  # fmt: skip
    """The sheets, fronts and backs by turns; `turned` prints the backs upside down. `chapter`
    is the title of the one chapter that the exercises are from, else empty."""
    return paper.text(
        TEMPLATE, paper.medium.words.exercises, columns=fitted.columns, size=fitted.size,
        turned=turned, chapter=chapter,
        sheets=tuple(_cells(shown, fitted.columns, sheet) for sheet in fitted.sheets),
    )  # fmt: skip


def _cells(shown: Sequence[ShownExercise], columns: Columns,
           sheet: ExerciseSheet) -> tuple[Cell, ...]:  # fmt: skip
    """Behind the first column lies the last."""
    return tuple(
        Cell(shown[row.first + column], columns.box(row, column),
             columns.box(row, columns.count - 1 - column))
        for row in sheet.rows for column in range(row.count)
    )  # fmt: skip
