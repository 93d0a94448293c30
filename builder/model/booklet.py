"""The booklet and its chapters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from builder.model.counts import GameCounts
from builder.model.games import Game
from builder.model.line import Line, Ply
from builder.model.parts import Claim, Diagram, Exercise, NamedPosition
from builder.model.position import PositionKey
from builder.model.prose import Block, Footnote


@dataclass(frozen=True, slots=True)
class Opening:
    """An opening: its ECO code, and its name in English."""

    code: str
    name: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """A chapter. `lines` holds every line in it in reading order, asides, solutions and games
    included; `claims` likewise. `eco` is the author's code, empty where he gives none; `opening` is
    what the chapter's lines have in common, where that has a name."""

    slug: str
    anchor: str
    number: int
    title: str
    side: Literal["white", "black", "both"]
    eco: str
    opening: Opening | None
    summary: str
    draft: bool
    blocks: tuple[Block, ...]
    footnotes: tuple[Footnote, ...]
    lines: tuple[Line, ...] = field(repr=False)
    diagrams: tuple[Diagram, ...] = field(repr=False)
    exercises: tuple[Exercise, ...] = field(repr=False)
    games: tuple[Game, ...] = field(repr=False)
    claims: tuple[Claim, ...] = field(repr=False)
    file: str

    @property
    def code(self) -> str:
        """The author's ECO code, or else the opening's; empty where there is neither."""
        return self.eco or (self.opening.code if self.opening else "")

    @property
    def opening_name(self) -> str:
        """The name that goes with the code; empty where the author's code says more or other than
        the opening's."""
        return self.opening.name if self.opening and self.opening.code == self.code else ""


@dataclass(frozen=True, slots=True)
class Booklet:
    """Everything that is printed, and the indexes that the outputs share.

    `names` is in alphabetical order. `reached` gives, for a position's key, the plies of the
    whole booklet that reach it, in reading order; exercises and games don't count. `counts` is what
    the booklet's files of games say of these positions; None where nobody asked for it.
    """

    title: str
    subtitle: str
    author: str
    edition: str
    date: str
    language: str
    side: Literal["white", "black", "both"]
    figurines: bool
    chapters: tuple[Chapter, ...]
    names: Mapping[str, NamedPosition] = field(repr=False)
    reached: Mapping[PositionKey, tuple[Ply, ...]] = field(repr=False)
    diagrams: tuple[Diagram, ...] = field(repr=False)
    exercises: tuple[Exercise, ...] = field(repr=False)
    games: tuple[Game, ...] = field(repr=False)
    counts: GameCounts | None = field(repr=False)

    def chapter(self, slug: str) -> Chapter:
        """The chapter with that slug. Raises KeyError where there is none."""
        for chapter in self.chapters:
            if chapter.slug == slug:
                return chapter
        raise KeyError(slug)
