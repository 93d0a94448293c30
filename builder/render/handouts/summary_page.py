"""The summary's page: its columns, its boards, and what room they leave."""

from __future__ import annotations

from dataclasses import dataclass

from builder.draw import layout
from builder.render.handouts.paper import MARGIN, Box

# Type sizes in points, down to the smallest that can be read; and numbers of boards.
SIZES = (10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0, 6.5)
BOARDS = (4, 3, 2, 1)

_MM_PER_POINT = 25.4 / 72
_HEADER = 15.0  # mm, with the space below it
_HEADS = 5.0  # 'They play' and 'You answer' over each column
_GAP = 8.0
_LEAST_COLUMN = 25.0  # in type sizes
_MOST_SQUARE = 5.0
_BOARD_WORDS = 10.0  # mm below a board, and the space above it
_LEFT_OUT = 5.0


@dataclass(frozen=True, slots=True)
class Setting:
    """How a summary is set on a page of `width` and `height` mm, in type of `size` points."""

    width: float
    height: float
    size: float

    @property
    def columns(self) -> int:
        least = _LEAST_COLUMN * self.size * _MM_PER_POINT
        return max(1, int((self._inner + _GAP) // (least + _GAP)))

    @property
    def column_width(self) -> float:
        return (self._inner - (self.columns - 1) * _GAP) / self.columns

    @property
    def _inner(self) -> float:
        return self.width - 2 * MARGIN

    def room(self, boards: int, left_out: bool) -> float:
        """For the strips of a column, in mm."""
        below = self._board_height(boards) if boards else 0.0
        used = _HEADER + _HEADS + below + (_LEFT_OUT if left_out else 0.0)
        return self.height - 2 * MARGIN - used

    def square(self, boards: int) -> float:
        """The side of the squares of so many boards in a row; boards without coordinates."""
        across = 8 + 2 * layout.TOP
        return min(_MOST_SQUARE, (self._inner - (boards - 1) * _GAP) / (boards * across))

    def column_box(self, index: int, height: float) -> Box:
        return Box(MARGIN + index * (self.column_width + _GAP), MARGIN + _HEADER,
                   self.column_width, _HEADS + height)  # fmt: skip

    def board_box(self, index: int, boards: int, height: float) -> Box:
        """Below columns of that height."""
        width = (self._inner - (boards - 1) * _GAP) / boards
        return Box(MARGIN + index * (width + _GAP), MARGIN + _HEADER + _HEADS + height + 2.0,
                   width, self._board_height(boards))  # fmt: skip

    def _board_height(self, boards: int) -> float:
        return (8 + 2 * layout.TOP) * self.square(boards) + _BOARD_WORDS
