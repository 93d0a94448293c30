"""Where something stands in an author's file.

In: the text of a file. Out: places (file, line, column) for offsets into it.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from pathlib import Path


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
        line_start = self.line_starts[row]
        line_end = self.text.find("\n", start)
        if line_end < 0:
            line_end = len(self.text)
        end = max(start + 1, min(line_end, start + 1 if end is None else end))
        return Place(self.file, row + 1, start - line_start + 1, end - line_start + 1)

    def line_text(self, line: int) -> str:
        """The text of a line, counted from 1; empty when there is no such line."""
        if not 1 <= line <= len(self.line_starts):
            return ""
        start = self.line_starts[line - 1]
        end = self.text.find("\n", start)
        return self.text[start:] if end < 0 else self.text[start:end]
