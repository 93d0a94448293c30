"""The print's answers to what fragments ask: one document, boards in the board font, page
numbers in references."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from urllib.parse import quote

from markupsafe import Markup

from builder import names
from builder.book.meetings import Meeting
from builder.draw import board as drawn
from builder.draw import print_board
from builder.draw.figures_svg import Palette
from builder.draw.text import describe
from builder.model import Diagram, Exercise, Game, NamedPosition, Ply
from builder.render.notation import Notation
from builder.render.site_codes import SiteCodes
from builder.render.words import Words

PICTURES = "pictures/"  # the addresses of the booklet's pictures begin so
_INK = Palette(ink="#000", paper="#fff", mark="#000", family="Source Sans 3, sans-serif")


@dataclass(frozen=True, slots=True)
class PrintMedium:
    """See `builder.render.medium.Medium`. Links lead to anchors of the one document."""

    words: Words
    notation: Notation
    names: Mapping[str, NamedPosition]
    met: Mapping[str, tuple[Meeting, ...]]
    heading_level: int = 1
    hints_at_task: bool = False
    codes: SiteCodes = SiteCodes()
    left: Mapping[str, tuple[Game, ...]] = field(default_factory=lambda: MappingProxyType({}))
    table_columns: int = 5
    on_paper: bool = True

    def href(self, chapter: str, anchor: str) -> str:
        return f"#{anchor}"

    def chapter_href(self, chapter: str) -> str:
        return f"#{names.chapter_anchor(chapter)}"

    def move_id(self, ply: Ply) -> str:
        return ply.anchor

    def move_href(self, ply: Ply) -> str:
        """Nowhere: on paper the move is looked for by eye."""
        return ""

    def picture_src(self, file: str) -> str:
        return PICTURES + quote(file)

    def board(self, diagram: Diagram) -> Markup:
        return self._drawn(
            drawn.BoardView(
                placement=diagram.position.placement,
                white_to_move=diagram.position.white_to_move,
                flip=diagram.flip,
                marks=tuple(
                    drawn.Mark(mark.kind, mark.squares, mark.text) for mark in diagram.marks
                ),
            )
        )

    def thumbnail(self, diagram: Diagram) -> Markup:
        """A small board without marks and coordinates."""
        return self._drawn(
            drawn.BoardView(diagram.position.placement, flip=diagram.flip, coordinates=False)
        )

    def _drawn(self, view: drawn.BoardView) -> Markup:
        alt = describe(view, self.words.board)
        return Markup(print_board.board_html(view, palette=_INK, alt=alt))

    def beside(self, exercise: Exercise) -> Markup:
        return self.codes.exercise(exercise)

    def reference(self, diagram: Diagram) -> Markup:
        """The style sheet adds the page."""
        return Markup('<a class="ref" href="#{}">{}\u00a0{}</a>').format(
            diagram.anchor, self.words.diagram, diagram.number
        )

    def games(self, ply: Ply) -> tuple[Game, ...]:
        return self.left.get(ply.anchor, ())

    def meetings(self, ply: Ply) -> tuple[Meeting, ...]:
        return self.met.get(ply.anchor, ())
