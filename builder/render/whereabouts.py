"""On which page of the site something stands.

In: a booklet. Out: for an anchor of a chapter, the page that holds it. Nearly all of a chapter
stands on the chapter's own page; its solutions, with all that is in them, stand at the back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from builder import names
from builder.model import (
    Booklet, ClaimedWords, Comment, Diagram, Emphasis, Exercise, FootnoteRef, Inline, Line, Link,
    Moves, Ply, PositionLink, Strike, Strong,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """`at_back` holds the anchors of what stands on the page of solutions."""

    at_back: frozenset[str]

    def page(self, chapter: str, anchor: str) -> str:
        return names.SOLUTIONS_PAGE if anchor in self.at_back else names.chapter_page(chapter)


def whereabouts(booklet: Booklet) -> Whereabouts:
    return Whereabouts(
        frozenset(
            anchor for exercise in booklet.exercises for anchor in _solution_anchors(exercise)
        )
    )


def _solution_anchors(exercise: Exercise) -> Iterator[str]:
    yield exercise.solution_anchor
    yield from _line_anchors(exercise.solution)
    for item in exercise.solution.items:
        if isinstance(item, Diagram):
            yield from _inline_anchors((item,), exercise.chapter)
        elif isinstance(item, Comment):
            yield from _inline_anchors(item.inlines, exercise.chapter)


def _line_anchors(line: Line) -> Iterator[str]:
    yield line.anchor
    yield names.start_anchor(line.anchor)
    for item in line.items:
        if isinstance(item, Ply):
            yield item.anchor


def _inline_anchors(nodes: Iterable[Inline], chapter: str) -> Iterator[str]:
    stack = list(nodes)
    while stack:
        node = stack.pop()
        match node:
            case Moves():
                if node.aside is not None:
                    yield from _line_anchors(node.aside)
            case Diagram():
                yield node.anchor
                stack.extend(node.caption)
            case FootnoteRef():
                if node.first:
                    yield names.footnote_ref_anchor(chapter, node.number)
            case Emphasis() | Strong() | Strike() | Link():
                stack.extend(node.children)
            case ClaimedWords() | PositionLink():
                stack.extend(node.words or ())
