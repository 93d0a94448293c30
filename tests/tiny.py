"""Tiny booklets for tests: one chapter's text in, its model and faults out."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from builder.book.make import make_booklet
from builder.faults import Fault, Faults
from builder.model import Booklet, Chapter
from builder.source.booklet import BookletSource, read_booklet

SETTINGS = 'title = "Tiny"\nside = "white"\ndate = 2026-01-02\n'


@dataclass(frozen=True)
class Tiny:
    """What became of a tiny booklet."""

    folder: Path
    booklet: Booklet
    faults: tuple[Fault, ...]

    @property
    def chapter(self) -> Chapter:
        return self.booklet.chapters[0]

    def codes(self) -> list[str]:
        return [fault.code for fault in self.faults]

    def told(self) -> str:
        return "\n".join(fault.as_text() for fault in self.faults)


def write_booklet(folder: Path, *chapters: str, settings: str = SETTINGS) -> Path:
    """Writes a booklet whose chapters are chapters/1.md, chapters/2.md and so on."""
    (folder / "chapters").mkdir(parents=True, exist_ok=True)
    (folder / "booklet.toml").write_text(settings, encoding="utf-8")
    for number, text in enumerate(chapters, start=1):
        path = folder / "chapters" / f"{number}.md"
        path.write_text(textwrap.dedent(text), encoding="utf-8")
    return folder


def tiny(folder: Path, *chapters: str, settings: str = SETTINGS) -> Tiny:
    """Reads and makes a booklet of these chapters."""
    write_booklet(folder, *chapters, settings=settings)
    _, booklet, faults = read_and_make(folder)
    return Tiny(folder, booklet, faults.sorted())


class Made(NamedTuple):
    """A booklet read and made, and the faults so far."""

    source: BookletSource
    booklet: Booklet
    faults: Faults


def read_and_make(folder: Path, counted: bool = False) -> Made:
    """The booklet of a folder, whatever its faults; `counted` has its games counted, too."""
    faults = Faults()
    source = read_booklet(folder, faults)
    assert source is not None, "\n".join(fault.as_text() for fault in faults.sorted())
    return Made(source, make_booklet(source, faults, games=faults if counted else None), faults)


def line_of(moves: str, header: str = "line main") -> str:
    """A chapter that holds one line."""
    return f"```{header}\n{moves}\n```\n"
