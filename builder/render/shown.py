"""What a booklet's text shows from other files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from builder.model import Booklet, Claim, Picture, Ply


def shown_pictures(booklet: Booklet) -> Mapping[str, Picture]:
    """Every picture file, with the first picture in reading order that shows it.

    Looks into the fields that make up a node, not into those that lead elsewhere, which the
    model leaves out of a node's repr.
    """
    found: dict[str, Picture] = {}
    waiting: list[Any] = []
    for chapter in reversed(booklet.chapters):
        waiting += [chapter.footnotes, chapter.blocks]
    while waiting:
        node = waiting.pop()
        if isinstance(node, Picture):
            found.setdefault(node.file, node)
        elif isinstance(node, tuple):
            waiting.extend(reversed(node))
        elif is_dataclass(node) and not isinstance(node, Ply | Claim):
            waiting.extend(getattr(node, part.name) for part in reversed(fields(node)) if part.repr)
    return found
