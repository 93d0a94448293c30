"""The whole booklet as one HTML document for print.

In: a booklet and its print theme. Out: HTML for `builder.press`. What a page looks like is
the theme's: `document.html` is its template, and its style sheets do the rest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from markupsafe import Markup, escape

from builder.book.meetings import meetings
from builder.model import Booklet, Chapter, Diagram, Heading, NamedPosition
from builder.render import moves, prose
from builder.render.medium import Context
from builder.render.notation import Notation
from builder.render.print_medium import PrintMedium
from builder.render.print_positions import position_groups
from builder.render.print_variations import variation_rows
from builder.render.theme_files import ThemeFiles
from builder.render.words import date_words, read_words

TEMPLATE = "document.html"


@dataclass(frozen=True, slots=True)
class PrintChapter:
    """A chapter ready for the template."""

    anchor: str
    number: int
    title: str
    eco: str
    summary: str
    draft: bool
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
    title: Markup
    thumbnails: tuple[Thumbnail, ...]


@dataclass(frozen=True, slots=True)
class NameEntry:
    """A line of the index of named positions: `words` is the move that leads there."""

    name: str
    anchor: str
    words: Markup


def print_document(booklet: Booklet, theme: ThemeFiles) -> str:
    """The document. Raises jinja2.TemplateError and what `ThemeFiles.text` raises when the
    theme's templates are at fault."""
    words = read_words(booklet.language)
    notation = Notation(booklet.language, booklet.figurines)
    medium = PrintMedium(words, notation, booklet.names, meetings(booklet))
    template = theme.environment().get_template(TEMPLATE)
    return template.render(
        booklet=booklet,
        words=words,
        date=date_words(booklet.date, words),
        chapters=tuple(_chapter(chapter, medium) for chapter in booklet.chapters),
        positions=tuple(_thumbnails(booklet, medium)),
        variations=variation_rows(booklet, medium),
        names=tuple(_name(named, medium) for named in booklet.names.values()),
    )


def _chapter(chapter: Chapter, medium: PrintMedium) -> PrintChapter:
    """A chapter's highest headings are second to its title, however deep they were written."""
    top = min((block.level for block in chapter.blocks if isinstance(block, Heading)), default=1)
    at = Context(replace(medium, heading_level=3 - top), chapter.slug, title_level=3)
    return PrintChapter(
        anchor=chapter.anchor,
        number=chapter.number,
        title=chapter.title,
        eco=chapter.eco,
        summary=chapter.summary,
        draft=chapter.draft,
        body=prose.blocks(chapter.blocks, at),
        notes=prose.footnotes(chapter.footnotes, at),
        solutions=Markup("\n").join(
            prose.solution(exercise, at) for exercise in chapter.exercises
        ),
    )


def _thumbnails(booklet: Booklet, medium: PrintMedium):
    for group in position_groups(booklet.diagrams):
        title = moves.row(group.moves, medium) if group.moves else Markup("")
        yield ThumbnailGroup(
            title or escape(medium.words.given_position),
            tuple(_thumbnail(diagram, medium) for diagram in group.diagrams),
        )


def _thumbnail(diagram: Diagram, medium: PrintMedium) -> Thumbnail:
    return Thumbnail(diagram.anchor, diagram.number or 0, medium.drawn(diagram, coordinates=False))


def _name(named: NamedPosition, medium: PrintMedium) -> NameEntry:
    return NameEntry(
        name=named.name,
        anchor=named.diagram.anchor if named.diagram else named.anchor,
        words=moves.row((named.ply,), medium)
        if named.ply
        else moves.position_words(None, medium),
    )
