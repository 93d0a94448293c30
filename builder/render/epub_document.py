"""The documents of an EPUB, in reading order.

In: a booklet. Out: XHTML documents without any script, the pictures of its diagrams, the
navigation and the package document. Every move leads to a board; the boards stand in documents
that one comes to by a move only, so that they don't get in the way of who reads on.

Sources: EPUB 3.3 and EPUB Accessibility 1.1 (W3C Recommendations), the EPUB 3 Structural
Semantics Vocabulary 1.1, and DPUB-ARIA 1.1 for roles.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

import jinja2
from markupsafe import Markup

from builder import names
from builder.book.meetings import meetings
from builder.book.partings import games_by_ply
from builder.draw import svg
from builder.model import Booklet, Chapter, Diagram, Footnote
from builder.render import moves, prose, site_indexes
from builder.render.epub_medium import SOLUTIONS, EpubMedium
from builder.render.games import game_entries, player_entries
from builder.render.medium import Context
from builder.render.notation import Notation
from builder.render.position_groups import position_groups
from builder.render.site_boards import BoardGroup, board_groups, boards_order, following
from builder.render.site_indexes import Thumbnail, ThumbnailGroup
from builder.render.site_views import (
    Cover, Solution, SolutionGroup, chapter_entry, cover_of, top_level,
)  # fmt: skip
from builder.render.whereabouts import whereabouts
from builder.render.words import Words, read_words
from builder.render.xhtml import xhtml

COVER, TITLE, NAV = "cover.xhtml", "title.xhtml", "nav.xhtml"
COVER_PICTURE = "cover.png"
STYLE_SHEET = "style.css"
# A document of boards has at most so many: about 100 kB, which small readers open at once.
_MOST_BOARDS = 30


@dataclass(frozen=True, slots=True)
class Document:
    """A document; one that isn't `linear` is no part of the reading order."""

    file: str
    text: str
    properties: str = ""
    linear: bool = True


@dataclass(frozen=True, slots=True)
class Part:
    """A document at the back, which has a template of its name. `word` is the field of `Words`
    that titles it, `kind` its term of the structural semantics vocabulary."""

    file: str
    word: str
    kind: str


_POSITIONS = Part("positions.xhtml", "index_of_positions", "loi")
_VARIATIONS = Part("variations.xhtml", "index_of_variations", "index")
_NAMES = Part("names.xhtml", "index_of_names", "index")
_GAMES = Part("games.xhtml", "index_of_games", "index")
_PARTS = (Part(SOLUTIONS, "solutions", "answers"), _POSITIONS, _VARIATIONS, _NAMES, _GAMES)


@dataclass(frozen=True, slots=True)
class Landmark:
    """A part at the back, for the navigation."""

    href: str
    title: str
    kind: str


@dataclass(frozen=True, slots=True)
class Note:
    """A footnote; `back` is the address of its mark."""

    number: int
    anchor: str
    back: str
    body: Markup


@dataclass(frozen=True, slots=True)
class EpubBook:
    """A booklet as an EPUB's documents."""

    booklet: Booklet
    words: Words
    medium: EpubMedium
    templates: jinja2.Environment

    @staticmethod
    def of(booklet: Booklet, templates: jinja2.Environment,
           pictures: Mapping[str, str]) -> EpubBook:  # fmt: skip
        """`pictures` gives the names of the pictures that it shows."""
        words = read_words(booklet.language)
        places = whereabouts(booklet)
        boards = {
            anchor: names.epub_boards(chapter.slug, 1 + index // _MOST_BOARDS)
            for chapter in booklet.chapters
            for index, anchor in enumerate(boards_order(chapter, places))
        }
        medium = EpubMedium(
            words, Notation(booklet.language, booklet.figurines), booklet.names,
            meetings(booklet), places, here="", left=games_by_ply(booklet), boards=boards,
            pictures=pictures,
        )  # fmt: skip
        return EpubBook(booklet, words, medium, templates)

    # --- documents ---------------------------------------------------------------------------

    def documents(self) -> Iterator[Document]:
        """All but the navigation, in reading order; the boards at the end."""
        yield self._document(COVER, "cover.xhtml", self.cover().title, picture=COVER_PICTURE)
        yield self._document(TITLE, "title.xhtml", self.cover().title)
        for chapter in self.booklet.chapters:
            yield self._chapter(chapter)
        for part in self.parts():
            yield self._part(part)
        yield from self._boards()

    def diagrams(self) -> Iterator[tuple[str, str]]:
        """The names and texts of the diagrams' pictures."""
        for diagram in self._all_diagrams():
            yield names.epub_diagram(diagram.anchor), self.medium.diagram_file(diagram)

    def nav(self, pages: Iterable[tuple[int, str]]) -> Document:
        """The navigation; `pages` are numbers of the printed book's pages with addresses."""
        text = self._render(
            "nav.xhtml", NAV, self.words.contents,
            chapters=tuple(chapter_entry(one, self.medium, sections=True)
                           for one in self.booklet.chapters),
            parts=tuple(Landmark(part.file, self._title(part), part.kind)
                        for part in self.parts()),
            pages=tuple(pages), cover_file=COVER, title_file=TITLE, nav_file=NAV,
        )  # fmt: skip
        return Document(NAV, text, properties="nav")

    def parts(self) -> tuple[Part, ...]:
        """The documents at the back that have something to show."""
        filled = (
            bool(self.booklet.exercises), bool(self.booklet.diagrams),
            any(line.is_taught for chapter in self.booklet.chapters for line in chapter.lines),
            bool(self.booklet.names), bool(self.booklet.games),
        )  # fmt: skip
        return tuple(part for part, has_any in zip(_PARTS, filled, strict=True) if has_any)

    def _chapter(self, chapter: Chapter) -> Document:
        top = top_level(chapter)
        medium = replace(self.medium, heading_level=3 - (top or 1))
        at = Context(medium, chapter.slug, title_level=3 if top else 2)
        return self._document(
            names.epub_chapter(chapter.slug), "chapter.xhtml", moves.titled_text(chapter.title, self.medium.notation),
            chapter=chapter_entry(chapter, self.medium), anchor=chapter.anchor,
            body=prose.blocks(chapter.blocks, at),
            notes=tuple(self._note(note, at) for note in chapter.footnotes),
        )  # fmt: skip

    def _note(self, note: Footnote, at: Context) -> Note:
        back = names.footnote_ref_anchor(at.chapter, note.number)
        return Note(
            note.number, names.footnote_anchor(at.chapter, note.number),
            at.medium.href(at.chapter, back), prose.blocks(note.blocks, at),
        )  # fmt: skip

    def _part(self, part: Part) -> Document:
        shown: dict[str, Any]
        if part.file == SOLUTIONS:
            shown = {"groups": tuple(self._solutions())}
        elif part is _POSITIONS:
            shown = {"groups": tuple(self._positions())}
        elif part is _VARIATIONS:
            shown = {"trees": site_indexes.variations(self.booklet, self.medium)}
        elif part is _NAMES:
            shown = {"entries": site_indexes.named(self.booklet, self.medium)}
        else:
            games = game_entries(self.booklet, self.words)
            shown = {"games": games, "players": player_entries(self.booklet, games),
                     "href": lambda game: self.medium.href(game.chapter, game.anchor)}  # fmt: skip
        return self._document(part.file, part.file, self._title(part), **shown)

    def _solutions(self) -> Iterator[SolutionGroup]:
        for chapter in self.booklet.chapters:
            at = Context(self.medium, chapter.slug)
            if chapter.exercises:
                yield SolutionGroup(chapter_entry(chapter, self.medium), tuple(
                    Solution(self.medium.small(one.diagram), prose.solution(one, at))
                    for one in chapter.exercises
                ))  # fmt: skip

    def _positions(self) -> Iterator[ThumbnailGroup]:
        for group in position_groups(self.booklet.diagrams):
            title = moves.row(group.moves, self.medium) if group.moves else Markup("")
            yield ThumbnailGroup(title, tuple(self._thumbnail(one) for one in group.diagrams))

    def _thumbnail(self, diagram: Diagram) -> Thumbnail:
        return Thumbnail(
            self.medium.href(diagram.chapter, diagram.anchor), diagram.number or 0,
            self.medium.small(diagram),
            moves.position_words(diagram.ply, diagram.position, self.medium),
        )  # fmt: skip

    # --- boards ------------------------------------------------------------------------------

    def _boards(self) -> Iterator[Document]:
        after = following(self.booklet)
        symbols = Markup(svg.symbols())
        for chapter in self.booklet.chapters:
            groups: dict[str, list[BoardGroup]] = {}
            for group in board_groups(chapter, after, self.medium):
                for file, part in self._parted(group):
                    groups.setdefault(file, []).append(part)
            title = moves.titled_text(chapter.title, self.medium.notation)
            for file, shown in groups.items():
                yield self._document(
                    file, "boards.xhtml",
                    self.words.labelled.format(label=self.words.boards, text=title), "svg", False,
                    chapter=chapter_entry(chapter, self.medium), groups=tuple(shown), symbols=symbols,
                )  # fmt: skip

    def _parted(self, group: BoardGroup) -> Iterator[tuple[str, BoardGroup]]:
        """A group's cards by the documents that they stand in; the first part has its anchor."""
        file_of = self.medium.boards
        parts = groupby(group.cards, key=lambda card: file_of[names.boarded(card.anchor)])
        for number, (file, cards) in enumerate(parts):
            anchor = f"{group.anchor}-{number}" if number else group.anchor
            yield file, replace(group, anchor=anchor, cards=tuple(cards))

    # --- what all documents have -------------------------------------------------------------

    def _document(self, file: str, template: str, title: str, properties: str = "",
                  linear: bool = True, **shown: Any) -> Document:  # fmt: skip
        return Document(file, self._render(template, file, title, **shown), properties, linear)

    def _render(self, template: str, file: str, title: str, **shown: Any) -> str:
        html = self.templates.get_template(template).render(
            file=file, title=title, cover=self.cover(), words=self.words,
            figurines=self.booklet.figurines, style_sheet=STYLE_SHEET, **shown,
        )  # fmt: skip
        return xhtml(html.strip()) + "\n"

    def cover(self) -> Cover:
        return cover_of(self.booklet, self.words)

    def _title(self, part: Part) -> str:
        return getattr(self.words, part.word)

    def _all_diagrams(self) -> Iterator[Diagram]:
        yield from self.booklet.diagrams
        for exercise in self.booklet.exercises:
            yield exercise.diagram
