"""The booklet as HTML for print.

In: a booklet and its print theme. Out: the documents that `builder.press` lays out. What a
page looks like is the theme's: `main.html` is the template of the main matter, and `frame.html`,
where a theme has one, that of what stands before and behind it. The frame is set when the pages
of the main matter are known, so that its indexes are laid out once and not over and over.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import jinja2
from markupsafe import Markup, escape

from builder.book.meetings import meetings
from builder.book.partings import games_by_ply
from builder.model import Booklet, Chapter, Diagram, Heading
from builder.render import moves, prose
from builder.render.games import game_entries, player_entries
from builder.render.medium import Context
from builder.render.notation import Notation
from builder.render.opening_index import opening_entries
from builder.render.page_numbers import PageMarks
from builder.render.position_groups import position_groups
from builder.render.print_medium import PrintMedium
from builder.render.print_notes import foot_notes
from builder.render.print_variations import variation_rows
from builder.render.site_codes import SiteCodes
from builder.render.theme_files import ThemeFiles
from builder.render.typeset import typeset
from builder.render.words import date_words, opening_words, read_words

MAIN_TEMPLATE = "main.html"
FRAME_TEMPLATE = "frame.html"


@dataclass(frozen=True, slots=True)
class ContentsEntry:
    """A chapter in the contents."""

    anchor: str
    number: int
    title: Markup
    eco: str
    summary: Markup


@dataclass(frozen=True, slots=True)
class PrintChapter:
    """A chapter ready for the template. `plain` is its title in letters, for places without fonts;
    empty where the title's own text is that."""

    anchor: str
    number: int
    title: Markup
    plain: str
    eco: str
    opening: str
    summary: Markup
    draft: bool
    head: str
    code: Markup
    body: Markup
    notes: Markup
    solutions: Markup


@dataclass(frozen=True, slots=True)
class Thumbnail:
    """A small board in the index of positions."""

    anchor: str
    number: int
    board: Markup


@dataclass(frozen=True, slots=True)
class ThumbnailGroup:
    """`title` is the moves that the group's positions begin with."""

    title: Markup
    thumbnails: tuple[Thumbnail, ...]


@dataclass(frozen=True, slots=True)
class NameEntry:
    """A line of the index of named positions: `words` is the move that leads there."""

    name: str
    anchor: str
    words: Markup


@dataclass(frozen=True, slots=True)
class PrintBooklet:
    """A booklet in a theme. Its methods raise jinja2.TemplateError, and what `ThemeFiles.text`
    raises, when the theme's templates are at fault."""

    booklet: Booklet
    theme: ThemeFiles
    medium: PrintMedium
    templates: jinja2.Environment = field(repr=False)
    head_room: int = 0  # letters, for openings in running heads

    def main(self) -> str:
        """The chapters, and what else the theme puts with them."""
        return self._render(MAIN_TEMPLATE, chapters=self._chapters())

    def frame(self) -> str:
        """What stands before and behind the main matter; empty where the theme has no such.

        For the pages of what is in there, marks stand (`builder.render.page_numbers`).
        """
        if self.theme.path(FRAME_TEMPLATE) is None:
            return ""
        games = game_entries(self.booklet, self.medium.words)
        return self._render(
            FRAME_TEMPLATE,
            chapters=tuple(self._entry(chapter) for chapter in self.booklet.chapters),
            page_of=PageMarks(),
            positions=tuple(self._thumbnails()),
            openings=opening_entries(self.booklet),
            variations=variation_rows(self.booklet, self.medium),
            names=tuple(self._names()),
            games=games,
            players=player_entries(self.booklet, games),
        )

    def _render(self, template: str, **shown: Any) -> str:
        words, notation = self.medium.words, self.medium.notation
        return self.templates.get_template(template).render(
            booklet=typeset(self.booklet), title=moves.titled(self.booklet.title, notation),
            subtitle=moves.titled(self.booklet.subtitle, notation),
            words=words, date=date_words(self.booklet.date, words), css_text=css_text, **shown,
        )  # fmt: skip

    def _chapters(self) -> tuple[PrintChapter, ...]:
        return tuple(self._chapter(chapter) for chapter in self.booklet.chapters)

    def _chapter(self, chapter: Chapter) -> PrintChapter:
        """A chapter's highest headings are second to its title, however deep they were written."""
        levels = (block.level for block in chapter.blocks if isinstance(block, Heading))
        medium = replace(self.medium, heading_level=3 - min(levels, default=1))
        at_foot = foot_notes(chapter)
        at = Context(medium, chapter.slug, title_level=3, foot_notes=at_foot)
        at_end = tuple(note for note in chapter.footnotes if note.number not in at_foot)
        notation = self.medium.notation
        return PrintChapter(
            anchor=chapter.anchor,
            number=chapter.number,
            title=moves.titled(chapter.title, notation),
            plain=moves.lettered(chapter.title, notation),
            eco=chapter.code,
            opening=opening_words(chapter, self.booklet.language),
            summary=moves.titled(chapter.summary, notation),
            draft=chapter.draft,
            head=self._head(chapter),
            code=self.medium.codes.chapter(chapter),
            body=prose.blocks(chapter.blocks, at),
            notes=prose.footnotes(at_end, at),
            solutions=Markup("\n").join(
                prose.solution(exercise, at) for exercise in chapter.exercises
            ),
        )

    def _entry(self, chapter: Chapter) -> ContentsEntry:
        title, summary = (moves.titled(text, self.medium.notation)
                          for text in (chapter.title, chapter.summary))  # fmt: skip
        return ContentsEntry(chapter.anchor, chapter.number, title, chapter.code, summary)

    def _head(self, chapter: Chapter) -> str:
        """Its title at the head of a page, with the opening's code in front, and the name where all
        of it has room; empty where that is the title alone."""
        if not self.head_room or not chapter.code:
            return ""
        name = opening_words(chapter, self.booklet.language)
        title = moves.titled_text(chapter.title, self.medium.notation)
        whole = f"{chapter.code} {name} · {title}"
        return whole if name and len(whole) <= self.head_room else f"{chapter.code} · {title}"

    def _thumbnails(self) -> Iterator[ThumbnailGroup]:
        for group in position_groups(self.booklet.diagrams):
            yield ThumbnailGroup(
                moves.row(group.moves, self.medium)
                if group.moves
                else escape(self.medium.words.given_position),
                tuple(self._thumbnail(diagram) for diagram in group.diagrams),
            )

    def _thumbnail(self, diagram: Diagram) -> Thumbnail:
        return Thumbnail(diagram.anchor, diagram.number or 0, self.medium.thumbnail(diagram))

    def _names(self) -> Iterator[NameEntry]:
        for named in self.booklet.names.values():
            reached = named.ply
            yield NameEntry(
                name=named.name,
                anchor=named.diagram.anchor if named.diagram else named.anchor,
                words=moves.row((reached,), self.medium)
                if reached
                else moves.position_words(None, named.position, self.medium),
            )


def print_booklet(booklet: Booklet, theme: ThemeFiles, codes: SiteCodes = SiteCodes(),
                  table_columns: int = 5, head_room: int = 0) -> PrintBooklet:  # fmt: skip
    """`table_columns` is how many columns of an opening table the page has room for, `head_room` how
    many letters a running head; 0 where openings aren't wanted there."""
    words = read_words(booklet.language)
    medium = PrintMedium(
        words, Notation(booklet.language, booklet.figurines), booklet.names, meetings(booklet),
        codes=codes, left=games_by_ply(booklet), table_columns=table_columns,
    )
    return PrintBooklet(booklet, theme, medium, theme.environment(), head_room)


def css_text(text: str) -> Markup:
    """`text` as a CSS string, for a style attribute in double quotes."""
    inside = "".join(char if char.isalnum() or char == " " else f"\\{ord(char):x} " for char in text)
    return Markup(f"'{inside}'")
