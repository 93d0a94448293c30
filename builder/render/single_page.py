"""One chapter of the site as a page that holds all it needs: to send by mail, to keep.

In: a booklet, the chapter's slug, the theme's style, scripts and pictures as text. Out: one HTML
page. It reaches no network and runs the scripts that it brings along and no others: its policy
names each by its hash. Links into other chapters are words.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from markupsafe import Markup

from builder.book.meetings import meetings
from builder.book.partings import games_by_ply
from builder.draw import svg
from builder.model import Booklet, Diagram, Ply
from builder.render import prose
from builder.render.medium import Context
from builder.render.moves import titled_text
from builder.render.notation import Notation
from builder.render.site_medium import SiteMedium
from builder.render.site_views import Frame, chapter_entry, cover_of, solution_of, top_level
from builder.render.theme_files import ThemeFiles
from builder.render.whereabouts import whereabouts
from builder.render.words import read_words

TEMPLATE = "single.html"
# What tells a page of ours from somebody else's file.
MARK = b'<meta name="generator" content="Plyleaf, a chapter to send">'
_POLICY = (
    "default-src 'none'; script-src {}; img-src data:; style-src {}; font-src data:; "
    "base-uri 'none'; form-action 'none'"
)
_TOP = Markup(
    '<!DOCTYPE html>\n<html lang="{}"{}>\n<head>\n<meta charset="utf-8">\n{}\n'
    '<meta http-equiv="Content-Security-Policy" content="{}">\n'
)


@dataclass(frozen=True, slots=True)
class Script:
    """A script of ours and the `data-` attributes of its element."""

    text: str
    told: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class SingleMedium(SiteMedium):
    """See `builder.render.medium.Medium`. `shown` is the chapter's slug, `numbers` gives those of
    all chapters, `pictures` the addresses of the pictures that are in the page."""

    shown: str = ""
    numbers: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    pictures: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def href(self, chapter: str, anchor: str) -> str:
        return f"#{anchor}" if chapter == self.shown else ""

    def chapter_href(self, chapter: str) -> str:
        return "#text" if chapter == self.shown else ""

    def move_id(self, ply: Ply) -> str:
        return ply.anchor if ply.chapter == self.shown else ""

    def move_href(self, ply: Ply) -> str:
        """The move's place in the text; with scripts, it is shown on the board."""
        return self.href(ply.chapter, ply.anchor)

    def picture_src(self, file: str) -> str:
        return self.pictures.get(file, "")

    def reference(self, diagram: Diagram) -> Markup:
        """'Diagram 7, Chapter 3' where that chapter isn't here."""
        if diagram.chapter == self.shown:
            return SiteMedium.reference(self, diagram)
        return Markup("{}\u00a0{}, {}\u00a0{}").format(
            self.words.diagram, diagram.number, self.words.chapter, self.numbers[diagram.chapter]
        )


@dataclass(frozen=True, slots=True)
class SinglePage:
    """`body` is what the theme's template made, `top` the builder's own."""

    top: str
    body: str

    @property
    def html(self) -> str:
        return self.top + self.body


def single_page(booklet: Booklet, slug: str, theme: ThemeFiles, style: str,
                scripts: Iterable[Script], pictures: Mapping[str, str]) -> SinglePage:  # fmt: skip
    """`style` and `scripts` are put into the page as they are; `pictures` gives the addresses
    (`data:…`) of picture files.

    Raises KeyError where there is no such chapter, ValueError for a script that HTML would cut
    short, and what a faulty template makes Python raise.
    """
    chapter, words = booklet.chapter(slug), read_words(booklet.language)
    top = top_level(chapter)
    medium = SingleMedium(
        words, Notation(booklet.language, booklet.figurines), booklet.names, meetings(booklet),
        whereabouts(booklet), here="", left=games_by_ply(booklet),
        heading_level=3 - (top or 1), shown=slug,
        numbers=MappingProxyType({one.slug: one.number for one in booklet.chapters}),
        pictures=pictures,
    )  # fmt: skip
    at = Context(medium, slug, title_level=3 if top else 2)
    back = Context(medium, slug, title_level=3)
    entry = chapter_entry(chapter, medium, here=True, sections=True)
    body = theme.environment().get_template(TEMPLATE).render(
        page=Frame("", titled_text(chapter.title, medium.notation), (entry,), (), None, None),
        cover=cover_of(booklet, words), words=words, chapter=entry, boards_href="",
        body=prose.blocks(chapter.blocks, at), notes=prose.footnotes(chapter.footnotes, at),
        solutions=tuple(solution_of(one, back, medium) for one in chapter.exercises),
        symbols=Markup(svg.symbols()),
    )  # fmt: skip
    return SinglePage(_top(booklet, style, tuple(scripts)), f"{body}\n")


def _top(booklet: Booklet, style: str, scripts: tuple[Script, ...]) -> str:
    style = f"\n{style}\n".replace("\r", "").replace("</", "<\\/")  # in CSS an escape of the same
    for script in scripts:
        if "</" in script.text and "</script" in script.text.lower() or "\r" in script.text:
            raise ValueError("a script holds what HTML would take for its end")
    policy = _POLICY.format(" ".join(_source(one.text) for one in scripts), _source(style))
    figurine = Markup(' class="figurine"') if booklet.figurines else Markup("")
    found = [_TOP.format(booklet.language, figurine, Markup(MARK.decode()), Markup(policy)),
             Markup("<style>{}</style>\n").format(Markup(style))]  # fmt: skip
    for one in scripts:
        told = Markup("").join(
            Markup(' data-{}="{}"').format(name, value) for name, value in one.told.items()
        )
        found.append(Markup("<script{}>{}</script>\n").format(told, Markup(one.text)))
    return str(Markup("").join(found))


def _source(text: str) -> str:
    """A policy's word for a text that may stand in the page (CSP Level 3, 2.3.1)."""
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"
