"""Where something stands in an author's file.

In: the text of a file. Out: places (file, line, column) for offsets into it.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from pathlib import Path


_ROUND = 400  # characters of a long line that are shown on either side of a place, or more


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A stretch of one line of one file.

    `file` is relative to the booklet, with forward slashes. `line` and the columns count
    from 1, columns in code points; `end_column` is the column after the last character.
    """

    file: str
    line: int
    column: int
    end_column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


def file_place(file: str | Path) -> Place:
    """The beginning of a file, for what is told of the whole of it."""
    return Place(str(file), 1, 1, 2)


@dataclass(frozen=True, slots=True)
class Source:
    """A file's text, with line ends made `\\n`, and the way from offsets to places."""

    file: str
    text: str
    line_starts: tuple[int, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        starts = [0]
        starts.extend(i + 1 for i, char in enumerate(self.text) if char == "\n")
        object.__setattr__(self, "line_starts", tuple(starts))

    def place(self, start: int, end: int | None = None) -> Place:
        """The place of `text[start:end]`, cut at the end of its first line."""
        start = max(0, min(start, len(self.text)))
        row = bisect_right(self.line_starts, start) - 1
        line_start, line_end = self.line_starts[row], self._line_end(row)
        end = max(start + 1, min(line_end, start + 1 if end is None else end))
        return Place(self.file, row + 1, start - line_start + 1, end - line_start + 1)

    def line_text(self, line: int) -> str:
        """The text of a line, counted from 1; empty when there is no such line."""
        if not 1 <= line <= len(self.line_starts):
            return ""
        return self.text[self.line_starts[line - 1] : self._line_end(line - 1)]

    def round(self, place: Place) -> tuple[str, int]:
        """The line of a place, and how many characters are cut off in front: of a very long line
        only what stands round the place. A line may have a fault at every word."""
        if not 1 <= place.line <= len(self.line_starts):
            return "", 0
        first, end = self.line_starts[place.line - 1], self._line_end(place.line - 1)
        at = first + place.column - 1
        start = first if end - first <= 2 * _ROUND else max(first, at - _ROUND)
        return self.text[start : min(end, max(at, start) + 2 * _ROUND)], start - first

    def _line_end(self, row: int) -> int:
        """Where a line ends, counted from 0."""
        following = self.line_starts[row + 1 : row + 2]
        return following[0] - 1 if following else len(self.text)
