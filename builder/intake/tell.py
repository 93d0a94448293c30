"""Faults of a file that may be hostile: only so many are told, and quoted only in part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from builder.faults import Faults
from builder.place import Place, Source

MOST_TOLD = 100  # faults of a file; a larger heap helps nobody
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


@dataclass(slots=True)
class Teller:
    """Tells the faults of one file, up to `MOST_TOLD` of them; `total` counts them all.

    `kept_not` counts, by their kinds, the things that a chapter has no place for, with the
    first place of each.
    """

    file: str
    faults: Faults
    total: int = 0
    kept_not: dict[str, tuple[int, Place]] = field(default_factory=dict)

    @property
    def start(self) -> Place:
        """The file's beginning."""
        return Place(self.file, 1, 1, 2)

    @property
    def listens(self) -> bool:
        """Whether a further fault would be told: an explanation may be dear."""
        return self.total < MOST_TOLD

    def error(self, code: str, at: Place, message: str, hint: str = "",
              source: Source | None = None) -> None:  # fmt: skip
        if self._counts(source):
            self.faults.error(code, at, message, hint)

    def warning(self, code: str, at: Place, message: str, hint: str = "",
                source: Source | None = None) -> None:  # fmt: skip
        if self._counts(source):
            self.faults.warning(code, at, message, hint)

    def leave(self, kind: str, at: Callable[[], Place]) -> None:
        """Something of that kind is left out; `finish` tells how many there were."""
        if kind not in self.kept_not and len(self.kept_not) >= MOST_KINDS:
            kind = "other things are left out"
        count, first = self.kept_not.get(kind) or (0, at())
        self.kept_not[kind] = (count + 1, first)

    def finish(self) -> None:
        """Tells what was only counted."""
        for kind, (count, first) in self.kept_not.items():
            times = "" if count == 1 else f" ({count:,} times, here first)"
            self.faults.notice("not-kept", first, f"{kind}{times}")
        if self.total > MOST_TOLD:
            self.faults.notice("pgn-faults", self.start,
                               f"{self.total - MOST_TOLD:,} more faults in this file are not told",
                               "mend the first ones and import again")  # fmt: skip

    def _counts(self, source: Source | None) -> bool:
        self.total += 1
        if self.total > MOST_TOLD:
            return False
        if source is not None:
            self.faults.add_source(source)
        return True


def whole_line(file: str, line: int, text: str) -> Stretch:
    """One line of a file as a source."""
    return Stretch(file, text, line)
