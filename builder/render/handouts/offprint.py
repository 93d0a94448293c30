"""A part of a booklet printed for itself: links into the rest of it become words.

In: a booklet. Out: the medium of a sheet that shows some of its chapters, or none, and the
booklet that holds one chapter alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from markupsafe import Markup

from builder.book.meetings import Meeting, meetings
from builder.model import Booklet, Diagram, Ply
from builder.render.notation import Notation
from builder.render.print_medium import PrintMedium
from builder.render.words import read_words


@dataclass(frozen=True, slots=True)
class OffprintMedium(PrintMedium):
    """`shown` are the slugs of the chapters that are printed whole, `numbers` those of all
    chapters with their numbers."""

    shown: frozenset[str] = frozenset()
    numbers: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))

    def href(self, chapter: str, anchor: str) -> str:
        """Nowhere, when that isn't on this paper."""
        return PrintMedium.href(self, chapter, anchor) if chapter in self.shown else ""

    def chapter_href(self, chapter: str) -> str:
        return PrintMedium.chapter_href(self, chapter) if chapter in self.shown else ""

    def move_id(self, ply: Ply) -> str:
        """A sheet may show a move twice, and nothing leads to it."""
        return PrintMedium.move_id(self, ply) if ply.chapter in self.shown else ""

    def reference(self, diagram: Diagram) -> Markup:
        """'Diagram 7, Chapter 3' where that chapter is elsewhere."""
        if diagram.chapter in self.shown:
            return PrintMedium.reference(self, diagram)
        return Markup("{}\u00a0{}, {}\u00a0{}").format(
            self.words.diagram, diagram.number, self.words.chapter, self.numbers[diagram.chapter]
        )

    def meetings(self, ply: Ply) -> tuple[Meeting, ...]:
        return PrintMedium.meetings(self, ply) if ply.chapter in self.shown else ()


def offprint_medium(booklet: Booklet, shown: frozenset[str] = frozenset()) -> OffprintMedium:
    """The medium of a paper that shows these chapters of the whole `booklet`."""
    return OffprintMedium(
        read_words(booklet.language),
        Notation(booklet.language, booklet.figurines),
        booklet.names,
        meetings(booklet) if shown else MappingProxyType({}),
        shown=shown,
        numbers=MappingProxyType({chapter.slug: chapter.number for chapter in booklet.chapters}),
    )


def offprint(booklet: Booklet, slug: str) -> Booklet:
    """The booklet with one chapter alone, whose title is the paper's; numbers and names are those
    of the whole. Raises KeyError where there is no such chapter."""
    chapter = booklet.chapter(slug)
    word = read_words(booklet.language).chapter
    return replace(
        booklet, title=chapter.title, subtitle=f"{booklet.title}, {word}\u00a0{chapter.number}",
        chapters=(chapter,), diagrams=chapter.diagrams, exercises=chapter.exercises,
    )  # fmt: skip
