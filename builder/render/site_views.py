"""What the templates of the site are told: the booklet, its pages, their sections and solutions."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from builder.model import Booklet, Chapter, Exercise, Heading
from builder.render import prose
from builder.render.inline import plain
from builder.render.medium import Context
from builder.render.moves import titled
from builder.render.site_medium import SiteMedium
from builder.render.typeset import typeset
from builder.render.words import Words, date_words, opening_words


@dataclass(frozen=True, slots=True)
class Cover:
    """What a page tells of the booklet; `date` and `side` are in words, empty for none."""

    title: str
    subtitle: str
    author: str
    edition: str
    date: str
    side: str


@dataclass(frozen=True, slots=True)
class Section:
    """A heading inside a chapter, for the list of the page's parts."""

    href: str
    title: Markup


@dataclass(frozen=True, slots=True)
class Entry:
    """A page in a list of pages. `number` is a chapter's, None for other pages."""

    href: str
    title: str | Markup
    number: int | None = None
    eco: str = ""
    summary: str | Markup = ""
    draft: bool = False
    here: bool = False
    sections: tuple[Section, ...] = ()
    opening: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """What every page has: `chapters` and `parts` list the site's pages."""

    file: str
    title: str
    chapters: tuple[Entry, ...]
    parts: tuple[Entry, ...]
    previous: Entry | None
    next: Entry | None


@dataclass(frozen=True, slots=True)
class Solution:
    board: Markup
    text: Markup


@dataclass(frozen=True, slots=True)
class SolutionGroup:
    chapter: Entry
    solutions: tuple[Solution, ...]


def cover_of(booklet: Booklet, words: Words) -> Cover:
    side = {"white": words.repertoire_white, "black": words.repertoire_black}
    told = typeset(booklet)
    return Cover(
        told.title, told.subtitle, told.author, told.edition,
        date_words(booklet.date, words), side.get(booklet.side, ""),
    )  # fmt: skip


def _sections(chapter: Chapter, medium: SiteMedium) -> tuple[Section, ...]:
    """The chapter's highest headings."""
    top = top_level(chapter)
    return tuple(
        Section(medium.href(chapter.slug, heading.anchor),
                titled(plain(heading.inlines), medium.notation))
        for heading in chapter.blocks
        if isinstance(heading, Heading) and heading.level == top
    )  # fmt: skip


def top_level(chapter: Chapter) -> int:
    """The level of the chapter's highest headings, 0 without any."""
    return min((block.level for block in chapter.blocks if isinstance(block, Heading)), default=0)


def chapter_entry(chapter: Chapter, medium: SiteMedium, here: bool = False,
                  sections: bool = False) -> Entry:  # fmt: skip
    """The chapter's page, with its `sections` where a list shows them too; `here` is where the
    reader is."""
    notation = medium.notation
    return Entry(
        medium.chapter_href(chapter.slug), titled(chapter.title, notation), chapter.number,
        chapter.code, titled(chapter.summary, notation), chapter.draft, here,
        _sections(chapter, medium) if sections else (),
        opening_words(chapter, notation.language),
    )  # fmt: skip


def solution_of(exercise: Exercise, at: Context, medium: SiteMedium) -> Solution:
    """The task's board stands beside its solution once more."""
    asked = exercise.diagram
    ident = f"{exercise.solution_anchor}-drawn"
    board = medium.thumbnail(asked.position, asked.ply, asked.flip, ident)
    return Solution(board, prose.solution(exercise, at))
