"""The booklet's words for the site's search.

In: the booklet. Out: what is said where. An entry is a paragraph, a caption or a comment; its
address is that of the nearest thing before it that has one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from builder import names
from builder.model import (
    Block, Booklet, Chapter, CodeBlock, Comment, Diagram, Exercise, Game, Heading, Inline, ItemList,
    Line, Moves, Paragraph, Ply, Quote, Table,
)  # fmt: skip
from builder.render.games import game_words
from builder.render.inline import plain
from builder.render.moves import titled_text
from builder.render.notation import Notation
from builder.render.whereabouts import Whereabouts
from builder.render.words import Words


def site_text(booklet: Booklet, places: Whereabouts, language: Words) -> dict[str, Any]:
    """`entries` are [chapter's number from 0, address, words]; `names` are [name, address, where
    it stands], for the named positions."""
    entries = [
        [index, address, words]
        for index, chapter in enumerate(booklet.chapters)
        for address, words in _Walk(chapter, places, language).entries()
    ]
    notation = Notation(booklet.language, booklet.figurines)
    titles = {one.slug: titled_text(one.title, notation) for one in booklet.chapters}
    named = [
        [one.name, f"{places.page(one.chapter, one.anchor)}#{one.anchor}", titles[one.chapter]]
        for one in booklet.names.values()
    ]
    return {"entries": entries, "names": named}


def blocks_words(blocks: Iterable[Block]) -> str:
    """The words of some blocks on one line."""
    said: list[str] = []
    for block in blocks:
        match block:
            case Paragraph() | Heading():
                said.append(plain(block.inlines))
            case Quote():
                said.append(blocks_words(block.blocks))
            case ItemList():
                said += [blocks_words(item) for item in block.items]
            case CodeBlock():
                said.append(block.text)
    return " ".join(" ".join(said).split())


class _Walk:
    """A chapter in reading order; `here` is the address of what was passed last."""

    def __init__(self, chapter: Chapter, places: Whereabouts, words: Words) -> None:
        self.chapter = chapter
        self.words = words
        self.places = places
        self.here = names.chapter_page(chapter.slug)

    def entries(self) -> Iterator[tuple[str, str]]:
        yield self.here, self.chapter.title
        if self.chapter.summary:
            yield self.here, self.chapter.summary
        yield from self._blocks(self.chapter.blocks)
        for note in self.chapter.footnotes:
            self._pass(names.footnote_anchor(self.chapter.slug, note.number))
            yield from self._blocks(note.blocks)

    def _pass(self, anchor: str) -> None:
        self.here = f"{self.places.page(self.chapter.slug, anchor)}#{anchor}"

    def _blocks(self, blocks: Iterable[Block]) -> Iterator[tuple[str, str]]:
        for block in blocks:
            match block:
                case Heading():
                    self._pass(block.anchor)
                    yield from self._said(block.inlines)
                case Paragraph():
                    yield from self._said(block.inlines)
                case ItemList():
                    for item in block.items:
                        yield from self._blocks(item)
                case Quote():
                    yield from self._blocks(block.blocks)
                case Table():
                    for row in (block.head, *block.rows):
                        yield from self._said([part for cell in row for part in cell])
                case Diagram():
                    yield from self._diagram(block)
                case Line():
                    yield from self._line(block)
                case Game():
                    self._pass(block.anchor)
                    yield self.here, game_words(block, self.words)
                    yield from self._line(block.line)
                case Exercise():
                    self._pass(block.anchor)
                    yield from self._blocks((*block.task, *block.hint))
                    yield from self._line(block.solution)
                    self._pass(block.anchor)

    def _line(self, line: Line) -> Iterator[tuple[str, str]]:
        self._pass(line.anchor)
        for item in line.items:
            match item:
                case Ply():
                    self._pass(item.anchor)
                case Comment():
                    yield from self._said(item.inlines)
                case Diagram():
                    yield from self._diagram(item)

    def _diagram(self, diagram: Diagram) -> Iterator[tuple[str, str]]:
        self._pass(diagram.anchor)
        yield from self._said(diagram.caption)

    def _said(self, inlines: Iterable[Inline]) -> Iterator[tuple[str, str]]:
        """The words, with the diagrams that stand among them after them."""
        inlines = tuple(inlines)
        words = " ".join(plain(inlines).split())
        if words:
            yield self.here, words
        for node in inlines:
            if isinstance(node, Moves) and node.aside is not None:
                for ply in node.aside.plies():
                    self._pass(ply.anchor)
            elif isinstance(node, Diagram):
                yield from self._diagram(node)
