"""A medium for tests: links show what they were asked for, a board is its placement."""

from __future__ import annotations

from dataclasses import dataclass, field

from markupsafe import Markup

from builder.book.meetings import meetings
from builder.book.partings import games_by_ply
from builder.model import Booklet, Diagram, Exercise, Ply
from builder.render.medium import Context
from builder.render.notation import Notation
from builder.render.words import Words, read_words


@dataclass(frozen=True)
class BareMedium:
    """See `builder.render.medium.Medium`."""

    booklet: Booklet
    words: Words
    notation: Notation
    heading_level: int = 1
    hints_at_task: bool = True
    table_columns: int = 4
    on_paper: bool = False
    met: dict = field(default_factory=dict)

    @property
    def names(self):
        return self.booklet.names

    def href(self, chapter: str, anchor: str) -> str:
        return f"{chapter}#{anchor}"

    def chapter_href(self, chapter: str) -> str:
        return chapter

    def move_id(self, ply: Ply) -> str:
        return ply.anchor

    def move_href(self, ply: Ply) -> str:
        return ""

    def picture_src(self, file: str) -> str:
        return f"pictures/{file}"

    def board(self, diagram: Diagram) -> Markup:
        return Markup("<svg>{}</svg>").format(diagram.position.placement)

    def beside(self, exercise: Exercise) -> Markup:
        return Markup("")

    def reference(self, diagram: Diagram) -> Markup:
        return Markup('<a href="#{}">Diagram {}</a>').format(diagram.anchor, diagram.number)

    def games(self, ply: Ply):
        return games_by_ply(self.booklet).get(ply.anchor, ())

    def meetings(self, ply: Ply):
        return self.met.get(ply.anchor, ())


def bare(booklet: Booklet, language: str = "en", figurines: bool = True) -> Context:
    """A context in the booklet's first chapter."""
    medium = BareMedium(booklet, read_words(language), Notation(language, figurines),
                        met=dict(meetings(booklet)))  # fmt: skip
    return Context(medium, booklet.chapters[0].slug)
