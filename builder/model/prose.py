"""Running words and the blocks that a chapter is made of."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TypeAlias

from builder.model.games import Game, OpeningTable
from builder.model.line import Line, Ply
from builder.model.parts import Claim, Diagram, Exercise
from builder.model.played import Played
from builder.place import Place


@dataclass(frozen=True, slots=True)
class Text:
    text: str


@dataclass(frozen=True, slots=True)
class Emphasis:
    children: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Strong:
    children: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Strike:
    children: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Code:
    text: str


@dataclass(frozen=True, slots=True)
class Break:
    """A line end in a paragraph; `hard` when the author asked for it."""

    hard: bool


@dataclass(frozen=True, slots=True)
class Link:
    """A link to the web (`http`, `https`, `mailto`), or to a chapter of the booklet.

    For a chapter, `chapter` is its slug and `href` is empty.
    """

    href: str
    chapter: str | None
    title: str
    children: tuple[Inline, ...]
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture file of the booklet: `file` is relative to the booklet, checked to exist."""

    file: str
    alt: str
    title: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class FootnoteRef:
    """A mark that leads to `Chapter.footnotes[number - 1]`; `first` is False when repeated."""

    number: int
    first: bool


@dataclass(frozen=True, slots=True)
class Moves:
    """Moves in the text: `plies` in order, with those that first stand here in `new`.

    When `aside` is not None, the new plies are that side-line's.
    """

    plies: tuple[Ply, ...]
    nags: tuple[tuple[int, ...], ...]
    new: frozenset[str]
    aside: Line | None = field(repr=False)
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class PositionLink:
    """A link to a named position, in the author's words or (None) as 'Diagram 7, page 12'."""

    name: str
    words: tuple[Inline, ...] | None
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class ClaimedWords:
    """Words that are printed, and the claim that they make."""

    words: tuple[Inline, ...]
    claim: Claim | None


Inline: TypeAlias = (
    Text | Emphasis | Strong | Strike | Code | Break | Link | Picture | FootnoteRef
    | Moves | PositionLink | ClaimedWords | Diagram
)  # fmt: skip


def words_of(nodes: Iterable[Inline], moves: Callable[[Moves], str],
             unworded: Callable[[PositionLink], str]) -> str:  # fmt: skip
    """The words alone, however deep they are nested; `moves` and `unworded` say what stands for moves
    and for links that have no words of their own."""
    found: list[str] = []
    stack = list(nodes)[::-1]
    while stack:
        node = stack.pop()
        match node:
            case Text() | Code():
                found.append(node.text)
            case Break():
                found.append(" ")
            case Moves():
                found.append(moves(node))
            case Picture():
                found.append(node.alt)
            case Emphasis() | Strong() | Strike() | Link():
                stack.extend(node.children[::-1])
            case PositionLink(words=None):
                found.append(unworded(node))
            case ClaimedWords() | PositionLink():
                stack.extend((node.words or ())[::-1])
            case FootnoteRef() | Diagram():
                pass
    return "".join(found)


@dataclass(frozen=True, slots=True)
class Paragraph:
    inlines: tuple[Inline, ...]
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading inside a chapter; `level` 1 to 6 as written, the chapter's title is above."""

    level: int
    inlines: tuple[Inline, ...]
    anchor: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class ItemList:
    """`start` is the first number of an ordered list, None for a bulleted one."""

    start: int | None
    tight: bool
    items: tuple[tuple[Block, ...], ...]


@dataclass(frozen=True, slots=True)
class Quote:
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class CodeBlock:
    text: str
    info: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A thematic break."""


@dataclass(frozen=True, slots=True)
class Table:
    """`align` holds left, right, center or empty for each column; cells are inlines."""

    align: tuple[str, ...]
    head: tuple[tuple[Inline, ...], ...]
    rows: tuple[tuple[tuple[Inline, ...], ...], ...]


@dataclass(frozen=True, slots=True)
class Footnote:
    number: int
    blocks: tuple[Block, ...]


Block: TypeAlias = (
    Paragraph | Heading | ItemList | Quote | CodeBlock | Rule | Table | Line | Diagram | Exercise
    | Game | OpeningTable | Played
)  # fmt: skip
