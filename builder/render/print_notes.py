"""Which of a chapter's notes can stand at the foot of a page, and which stand at its end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

from builder.model import (
    Chapter, Claim, Diagram, Footnote, FootnoteRef, Heading, Paragraph, Picture, Ply,
)  # fmt: skip
from builder.render.inline import plain


_LONGEST = 600  # letters of a note at the foot: a longer one would crowd out the page


def foot_notes(chapter: Chapter) -> dict[int, Footnote]:
    """The notes, by number, that can: a few words alone, whose mark stands in running text.

    A layout engine sets a note at the foot of a page from within a paragraph; a heading's words
    are also a bookmark and a running head, and a note that another note leads to has its mark
    at a foot already.
    """
    elsewhere = set(_numbers((*chapter.footnotes, *_headings(chapter.blocks))))
    return {
        note.number: note
        for note in chapter.footnotes
        if note.number not in elsewhere and _is_words(note)
    }


def _is_words(note: Footnote) -> bool:
    letters = 0
    for block in note.blocks:
        if not isinstance(block, Paragraph):
            return False
        letters += len(plain(block.inlines))
    return letters <= _LONGEST and not any(
        isinstance(node, Diagram | Picture) for node in _nodes(note)
    )


def _headings(blocks: tuple[Any, ...]) -> Iterator[Heading]:
    return (node for node in _nodes(blocks) if isinstance(node, Heading))


def _numbers(nodes: tuple[Any, ...]) -> Iterator[int]:
    return (node.number for node in _nodes(nodes) if isinstance(node, FootnoteRef) and node.first)


def _nodes(top: Any) -> Iterator[Any]:
    """Every node in these, by the fields that make up a node (see `render.shown`)."""
    waiting = [top]
    while waiting:
        node = waiting.pop()
        yield node
        if isinstance(node, tuple):
            waiting.extend(node)
        elif is_dataclass(node) and not isinstance(node, Ply | Claim):
            waiting.extend(getattr(node, part.name) for part in fields(node) if part.repr)
