"""Running words to plain text with moves in standard letters, for PGN and EPD."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from builder.model import (
    Block, CodeBlock, Heading, Inline, ItemList, NamedPosition, Paragraph, Ply, Quote, words_of,
)  # fmt: skip

# PGN standard 8.2.3.8: the six suffixes, and the NAGs that they stand for.
SUFFIXES: Mapping[int, str] = {1: "!", 2: "?", 3: "!!", 4: "??", 5: "!?", 6: "?!"}


def plain_text(inlines: Iterable[Inline], names: Mapping[str, NamedPosition]) -> str:
    """The words on one line. `names` are the booklet's, for links without words."""
    text = words_of(inlines, lambda node: moves_text(node.plies, node.nags),
                    lambda link: _position_words(names[link.name]))  # fmt: skip
    return " ".join(text.split())


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
    found: list[str] = []
    for index, ply in enumerate(plies):
        signs = "".join(SUFFIXES.get(nag, "") for nag in (nags[index] if index < len(nags) else ()))
        follows = index > 0 and plies[index - 1].by_white and not ply.by_white
        found.append((ply.san if follows else ply.label) + signs)
    return " ".join(found)


def _position_words(named: NamedPosition) -> str:
    if named.diagram is not None and named.diagram.number is not None:
        return f"Diagram {named.diagram.number}"
    return f"the position after {named.ply.label}" if named.ply else "the position at the start"
