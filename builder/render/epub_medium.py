"""The EPUB's answers to what fragments ask: a document a chapter, diagrams as picture files with
their text alternatives, and for every move a board to follow it to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from markupsafe import Markup

from builder import names
from builder.draw import svg
from builder.draw.text import describe
from builder.model import Diagram, Ply
from builder.render import moves
from builder.render.site_medium import SiteMedium, diagram_view
from builder.render.xhtml import svg_file

SOLUTIONS = "solutions.xhtml"
SHADE = "#ddd6c8"  # of a diagram's dark squares: a light grey on a reader without colours


@dataclass(frozen=True, slots=True)
class EpubMedium(SiteMedium):
    """See `builder.render.medium.Medium`. `boards` gives the document that holds the board of a
    ply's anchor; `pictures` the name of each picture that the EPUB shows."""

    boards: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    pictures: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def href(self, chapter: str, anchor: str) -> str:
        at_back = anchor in self.places.at_back
        return f"{SOLUTIONS if at_back else names.epub_chapter(chapter)}#{anchor}"

    def chapter_href(self, chapter: str) -> str:
        return names.epub_chapter(chapter)

    def move_href(self, ply: Ply) -> str:
        return f"{self.boards[ply.anchor]}#{names.board_anchor(ply.anchor)}"

    def picture_src(self, file: str) -> str:
        return self.pictures.get(file, "")

    def board(self, diagram: Diagram) -> Markup:
        """A picture file, because some readers can't draw one drawing from another's parts."""
        alt = f"{self._title(diagram)}. {describe(diagram_view(diagram), self.words.board)}"
        return self._picture(diagram, alt)

    def small(self, diagram: Diagram) -> Markup:
        """The same picture where its position is only named: in an index, beside a solution."""
        return self._picture(diagram, self._title(diagram))

    def diagram_file(self, diagram: Diagram) -> str:
        """The text of a diagram's picture."""
        return svg_file(svg.board_svg(
            diagram_view(diagram), title=self._title(diagram), ident=f"{diagram.anchor}-drawn",
            desc=describe(diagram_view(diagram), self.words.board), standalone=True, shade=SHADE,
        ))  # fmt: skip

    def _title(self, diagram: Diagram) -> str:
        return moves.diagram_text(diagram, self.words, self.notation)

    def _picture(self, diagram: Diagram, alt: str) -> Markup:
        return Markup('<img class="board" src="{}" alt="{}">').format(
            names.epub_diagram(diagram.anchor), alt
        )
