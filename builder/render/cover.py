"""The cover: back, spine and front, or one of its outer faces, as HTML for print.

In: a booklet, what is wanted on its cover, and the measures of the sheet. Out: the document that
`builder.press` lays out. What the cover looks like is the theme's: `cover.html`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import ceil
from urllib.parse import quote

import mistune
from markupsafe import Markup, escape

from builder.draw import print_board
from builder.draw.board import BoardView
from builder.draw.text import describe
from builder.model import Booklet, Position
from builder.render.print_document import css_text
from builder.render.print_medium import PICTURES
from builder.render.site_codes import SiteCodes
from builder.render.theme_files import ThemeFiles
from builder.render.typeset import typeset
from builder.render.typography import quotes
from builder.render.words import date_words, read_words

TEMPLATE = "cover.html"
WINDOW = 0.64  # of the height, for a picture; as in the theme's style
SPINE_TEXT = 6.0  # mm of a spine that bears words; common practice, no source


@dataclass(frozen=True, slots=True)
class CoverParts:
    """What stands on a cover; the parts that are empty are left out.

    `theme` is the print theme's name, `colour` the author's `#rrggbb`. `picture` is a file of the
    booklet, `position` what the large diagram shows where there is no picture.
    """

    theme: str
    colour: str
    picture: str
    position: Position | None
    flip: bool
    text: str
    codes: SiteCodes


class Face(Enum):
    """What a document of the cover shows."""

    SHEET = "sheet"  # back, spine and front side by side
    FRONT = "front"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class CoverSize:
    """Millimetres: of one panel, which is as large as a page, and of the spine. Colour and picture
    go `over` the edges by so much; where it is less than 0 they stop short of them."""

    width: float
    height: float
    spine: float
    over: float

    @property
    def window(self) -> tuple[float, float]:
        """The width and height that a picture fills, on a sheet up to its fold."""
        return self.width + self.over, self.height * WINDOW + self.over


def cover_html(booklet: Booklet, theme: ThemeFiles, parts: CoverParts, size: CoverSize,
               face: Face = Face.SHEET) -> str:  # fmt: skip
    """The document, of one page.

    Raises jinja2.TemplateError, and what `ThemeFiles.text` raises, when the theme is at fault.
    """
    booklet, words = typeset(booklet), read_words(booklet.language)
    return theme.environment().get_template(TEMPLATE).render(
        booklet=booklet, words=words, css_text=css_text, parts=parts, size=size, face=face.value,
        date=date_words(booklet.date, words), blurb=_blurb(parts.text, booklet.language),
        board=_board(booklet, parts), code=parts.codes.cover(), title_size=title_size,
        picture=PICTURES + quote(parts.picture) if parts.picture else "", is_dark=is_dark,
        square=_square(booklet, size), spine_size=_spine_size(booklet, size),
    )  # fmt: skip


def _board(booklet: Booklet, parts: CoverParts) -> Markup:
    if parts.position is None or parts.picture:
        return Markup("")
    view = BoardView(parts.position.placement, flip=parts.flip, coordinates=False)
    alt = describe(view, read_words(booklet.language).board)
    return Markup(print_board.board_html(view, alt=alt))


def _square(booklet: Booklet, size: CoverSize) -> float:
    """A square's side in mm: the board on its card, nine squares wide, fills the text's width or
    the height that the words above are likely to leave it. (Lengths as in the theme's style.)"""
    width, room = size.width, size.width * 0.8
    title = title_size(booklet.title, room)
    words = _lines(booklet.title, title, room) * title * 1.08
    words += _lines(booklet.subtitle, width * 0.042, room) * width * 0.053
    left = size.height - words - width * (0.11 + 0.042 + 0.08 + 0.06 + 0.19)
    return max(min(room, left), size.height * 0.3) / 9


def _lines(text: str, size: float, width: float) -> int:
    """How many lines a text is likely to take; a letter is 0.47 of the size wide."""
    return ceil(len(text) * size * 0.47 / (width * 0.92))


def _spine_size(booklet: Booklet, size: CoverSize) -> float:
    """The type size in mm of the words on the spine, which run along it; 0 where it bears none."""
    if size.spine < SPINE_TEXT:
        return 0.0
    letters = len(booklet.title) + len(booklet.author) + 4
    return min(size.spine * 0.5, 5.5, size.height * 0.8 / (0.5 * letters))


def title_size(title: str, width: float, lines: int = 3) -> float:
    """The type size in mm at which a title fills `width` mm well: no word is wider, and there are
    at most `lines` lines. A letter is taken to be 0.55 of the size wide."""
    longest = max((len(word) for word in title.split()), default=1)
    return min(width * 0.13, width / (0.55 * longest), width * lines / (0.62 * max(1, len(title))))


def is_dark(colour: str) -> bool:
    """Whether white letters stand out more from `#rrggbb` than black ones (WCAG 2.2, contrast
    ratio: the two are alike at a relative luminance of 0.179)."""
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
                        for value in channels)  # fmt: skip
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue < 0.179


class _Blurb(mistune.HTMLRenderer):
    """Paragraphs, lists and emphasis; on paper a link is its words, a picture has a key of its
    own, and a heading is a line in bold."""

    def link(self, text: str, url: str, title: str | None = None) -> str:
        return text

    def image(self, text: str, url: str, title: str | None = None) -> str:
        return text

    def heading(self, text: str, level: int, **attrs: object) -> str:
        return f"<p><strong>{text}</strong></p>\n"

    def text(self, text: str) -> str:
        return str(escape(text))


def _blurb(text: str, language: str) -> Markup:
    made = mistune.create_markdown(renderer=_Blurb(escape=True))(quotes(text, language))
    return Markup(made)
