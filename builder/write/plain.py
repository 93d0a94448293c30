"""Running words to plain text with moves in standard letters, for PGN and EPD."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from builder.model import (
    Block, Break, ClaimedWords, Code, CodeBlock, Diagram, Emphasis, FootnoteRef, Heading, Inline,
    ItemList, Link, Moves, NamedPosition, Paragraph, Picture, Ply, PositionLink, Quote, Strike,
    Strong, Text,
)  # fmt: skip

# PGN standard 8.2.3.8: the six suffixes, and the NAGs that they stand for.
SUFFIXES: Mapping[int, str] = {1: "!", 2: "?", 3: "!!", 4: "??", 5: "!?", 6: "?!"}


def plain_text(inlines: Iterable[Inline], names: Mapping[str, NamedPosition]) -> str:
    """The words on one line. `names` are the booklet's, for links without words."""
    found: list[str] = []
    stack = list(inlines)[::-1]
    while stack:
        node = stack.pop()
        match node:
            case Text() | Code():
                found.append(node.text)
            case Break():
                found.append(" ")
            case Moves():
                found.append(moves_text(node.plies, node.nags))
            case Picture():
                found.append(node.alt)
            case Emphasis() | Strong() | Strike() | Link():
                stack.extend(node.children[::-1])
            case ClaimedWords():
                stack.extend(node.words[::-1])
            case PositionLink(words=None):
                found.append(_position_words(names[node.name]))
            case PositionLink():
                stack.extend((node.words or ())[::-1])
            case FootnoteRef() | Diagram():
                pass
    return " ".join("".join(found).split())


def blocks_text(blocks: Iterable[Block], names: Mapping[str, NamedPosition]) -> str:
    """The words of paragraphs, lists and quotations on one line; anything else is left out."""
    found: list[str] = []
    stack = list(blocks)[::-1]
    while stack:
        block = stack.pop()
        match block:
            case Paragraph() | Heading():
                found.append(plain_text(block.inlines, names))
            case Quote():
                stack.extend(block.blocks[::-1])
            case ItemList():
                stack.extend(inner for item in block.items[::-1] for inner in item[::-1])
            case CodeBlock():
                found.append(" ".join(block.text.split()))
    return " ".join(text for text in found if text)


def moves_text(plies: Sequence[Ply], nags: Sequence[tuple[int, ...]] = ()) -> str:
    """`5.Nxc6 bxc6! 6.e5`"""
    words: list[str] = []
    for index, ply in enumerate(plies):
        signs = "".join(SUFFIXES.get(nag, "") for nag in (nags[index] if index < len(nags) else ()))
        follows = index > 0 and plies[index - 1].by_white and not ply.by_white
        words.append((ply.san if follows else ply.label) + signs)
    return " ".join(words)


def _position_words(named: NamedPosition) -> str:
    if named.diagram is not None and named.diagram.number is not None:
        return f"Diagram {named.diagram.number}"
    return f"the position after {named.ply.label}" if named.ply else "the position at the start"
