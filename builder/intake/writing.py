"""Blocks to the text of a chapter, in the language that authors write."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import chess

from builder import names
from builder.intake.layout import Block, Kids
from builder.intake.tree import MoveTree, Node
from builder.intake.words import escaped, paragraph, paragraphs, toml_text, wrapped
from builder.source.movetext import SIGN_NAGS, SUFFIX_NAGS

_SUFFIXES = {nag: sign for sign, nag in SUFFIX_NAGS.items()}
# The written forms in ASCII; the first one that the language has where there are several.
_SIGNS = {nag: sign for sign, nag in reversed(SIGN_NAGS.items())}


@dataclass(frozen=True, slots=True)
class Part:
    """The blocks of one piece, and the tree that they are of. `title` heads it, if not empty."""

    tree: MoveTree
    blocks: list[Block]
    kids: Kids
    title: str = ""


@dataclass(frozen=True, slots=True)
class Diagrams:
    """Positions without moves: FEN and caption of each."""

    positions: tuple[tuple[str, str], ...]


@dataclass(slots=True)
class Draft:
    """A chapter to be written. `note` is for the author; `prose` stands in front.

    `is_draft` keeps it out of builds. `is_ready` tells that its words are in the language of
    chapters already, cleaned and escaped.
    """

    title: str
    eco: str = ""
    summary: str = ""
    note: str = ""
    prose: str = ""
    parts: list[Part | Diagrams] = field(default_factory=list)
    is_draft: bool = False
    is_ready: bool = False

    def lines(self) -> list[Part]:
        return [part for part in self.parts if isinstance(part, Part)]

    def boards(self) -> int:
        """How many positions without moves it shows."""
        return sum(len(part.positions) for part in self.parts if isinstance(part, Diagrams))

    def moves(self) -> int:
        return sum(1 for _ in _nodes(self))


# --- names ----------------------------------------------------------------------------------------


def name_positions(drafts: Iterable[Draft], taken: Collection[str]) -> dict[int, str]:
    """Names for the positions that lines start from or that others transpose into, by the `id` of
    the node, in reading order: the move's number and the move, `4-nxd4`; a name that is taken
    begins with words of the chapter's title."""
    drafts = list(drafts)
    wanted = {id(block.at) for draft in drafts for part in draft.lines() for block in part.blocks}
    for draft in drafts:
        for node in _nodes(draft):
            if node.same_as is not None:
                wanted.add(id(node.same_as))
    found: dict[int, str] = {}
    used = set(taken)
    for draft in drafts:
        for node in _nodes(draft):
            if id(node) in wanted and id(node) not in found:
                name = _free(_move_name(node), draft.title, used)
                found[id(node)] = name
                used.add(name)
    return found


def _move_name(node: Node) -> str:
    return f"{node.number}-{names.slug(node.san) if node.move else 'pass'}"


def _free(name: str, title: str, used: Collection[str]) -> str:
    if name in used:
        words = names.slug(title)[:24].rsplit("-", 1 if len(names.slug(title)) > 24 else 0)[0]
        name = f"{words}-{name}"
    base, count = name, 1
    while name in used:
        count += 1
        name = f"{base}-{count}"
    return name


def _nodes(draft: Draft) -> Iterator[Node]:
    """Every node that the chapter writes, in reading order."""
    for part in draft.lines():
        for block in part.blocks:
            for node in block.path:
                yield node
                stack = list(reversed(block.inline[id(node)]))
                while stack:
                    inner = stack.pop()
                    yield inner
                    stack += reversed(part.kids(inner))


# --- a chapter ------------------------------------------------------------------------------------


def chapter_text(draft: Draft, named: Mapping[int, str]) -> str:
    """The chapter's file."""
    front = [f"title = {toml_text(draft.title)}"]
    if draft.eco:
        front.append(f"eco = {toml_text(draft.eco)}")
    if draft.summary:
        front.append(f"summary = {toml_text(draft.summary)}")
    if draft.is_draft:
        front.append("draft = true")
    words = _as_it_is if draft.is_ready else escaped
    out = ["\n".join(["+++", *front, "+++"])]
    if draft.note:
        out.append("\n".join(wrapped(["<!--", *_harmless(draft.note).split(), "-->"])))
    out += _prose(draft.prose, words)
    ids: set[str] = set()
    for part in draft.parts:
        if isinstance(part, Diagrams):
            out += [_diagram(fen, caption) for fen, caption in part.positions]
            continue
        if part.title:
            out.append(f"## {' '.join(paragraph(part.title))}")
        for block in part.blocks:
            out += _block(block, part, named, ids, words)
    return "\n\n".join(out) + "\n"


def _harmless(text: str) -> str:
    """Words for an HTML comment: letters, digits and a few signs."""
    return re.sub(r"-{2,}", "-", re.sub(r"[^\w .,:;/+()'-]", " ", text))


def _as_it_is(text: str) -> str:
    return text


def _prose(text: str, words: Callable[[str], str]) -> list[str]:
    return ["\n".join(paragraph(part, words)) for part in paragraphs(text)] if text else []


def _diagram(fen: str, caption: str) -> str:
    words = escaped(caption).replace('"', "&#34;")
    return f'```diagram "{fen}"' + (f' "{words}"' if words else "") + "\n```"


def _block(block: Block, part: Part, named: Mapping[int, str], ids: set[str],
           words: Callable[[str], str]) -> Iterator[str]:  # fmt: skip
    if block.heading:
        yield f"{'#' * block.heading} {block_title(block)}"
    yield from _prose(block.prose, words)
    header = f"```line {_line_id(block, ids)}"
    if block.at.move is not None:
        header += f" from @{named[id(block.at)]}"
    elif part.tree.start.fen != chess.STARTING_FEN:
        header += f' from "{part.tree.start.fen}"'
    moves = wrapped(_Tokens(part.kids, named, words).of(block))
    yield "\n".join([header, *moves, "```"])


def block_title(block: Block) -> str:
    """The move that the block begins with, and the one before: `4.Nxd4 Bc5`."""
    first, before = block.path[0], block.at
    if before.move is None:
        return first.label
    if before.by_white:
        return f"{before.label} {first.san}"
    return f"{before.label} {first.label}"


def _line_id(block: Block, ids: set[str]) -> str:
    base = "main" if block.main else names.slug(block.lead.san)
    line_id, count = base, 1
    while line_id in ids:
        count += 1
        line_id = f"{base}-{count}"
    ids.add(line_id)
    return line_id


# --- movetext -------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Tokens:
    """The pieces of a line that are not parted at line ends."""

    kids: Kids
    named: Mapping[int, str]
    words: Callable[[str], str]
    numbered: bool = True

    def of(self, block: Block) -> Iterator[str]:
        if block.opens:
            yield "(D)"
        for index, node in enumerate(block.path):
            if node.before and not (index == 0 and block.opening_told):
                yield from self._comment(node.opening)
            yield from self._move(node, id(node) in block.diagrams)
            if id(node) not in block.told:
                yield from self._comment(node.comment)
            for other in block.inline[id(node)]:
                yield from self._variation(other)
        if block.result:
            yield block.result

    def _variation(self, first: Node) -> Iterator[str]:
        """A variation in its brackets; `layout` bounds how deep they are nested."""
        self.numbered = True
        tokens: list[str] = []
        node: Node | None = first
        others: list[Node] = []
        while node is not None:
            if node is first:
                tokens += self._comment(node.opening)
            tokens += self._move(node, False)
            tokens += self._comment(node.comment)
            for other in others:
                tokens += self._variation(other)
            following = self.kids(node)
            node, others = (following[0], following[1:]) if following else (None, [])
        self.numbered = True
        tokens[0] = f"({tokens[0]}"
        tokens[-1] += ")"
        yield from tokens

    def _move(self, node: Node, diagram: bool) -> Iterator[str]:
        number = ""
        if node.by_white or self.numbered:
            number = f"{node.number}{'.' if node.by_white else '...'} "
        self.numbered = False
        glued, *loose = [*_signs(node.nags)] or [""]
        if glued and glued[0] not in "!?":
            glued, loose = "", [glued, *loose]
        yield f"{number}{node.san}{glued}"
        yield from loose
        if id(node) in self.named:
            yield f"@{self.named[id(node)]}"
        if node.same_as is not None:
            yield f"{{% same as @{self.named[id(node.same_as)]} %}}"
        if diagram:
            yield "(D)"
            self.numbered = True

    def _comment(self, text: str) -> Iterator[str]:
        if text:
            yield from f"{{{self.words(text)}}}".split(" ")
            self.numbered = True


def _signs(nags: Iterable[int]) -> Iterator[str]:
    """The signs of a move; only a first one may be glued to it."""
    for index, nag in enumerate(nags):
        if nag in _SUFFIXES and index == 0:
            yield _SUFFIXES[nag]
        elif nag in _SIGNS:
            yield _SIGNS[nag]
        else:
            yield f"${nag}"
