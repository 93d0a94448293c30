"""What all handouts share: a theme's templates, and sheets of paper with two sides."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import jinja2

from builder.model import Booklet, Ply
from builder.render.handouts.offprint import OffprintMedium, offprint_medium
from builder.render.medium import Medium
from builder.render.notation import (
    MOVE_SIGNS, POSITION_SIGNS, move_signs, number_text, position_signs,
)  # fmt: skip
from builder.render.print_document import css_text
from builder.render.theme_files import ThemeFiles
from builder.render.typeset import typeset
from builder.render.words import date_words

GALLEY_HEIGHT = 2000.0  # mm of a page on which heights are measured; the theme's galley has it
MARGIN = 10.0  # mm; laser printers leave 4 to 6 mm blank at each edge (common practice, no source)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on a page, in mm from its upper left corner."""

    left: float
    top: float
    width: float
    height: float

    @property
    def style(self) -> str:
        """CSS for an absolute place."""
        return (f"left: {self.left:.3f}mm; top: {self.top:.3f}mm; "
                f"width: {self.width:.3f}mm; height: {self.height:.3f}mm")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Paper:
    """A booklet and a theme for its handouts. `text` raises jinja2.TemplateError, and what
    `ThemeFiles.text` raises, when the templates are at fault."""

    booklet: Booklet
    medium: OffprintMedium
    templates: jinja2.Environment = field(repr=False)

    def text(self, template: str, title: str, **shown: Any) -> str:
        """The HTML of a template; `title` says what the handout is."""
        words = self.medium.words
        return self.templates.get_template(template).render(
            booklet=replace(typeset(self.booklet), subtitle=title), words=words, css_text=css_text,
            date=date_words(self.booklet.date, words), title=title, **shown,
        )  # fmt: skip


def handout_paper(booklet: Booklet, theme: ThemeFiles) -> Paper:
    """For sheets that show none of the chapters' text."""
    return Paper(booklet, offprint_medium(booklet), theme.environment())


def sign_nags(ply: Ply) -> tuple[int, ...]:
    """A move's NAGs that have a sign: words take too much room on a sheet."""
    return tuple(nag for nag in ply.nags if nag in MOVE_SIGNS or nag in POSITION_SIGNS)


def move_text(ply: Ply, medium: Medium, numbered: bool) -> str:
    """A move with its signs, to be set in an element of the class `move`."""
    number = number_text(ply) if numbered else ""
    return (number + medium.notation.san(ply.san) + move_signs(ply.nags)
            + position_signs(ply.nags))  # fmt: skip
