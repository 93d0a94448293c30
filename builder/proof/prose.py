"""What stands in the prose of a booklet, at any depth: in lists, quotations, comments, captions."""

from __future__ import annotations

from collections.abc import Iterator

from builder.model import (
    Chapter, Comment, Diagram, Exercise, Game, ItemList, Line, Moves, Paragraph, PositionLink, Quote,
    Table,
)  # fmt: skip


def position_links(chapter: Chapter) -> Iterator[PositionLink]:
    """The links to named positions, in reading order; those of footnotes last."""
    return (node for node in _nodes(chapter) if isinstance(node, PositionLink))


def prose_moves(chapter: Chapter) -> Iterator[Moves]:
    """The moves in brackets, likewise."""
    return (node for node in _nodes(chapter) if isinstance(node, Moves))


def _nodes(chapter: Chapter) -> Iterator[object]:
    waiting: list[object] = [*reversed(chapter.footnotes), *reversed(chapter.blocks)]
    while waiting:
        node = waiting.pop()
        match node:
            case tuple():
                waiting.extend(reversed(node))
                continue
            case Paragraph() | Comment():
                waiting.append(node.inlines)
            case Game():
                waiting.append(node.line)
            case Line():
                waiting.append(node.items)
            case Exercise():
                waiting.append((*node.task, *node.hint, node.solution))
            case ItemList():
                waiting.append(node.items)
            case Quote():
                waiting.append(node.blocks)
            case Table():
                waiting.append((*node.head, *node.rows))
            case Diagram():
                waiting.append(node.caption)
            case _:
                for name in ("children", "words", "inlines", "blocks"):
                    waiting.append(getattr(node, name, None) or ())
        yield node
