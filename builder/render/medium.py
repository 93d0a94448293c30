"""What the site and the print have each in their own way.

The fragments (`prose`, `lines`, `figures`, `exercises`) are the same for both; they ask the
medium where a link leads and how a board is drawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from markupsafe import Markup

from builder.model import Diagram, Exercise, Footnote, Game, NamedPosition, Ply
from builder.render.notation import Notation
from builder.render.words import Words

if TYPE_CHECKING:
    from builder.book.meetings import Meeting


class Medium(Protocol):
    """The site, or the print."""

    @property
    def words(self) -> Words: ...

    @property
    def notation(self) -> Notation: ...

    @property
    def names(self) -> Mapping[str, NamedPosition]: ...

    @property
    def heading_level(self) -> int:
        """The HTML level of an author's level-1 heading; 1 or less where chapters begin with
        deeper ones."""
        ...

    @property
    def table_columns(self) -> int:
        """How many columns of moves an opening table has room for."""
        ...

    @property
    def hints_at_task(self) -> bool:
        """Whether an exercise's hint stands with its task."""
        ...

    @property
    def on_paper(self) -> bool:
        """Whether there are pages: notes stand at their foot then, and what is small stands
        abreast."""
        ...

    def href(self, chapter: str, anchor: str) -> str:
        """Where a link to something in the text leads; empty for nowhere, and then its words
        are no link."""
        ...

    def chapter_href(self, chapter: str) -> str:
        """The same for a link to a chapter."""
        ...

    def move_id(self, ply: Ply) -> str:
        """The id of a move in the text; empty for none."""
        ...

    def move_href(self, ply: Ply) -> str:
        """Where a move leads the reader who follows it; empty for nowhere."""
        ...

    def picture_src(self, file: str) -> str:
        """The address of a picture file of the booklet; empty where it isn't shown, and then its
        words stand for it."""
        ...

    def board(self, diagram: Diagram) -> Markup:
        """The drawn board with its text alternative."""
        ...

    def beside(self, exercise: Exercise) -> Markup:
        """What stands beside a task, as a code that leads to it elsewhere; empty for nothing."""
        ...

    def reference(self, diagram: Diagram) -> Markup:
        """A link to a numbered diagram: 'Diagram 7', in print with its page."""
        ...

    def games(self, ply: Ply) -> tuple[Game, ...]:
        """The games that leave the booklet's lines behind a ply."""
        ...

    def meetings(self, ply: Ply) -> tuple[Meeting, ...]:
        """The other ways to the position that a ply reaches."""
        ...


@dataclass(frozen=True, slots=True)
class Context:
    """Where a fragment stands: its medium, and the chapter whose footnotes are its own.

    `title_level` is the HTML level of an exercise's title; None: under the first headings.
    `foot_notes` are the notes, by number, that stand at the foot of their first mark's page.
    """

    medium: Medium
    chapter: str
    title_level: int | None = None
    foot_notes: Mapping[int, Footnote] = field(default_factory=dict)
