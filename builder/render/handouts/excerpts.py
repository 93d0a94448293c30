"""The beginning of what an author wrote: as much as a small sheet has room for.

In: the model's inlines. Out: inlines, cut behind a sentence or, where that is too long, behind
a word.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from builder.model import Break, Diagram, FootnoteRef, Inline, Text
from builder.render.inline import plain

# A full stop, or its like, before a new sentence or the end; not behind a word of one or two
# letters, which may be an abbreviation. Common practice, no source.
_SENTENCE_END = re.compile(
    r"(?:^|\w{3}|\d|[^\w\s.])[.!?…]+[\"'”’»)]*(?=\s+[^\Wa-z_]|\s+[„“«\"(]|\s*$)"
)
_CUT = "\u2026"


def first_sentence(nodes: Iterable[Inline], room: int) -> tuple[Inline, ...]:
    """The first sentence, and no more than about `room` letters of it."""
    return _cut(nodes, room, sentence=True)


def beginning(nodes: Iterable[Inline], room: int) -> tuple[Inline, ...]:
    """No more than about `room` letters."""
    return _cut(nodes, room, sentence=False)


def _cut(nodes: Iterable[Inline], room: int, sentence: bool) -> tuple[Inline, ...]:
    found: list[Inline] = []
    for node in nodes:
        if isinstance(node, Diagram | FootnoteRef):
            continue
        if isinstance(node, Text):
            text = node.text if found else node.text.lstrip()
            end = _SENTENCE_END.search(text) if sentence else None
            shown = text[: end.end()] if end else text
            if len(shown) > room:
                return (*found, Text(_whole_words(shown, room) + _CUT))
            found.append(Text(shown))
            if end:
                break
        else:
            shown = " " if isinstance(node, Break) else plain((node,))
            if len(shown) > room:
                return (*found, Text(_CUT)) if found else ()
            found.append(node)
        room -= len(shown)
    return tuple(found)


def _whole_words(text: str, room: int) -> str:
    """As many whole words as there is room for."""
    return text[:room].rpartition(" ")[0].rstrip(" ,;:.–—") or text[:room]
