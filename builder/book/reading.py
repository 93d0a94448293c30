"""Where reading a chapter stands, and what it has found so far.

Words speak of the position in force where they stand, so a chapter is read once, in the order of
its text; this is what is carried along.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import count

import chess

from builder.book.lines import PlayedLines, unknown_name
from builder.book.search import At, Known, KnownLine
from builder.faults import Faults
from builder.model import Claim, Diagram, Exercise, Footnote, Game, Line, Played, Position
from builder.place import Place
from builder.source.syntax import ChapterSource, Start


def _from_one() -> Iterator[int]:
    return count(1)


@dataclass(frozen=True, slots=True)
class Numbering:
    """The numbers that run through the booklet: `next` gives the next one."""

    diagrams: Iterator[int] = field(default_factory=_from_one)
    exercises: Iterator[int] = field(default_factory=_from_one)
    games: Iterator[int] = field(default_factory=_from_one)
    tables: Iterator[int] = field(default_factory=_from_one)
    played: Iterator[int] = field(default_factory=_from_one)


@dataclass(frozen=True, slots=True)
class Found:
    """What a chapter turned out to hold, in reading order; footnotes by their numbers."""

    lines: list[Line] = field(default_factory=list)
    diagrams: list[Diagram] = field(default_factory=list)
    exercises: list[Exercise] = field(default_factory=list)
    games: list[Game] = field(default_factory=list)
    claims: list[Claim] = field(default_factory=list)
    footnotes: dict[int, Footnote] = field(default_factory=dict)
    played: list[Played] = field(default_factory=list)


@dataclass(slots=True)
class Scope:
    """What words are read against, at the place that reading has come to.

    `force` is the position in force. Moves are looked up in the lines of `known`, first of all
    in `current`. `inside` is the start of the line whose comment this is, None in a chapter's
    own text.
    """

    force: At = field(default_factory=lambda: At(Position(chess.Board()), None))
    known: Known = field(default_factory=Known)
    current: KnownLine | None = None
    inside: At | None = None

    def begin(self, line: KnownLine) -> None:
        """From here on `line` is the current one."""
        self.known.add(line)
        self.current = line


@dataclass(slots=True)
class Reading:
    """One chapter being read. `chapter_of` gives the slug of a chapter's file.

    `game_lines` are the anchors of the lines that are part of a game, which the booklet
    doesn't teach.
    """

    chapter: ChapterSource
    lines: PlayedLines
    numbering: Numbering
    chapter_of: Mapping[str, str]
    faults: Faults
    found: Found = field(default_factory=Found)
    scope: Scope = field(default_factory=Scope)
    game_lines: set[str] = field(default_factory=set)

    def at(self, start: Start) -> At | None:
        """The position that a start names or gives; None, and told, where there is none."""
        if start.name is not None:
            return self.named(start.name, start.place)
        return At(start.position, None) if start.position else None

    def named(self, name: str, place: Place | None) -> At | None:
        """The position of that name; None, and told, where there is none."""
        named = self.lines.named.get(name)
        if named is None:
            unknown_name(name, place or self.chapter.source.place(0), self.lines, self.faults)
            return None
        return At(named.position, named.ply)
