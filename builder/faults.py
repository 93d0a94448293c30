"""What is wrong in an author's files: a fault, their collector, their printed forms.

Every stage takes a `Faults` and goes on after an error where it can, so that one run tells
all of them. The codes are stable; `builder/guide/guide.md` lists each with its meaning.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

from builder.place import Place, Source


class Severity(IntEnum):
    """In the order in which they are worse."""

    NOTICE = 0
    WARNING = 1
    ERROR = 2

    @property
    def word(self) -> str:
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to tell the author.

    `message` is the reason in one sentence without a full stop; `hint` is the remedy or what
    helps to find it; `excerpt` is the line of the file, without the first `cut` characters of a
    very long one.
    """

    code: str
    severity: Severity
    place: Place
    message: str
    hint: str
    excerpt: str
    cut: int = 0

    def sort_key(self) -> tuple[object, ...]:
        return (self.place, -self.severity, self.code, self.message)

    def as_text(self) -> str:
        """The contract's form: place, severity and message; then the line and a caret."""
        head = f"{self.place}: {self.severity.word}: {self.message}"
        if not self.excerpt.strip():
            return head + (f"\n  {self.hint}" if self.hint else "")
        indent = len(self.excerpt) - len(self.excerpt.lstrip())
        shown = self.excerpt.strip().replace("\t", " ")
        column = max(0, self.place.column - 1 - self.cut - indent)
        width = max(1, self.place.end_column - self.place.column)
        shown, column, width = _window(shown, column, width)
        caret = " " * column + "^" * width
        return f"{head}\n  {shown}\n  {caret}" + (f" {self.hint}" if self.hint else "")

    def as_json(self) -> str:
        """One JSON object on one line, with the keys that the contract names."""
        return json.dumps(
            {
                "file": self.place.file,
                "line": self.place.line,
                "column": self.place.column,
                "end_column": self.place.end_column,
                "severity": self.severity.word,
                "code": self.code,
                "message": self.message,
                "hint": self.hint,
                "text": self.excerpt,
            },
            ensure_ascii=False,
        )


def _window(shown: str, column: int, width: int, room: int = 96) -> tuple[str, int, int]:
    """Cuts a long line to about `room` characters round the caret."""
    width = min(width, room)
    if len(shown) <= room:
        return shown, column, min(width, max(1, len(shown) - column))
    start = max(0, min(column - room // 2, len(shown) - room))
    text = shown[start : start + room]
    if start:
        text = "…" + text[1:]
    if start + room < len(shown):
        text = text[:-1] + "…"
    return text, column - start, max(1, min(width, room - (column - start)))


class Faults:
    """Collects faults; knows the sources that were read, so as to quote their lines."""

    def __init__(self) -> None:
        self._sources: dict[str, Source] = {}
        self._found: set[Fault] = set()

    def add_source(self, source: Source) -> None:
        self._sources[source.file] = source

    def error(self, code: str, place: Place, message: str, hint: str = "") -> None:
        self._add(code, Severity.ERROR, place, message, hint)

    def warning(self, code: str, place: Place, message: str, hint: str = "") -> None:
        self._add(code, Severity.WARNING, place, message, hint)

    def notice(self, code: str, place: Place, message: str, hint: str = "") -> None:
        self._add(code, Severity.NOTICE, place, message, hint)

    def forget(self) -> None:
        """What was told so far is somebody else's to tell."""
        self._found.clear()

    def repeat(self, told: Iterable[Fault]) -> None:
        """Tells again what was told elsewhere, in another process perhaps."""
        for fault in told:
            self._add(fault.code, fault.severity, fault.place, fault.message, fault.hint)

    def _add(self, code: str, severity: Severity, place: Place, message: str, hint: str) -> None:
        source = self._sources.get(place.file)
        excerpt, cut = source.round(place) if source else ("", 0)
        self._found.add(Fault(code, severity, place, message, hint, excerpt, cut))

    def sorted(self) -> tuple[Fault, ...]:
        """All faults by place, each once."""
        return tuple(sorted(self._found, key=Fault.sort_key))

    def count(self, severity: Severity) -> int:
        return sum(1 for fault in self._found if fault.severity == severity)

    @property
    def has_errors(self) -> bool:
        return self.count(Severity.ERROR) > 0


def did_you_mean(word: str, choices: Iterable[str]) -> str:
    """`did you mean X?` for the choice nearest to `word`, empty when none is near."""
    import difflib

    near = difflib.get_close_matches(word, list(choices), n=1, cutoff=0.6)
    return f"did you mean {near[0]}?" if near else ""


def why(error: OSError) -> str:
    """Why the file system refuses, to stand behind a colon."""
    reason = error.strerror or str(error) or "the system refuses"
    return reason[:1].lower() + reason[1:]
