"""The site's pages.

In: a booklet and its site theme. Out: each page's file name and HTML. The theme's templates
give everything from the title on; what keeps a page safe stands before that and is not the
theme's to change: the language, a policy that lets a page run the site's own script files and
nothing else and reach no network, and those script files. A page is whole without them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import jinja2
from markupsafe import Markup

from builder import names
from builder.book.meetings import meetings
from builder.book.partings import games_by_ply
from builder.draw import svg
from builder.model import Booklet, Chapter, Diagram, Ply
from builder.render import prose, site_indexes
from builder.render.games import game_entries, player_entries
from builder.render.medium import Context
from builder.render.moves import titled_text
from builder.render.notation import Notation
from builder.render.opening_index import opening_entries
from builder.render.site_boards import board_groups, following
from builder.render.site_medium import SiteMedium
from builder.render.site_scripts import Use, script_tags
from builder.render.site_views import (
    Entry, Frame, SolutionGroup, chapter_entry, cover_of, solution_of, top_level,
)  # fmt: skip
from builder.render.site_web import Web, web_tags
from builder.render.theme_files import ThemeFiles
from builder.render.whereabouts import whereabouts
from builder.render.words import Words, read_words

STYLE_SHEET = "assets/booklet.css"
_POLICY = (
    "default-src 'none'; script-src 'self'; img-src 'self' data:; style-src 'self'; "
    "font-src 'self' data:; "
    "base-uri 'none'; form-action 'none'"
)
_TOP = Markup(
    '<!DOCTYPE html>\n<html lang="{}"{}>\n<head>\n<meta charset="utf-8">\n'
    f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n{{}}'
)


@dataclass(frozen=True, slots=True)
class SitePage:
    """`template` is the one that made `body`; `top` is the builder's own."""

    file: str
    template: str
    top: str
    body: str

    @property
    def html(self) -> str:
        return self.top + self.body


def site_pages(booklet: Booklet, theme: ThemeFiles, extras: tuple[str, ...],
               web: Web = Web()) -> Iterator[SitePage]:  # fmt: skip
    """Every page. `web` is where the site will stand, if known. `extras` names the files that the site
    offers beside its pages, of `names.PDF_FILE`, `EPUB_FILE`, `PGN_FILE` and `EPD_FILE`.

    Raises jinja2.TemplateError, or whatever a faulty template makes Python raise.
    """
    site = _Site.of(booklet, theme, extras, web)
    yield site.contents()
    for index, chapter in enumerate(booklet.chapters):
        yield site.chapter(index, chapter)
        yield site.boards(chapter)
    for kind in site.parts():
        yield site.part(kind)


# The pages at the back: their files, templates, and the words that title them.
_PARTS = (
    (names.SOLUTIONS_PAGE, "solutions.html", "solutions"),
    (names.POSITIONS_PAGE, "positions.html", "index_of_positions"),
    (names.VARIATIONS_PAGE, "variations.html", "index_of_variations"),
    (names.NAMES_PAGE, "names.html", "index_of_names"),
    (names.GAMES_PAGE, "games.html", "index_of_games"),
    (names.PRACTICE_PAGE, "practice.html", "practice"),
    (names.FIND_PAGE, "find.html", "find"),
)


@dataclass(frozen=True, slots=True)
class _Site:
    booklet: Booklet
    words: Words
    medium: SiteMedium
    templates: jinja2.Environment
    after: Mapping[str, tuple[Ply, ...]]
    extras: tuple[str, ...]
    web: Web

    @staticmethod
    def of(booklet: Booklet, theme: ThemeFiles, extras: tuple[str, ...], web: Web) -> _Site:
        words = read_words(booklet.language)
        notation = Notation(booklet.language, booklet.figurines)
        medium = SiteMedium(words, notation, booklet.names, meetings(booklet),
                            whereabouts(booklet), names.CONTENTS_PAGE,
                            left=games_by_ply(booklet))  # fmt: skip
        return _Site(booklet, words, medium, theme.environment(), following(booklet), extras,
                     web)  # fmt: skip

    # --- pages -------------------------------------------------------------------------------

    def contents(self) -> SitePage:
        labels = {names.PDF_FILE: self.words.as_pdf, names.PGN_FILE: self.words.as_pgn,
                  names.EPUB_FILE: self.words.as_epub, names.EPD_FILE: self.words.as_epd}  # fmt: skip
        extras = tuple(Entry(file, labels.get(file, file)) for file in self.extras)
        first = self.booklet.diagrams[0] if self.booklet.diagrams else None
        return self._page(
            names.CONTENTS_PAGE, "contents.html", self.words.contents, None,
            extras=extras, front=self._front(first),
        )  # fmt: skip

    def _front(self, diagram: Diagram | None) -> Markup:
        """The booklet's first diagram, for its front page; empty when it has none."""
        if diagram is None:
            return Markup("")
        return self.medium.thumbnail(diagram.position, diagram.ply, diagram.flip, "front")

    def chapter(self, index: int, chapter: Chapter) -> SitePage:
        file = names.chapter_page(chapter.slug)
        top = top_level(chapter)
        medium = replace(self.medium, here=file, heading_level=3 - (top or 1))
        at = Context(medium, chapter.slug, title_level=3 if top else 2)
        return self._page(
            file, "chapter.html", titled_text(chapter.title, medium.notation), index,
            chapter=self._chapter_entry(chapter, file),
            body=prose.blocks(chapter.blocks, at),
            notes=prose.footnotes(chapter.footnotes, at),
            boards_href=names.boards_page(chapter.slug) if any(
                line.items for line in chapter.lines) else "",
        )  # fmt: skip

    def boards(self, chapter: Chapter) -> SitePage:
        file = names.boards_page(chapter.slug)
        medium = replace(self.medium, here=file)
        title = titled_text(chapter.title, medium.notation)
        return self._page(
            file, "boards.html", self.words.labelled.format(label=self.words.boards, text=title), None,
            chapter=self._chapter_entry(chapter, file),
            groups=board_groups(chapter, self.after, medium),
        )  # fmt: skip

    def parts(self) -> tuple[tuple[str, str, str], ...]:
        """The pages at the back that have something to show."""
        filled = {
            names.SOLUTIONS_PAGE: bool(self.booklet.exercises),
            names.POSITIONS_PAGE: bool(self.booklet.diagrams),
            names.VARIATIONS_PAGE: any(
                line.is_taught for chapter in self.booklet.chapters
                for line in chapter.lines
            ),
            names.NAMES_PAGE: bool(self.booklet.names),
            names.GAMES_PAGE: bool(self.booklet.games),
            names.PRACTICE_PAGE: bool(self.booklet.exercises or self.booklet.reached),
            names.FIND_PAGE: True,
        }  # fmt: skip
        return tuple(part for part in _PARTS if filled[part[0]])

    def part(self, part: tuple[str, str, str]) -> SitePage:
        file, template, word = part
        medium = replace(self.medium, here=file)
        shown: dict[str, Any]
        if file == names.SOLUTIONS_PAGE:
            shown = {"groups": tuple(self._solutions(medium))}
        elif file == names.POSITIONS_PAGE:
            shown = {"groups": site_indexes.positions(self.booklet, medium),
                     "openings": opening_entries(self.booklet),
                     "href": lambda diagram: medium.href(diagram.chapter, diagram.anchor)}  # fmt: skip
        elif file == names.VARIATIONS_PAGE:
            shown = {"trees": site_indexes.variations(self.booklet, medium)}
        elif file == names.NAMES_PAGE:
            shown = {"entries": site_indexes.named(self.booklet, medium)}
        elif file == names.GAMES_PAGE:
            games = game_entries(self.booklet, self.words)
            shown = {"games": games, "players": player_entries(self.booklet, games),
                     "href": lambda game: medium.href(game.chapter, game.anchor)}  # fmt: skip
        else:  # Pages that their scripts fill.
            shown = {}
        return self._page(file, template, self._title(word), None, **shown)

    def _title(self, word: str) -> str:
        """What a page at the back is called."""
        return getattr(self.words, word, "") or getattr(self.words.reader, word)

    def _solutions(self, medium: SiteMedium) -> Iterator[SolutionGroup]:
        for chapter in self.booklet.chapters:
            at = Context(medium, chapter.slug)
            if chapter.exercises:
                solutions = tuple(solution_of(one, at, medium) for one in chapter.exercises)
                yield SolutionGroup(self._chapter_entry(chapter, medium.here), solutions)

    # --- what all pages have -----------------------------------------------------------------

    def _page(self, file: str, template: str, title: str, index: int | None,
              **shown: Any) -> SitePage:  # fmt: skip
        """`index` counts chapters: a chapter's page leads on to its neighbours."""
        chapters = tuple(self._chapter_entry(one, file) for one in self.booklet.chapters)
        parts = tuple(
            Entry(part, self._title(word), here=part == file)
            for part, _, word in self.parts()
        )
        onward: tuple[Entry | None, Entry | None] = (None, None)
        if index is not None:
            before = chapters[index - 1] if index else None
            after = (chapters + parts)[index + 1 : index + 2]
            onward = (before, after[0] if after else None)
        html = self.templates.get_template(template).render(
            page=Frame(file, title, chapters, parts, *onward),
            cover=cover_of(self.booklet, self.words),
            words=self.words, style_sheet=STYLE_SHEET, contents_href=names.CONTENTS_PAGE,
            symbols=Markup(svg.symbols()), **shown,
        )  # fmt: skip
        figurine = Markup(' class="figurine"') if self.booklet.figurines else Markup("")
        head = self._scripts(file) + web_tags(self.web, file, self.booklet, self.words)
        top = _TOP.format(self.booklet.language, figurine, head)
        return SitePage(file, template, str(top), f"{html}\n")

    def _scripts(self, file: str) -> Markup:
        for chapter in self.booklet.chapters:
            if file == names.chapter_page(chapter.slug):
                return script_tags(Use.READING, [chapter.slug])
        if file == names.SOLUTIONS_PAGE:
            slugs = [chapter.slug for chapter in self.booklet.chapters if chapter.exercises]
            return script_tags(Use.READING, slugs)
        if file in (names.PRACTICE_PAGE, names.FIND_PAGE):
            use = Use.PRACTICE if file == names.PRACTICE_PAGE else Use.FINDING
            return script_tags(use, ())
        return script_tags(Use.PLAIN, ())

    def _chapter_entry(self, chapter: Chapter, file: str) -> Entry:
        here = file in (names.chapter_page(chapter.slug), names.boards_page(chapter.slug))
        medium = replace(self.medium, here=file)
        return chapter_entry(chapter, medium, here, sections=here)
