"""Running words to HTML.

In: the model's inlines. Out: `Markup`, with everything an author wrote escaped. A diagram
can't stand among words: it is handed back, for the caller to set after them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from markupsafe import Markup, escape

from builder import names
from builder.model import (
    Break, ClaimedWords, Code, Diagram, Emphasis, Footnote, FootnoteRef, Inline, Link, Moves,
    Paragraph, Picture, PositionLink, Strike, Strong, Text, words_of,
)  # fmt: skip
from builder.render import moves
from builder.render.medium import Context
from builder.render.notation import STANDARD, plies_text
from builder.render.typography import quotes

# What a link to the web may be; the parser lets no other through, and neither does this.
SAFE_SCHEMES = ("http:", "https:", "mailto:")
_EMPTY = Markup("")
_TAG = re.compile(r"<[^>]*>")
_SPACES = re.compile(r"[ \n]+")  # WeasyPrint 70 leaves line ends in a foot's note as they are


def inlines(nodes: Iterable[Inline], at: Context, lifted: list[Diagram]) -> Markup:
    """Running words; the diagrams among them are put into `lifted`, for after the words."""
    found: list[Markup] = []
    before = ""
    for node in nodes:
        found.append(inline(node, at, lifted, before))
        before = plain((node,))[-1:] or before
    return _EMPTY.join(found)


def inline(node: Inline, at: Context, lifted: list[Diagram], before: str = "") -> Markup:
    """One node; `before` is the character in front of it, which quotation marks depend on."""
    match node:
        case Text():
            return escape(quotes(node.text, at.medium.notation.language, before))
        case Emphasis():
            return Markup("<em>{}</em>").format(inlines(node.children, at, lifted))
        case Strong():
            return Markup("<strong>{}</strong>").format(inlines(node.children, at, lifted))
        case Strike():
            return Markup("<s>{}</s>").format(inlines(node.children, at, lifted))
        case Code():
            return Markup("<code>{}</code>").format(node.text)
        case Break():
            return Markup("<br>\n") if node.hard else Markup("\n")
        case Moves():
            return moves.in_prose(node, at.medium)
        case PositionLink():
            return _position_link(node, at, lifted)
        case ClaimedWords():
            return inlines(node.words, at, lifted)
        case Link():
            return _link(node, at, lifted)
        case FootnoteRef():
            return _footnote_ref(node, at)
        case Picture():
            src = at.medium.picture_src(node.file)
            if not src:
                return escape(node.alt)
            title = Markup(' title="{}"').format(node.title) if node.title else _EMPTY
            return Markup('<img src="{}" alt="{}"{}>').format(src, node.alt, title)
        case Diagram():
            lifted.append(node)
            return _EMPTY
    raise TypeError(f"no inline: {node!r}")


def plain(nodes: Iterable[Inline]) -> str:
    """The words alone, moves in standard letters (see `moves.titled`)."""
    return words_of(nodes, lambda node: plies_text(node.plies, STANDARD), lambda link: link.name)


def bare(words: Markup) -> str:
    """The text of running words as it is set, spaces that end no line and all."""
    return Markup(_TAG.sub("", words)).unescape()


def _link(node: Link, at: Context, lifted: list[Diagram]) -> Markup:
    words = inlines(node.children, at, lifted)
    if node.chapter is not None:
        href = at.medium.chapter_href(node.chapter)
    elif node.href.lower().startswith(SAFE_SCHEMES):
        href = node.href
    else:
        return words
    title = Markup(' title="{}"').format(node.title) if node.title else _EMPTY
    return Markup('<a href="{}"{}>{}</a>').format(href, title, words) if href else words


def _position_link(node: PositionLink, at: Context, lifted: list[Diagram]) -> Markup:
    named = at.medium.names[node.name]
    diagram = named.diagram
    if node.words is None and diagram is not None and diagram.number is not None:
        return at.medium.reference(diagram)
    target = diagram.anchor if diagram else named.anchor
    chapter = diagram.chapter if diagram else named.chapter
    if node.words is None:
        words = moves.position_words(named.ply, named.position, at.medium)
    else:
        words = inlines(node.words, at, lifted)
    href = at.medium.href(chapter, target)
    return Markup('<a href="{}">{}</a>').format(href, words) if href else words


def _at_foot(note: Footnote, at: Context) -> Markup:
    """A note where its mark stands: the style sheet puts it at the page's foot, and the mark
    here. A note holds no note of its own there."""
    inner = replace(at, foot_notes={})
    paragraphs = _EMPTY.join(
        Markup('<span class="paragraph">{}</span>').format(
            Markup(_SPACES.sub(" ", inlines(block.inlines, inner, [])))
        )
        for block in note.blocks
        if isinstance(block, Paragraph)
    )
    return Markup(
        '<span class="foot-note" id="{}" role="doc-footnote" data-number="{}">{}</span>'
    ).format(names.footnote_anchor(at.chapter, note.number), note.number, paragraphs)


def _footnote_ref(node: FootnoteRef, at: Context) -> Markup:
    """The first mark of a note is what the note leads back to; none where the note isn't."""
    href = at.medium.href(at.chapter, names.footnote_anchor(at.chapter, node.number))
    if not href:
        return _EMPTY
    if node.first and node.number in at.foot_notes:
        return _at_foot(at.foot_notes[node.number], at)
    anchor = names.footnote_ref_anchor(at.chapter, node.number) if node.first else ""
    return Markup(
        '<sup><a class="noteref"{} href="{}" role="doc-noteref" aria-label="{}">{}</a></sup>'
    ).format(
        Markup(' id="{}"').format(anchor) if anchor else _EMPTY,
        href,
        at.medium.words.note.format(number=node.number),
        node.number,
    )
