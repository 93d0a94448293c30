"""The site's answers to what fragments ask: a page a chapter, boards as SVG, links between
files that also work from a folder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from urllib.parse import quote

from markupsafe import Markup

from builder import names
from builder.book.meetings import Meeting
from builder.draw import board as drawn
from builder.draw import svg
from builder.draw.text import describe
from builder.model import Diagram, Exercise, Game, NamedPosition, Ply, Position
from builder.render import moves
from builder.render.figures import mover
from builder.render.notation import Notation
from builder.render.whereabouts import Whereabouts
from builder.render.words import Words

PICTURES = "pictures/"  # The folder of the site that the booklet's pictures are copied to.


@dataclass(frozen=True, slots=True)
class SiteMedium:
    """See `builder.render.medium.Medium`. `here` is the page that the fragments are for, so
    that a link within it is only a fragment."""

    words: Words
    notation: Notation
    names: Mapping[str, NamedPosition]
    met: Mapping[str, tuple[Meeting, ...]]
    places: Whereabouts
    here: str
    heading_level: int = 2
    hints_at_task: bool = True
    left: Mapping[str, tuple[Game, ...]] = field(default_factory=lambda: MappingProxyType({}))
    table_columns: int = 6
    on_paper: bool = False

    def href(self, chapter: str, anchor: str) -> str:
        return self._to(self.places.page(chapter, anchor), anchor)

    def _to(self, page: str, anchor: str) -> str:
        return f"#{anchor}" if page == self.here else f"{page}#{anchor}"

    def chapter_href(self, chapter: str) -> str:
        return names.chapter_page(chapter)

    def move_id(self, ply: Ply) -> str:
        return ply.anchor

    def move_href(self, ply: Ply) -> str:
        """The board after the move, among the chapter's boards."""
        return self._to(names.boards_page(ply.chapter), names.board_anchor(ply.anchor))

    def picture_src(self, file: str) -> str:
        return PICTURES + quote(file)

    def board(self, diagram: Diagram) -> Markup:
        title = moves.diagram_text(diagram, self.words, self.notation)
        return self._drawn(diagram_view(diagram), title, f"{diagram.anchor}-drawn")

    def board_after(self, ply: Ply) -> Markup:
        """A small board of the position after a move, with the move shown."""
        move = ply.move
        view = drawn.BoardView(
            placement=ply.after.placement,
            white_to_move=ply.after.white_to_move,
            last_move=None if ply.is_pass else (move.from_square, move.to_square),
            coordinates=False,
        )
        title = moves.position_text(ply, ply.after, self.words, self.notation)
        return self._drawn(view, title, f"{names.board_anchor(ply.anchor)}-drawn")

    def thumbnail(self, position: Position, ply: Ply | None, flip: bool, ident: str) -> Markup:
        """A small board without marks; it stands in a link, so its title names it."""
        view = drawn.BoardView(position.placement, flip=flip, coordinates=False)
        title = moves.position_text(ply, position, self.words, self.notation)
        return Markup(svg.board_svg(view, title=title, ident=ident))

    def _drawn(self, view: drawn.BoardView, title: str, ident: str) -> Markup:
        told = describe(view, self.words.board)
        return Markup(svg.board_svg(view, title=title, ident=ident, desc=told))

    def beside(self, exercise: Exercise) -> Markup:
        """Nothing: the task is here."""
        return Markup("")

    def reference(self, diagram: Diagram) -> Markup:
        return Markup('<a class="ref" href="{}">{}\u00a0{}</a>').format(
            self.href(diagram.chapter, diagram.anchor), self.words.diagram, diagram.number
        )

    def games(self, ply: Ply) -> tuple[Game, ...]:
        return self.left.get(ply.anchor, ())

    def meetings(self, ply: Ply) -> tuple[Meeting, ...]:
        return self.met.get(ply.anchor, ())


def diagram_view(diagram: Diagram) -> drawn.BoardView:
    """What is drawn of a diagram."""
    return drawn.BoardView(
        placement=diagram.position.placement,
        white_to_move=mover(diagram.position),
        flip=diagram.flip,
        marks=tuple(drawn.Mark(mark.kind, mark.squares, mark.text) for mark in diagram.marks),
    )
