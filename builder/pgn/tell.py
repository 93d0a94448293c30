"""Faults of a file that may be hostile: only so many are told, and quoted only in part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias

from builder.faults import Faults
from builder.place import Place, Source, file_place

MOST_TOLD = 100  # errors of a file, and warnings; a larger heap helps nobody
MOST_KINDS = 30  # of things that are left out
MOST_QUOTED = 20_000  # letters of a line that is quoted with its fault


@dataclass(frozen=True, slots=True)
class Stretch(Source):
    """A stretch of a file that is not in memory as a whole: it begins with `first_line`.

    Nothing is computed before a fault asks for it: most games have none.
    """

    first_line: int = 1

    def __post_init__(self) -> None:
        object.__setattr__(self, "line_starts", ())

    def place(self, start: int, end: int | None = None) -> Place:
        """The place of `text[start:end]`, cut at the end of its first line."""
        start = max(0, min(start, len(self.text)))
        row = self.text.count("\n", 0, start)
        line_start = self.text.rfind("\n", 0, start) + 1
        line_end = self.text.find("\n", start)
        line_end = len(self.text) if line_end < 0 else line_end
        end = max(start + 1, min(line_end, start + 1 if end is None else end))
        return Place(self.file, self.first_line + row, start - line_start + 1,
                     end - line_start + 1)  # fmt: skip

    def line_text(self, line: int) -> str:
        """The line of that number in the file; empty where it is too long to be quoted."""
        start = 0
        for _ in range(line - self.first_line):
            start = self.text.find("\n", start) + 1
            if not start:
                return ""
        end = self.text.find("\n", start)
        text = self.text[start:] if end < 0 else self.text[start:end]
        return text if line >= self.first_line and len(text) <= MOST_QUOTED else ""


# A place, or how to find it: that may be dear, and many a fault is only counted.
At: TypeAlias = Place | Callable[[], Place]


@dataclass(slots=True)
class Teller:
    """Tells the faults of one file: up to `MOST_TOLD` errors, and as many warnings.

    `left_out` counts, by their kinds, the things that a chapter has no place for, with the first
    place of each.
    """

    file: str
    faults: Faults
    errors: int = 0
    warnings: int = 0
    left_out: dict[str, tuple[int, Place]] = field(default_factory=dict)

    @property
    def start(self) -> Place:
        """The file's beginning."""
        return file_place(self.file)

    @property
    def hears_errors(self) -> bool:
        """Whether a further error would be told: an explanation may be dear."""
        return self.errors < MOST_TOLD

    def error(self, code: str, at: At, message: str, hint: str = "",
              source: Source | None = None) -> None:  # fmt: skip
        self.errors += 1
        if self.errors <= MOST_TOLD:
            self.faults.error(code, self._place(at, source), message, hint)

    def warning(self, code: str, at: At, message: str, hint: str = "",
                source: Source | None = None) -> None:  # fmt: skip
        self.warnings += 1
        if self.warnings <= MOST_TOLD:
            self.faults.warning(code, self._place(at, source), message, hint)

    def leave(self, kind: str, at: At) -> None:
        """Something of that kind is left out; `finish` tells how many there were."""
        if kind not in self.left_out and len(self.left_out) >= MOST_KINDS:
            kind = "other things are left out"
        count, first = self.left_out.get(kind) or (0, self._place(at, None))
        self.left_out[kind] = (count + 1, first)

    def finish(self) -> None:
        """Tells what was only counted."""
        for kind, (count, first) in self.left_out.items():
            times = "" if count == 1 else f" ({count:,} times, here first)"
            self.faults.notice("not-kept", first, f"{kind}{times}")
        more = max(0, self.errors - MOST_TOLD) + max(0, self.warnings - MOST_TOLD)
        if more:
            self.faults.notice("pgn-faults", self.start,
                               f"{more:,} more faults of this file are not told",
                               "mend the first ones and import again")  # fmt: skip

    def _place(self, at: At, source: Source | None) -> Place:
        """The place; `source` is what it is quoted from."""
        if source is not None:
            self.faults.add_source(source)
        return at if isinstance(at, Place) else at()


def whole_line(file: str, line: int, text: str) -> Stretch:
    """One line of a file as a source."""
    return Stretch(file, text, line)
