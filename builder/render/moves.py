"""Single moves and moves in a row to HTML."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import chess
from markupsafe import Markup, escape

from builder.model import Diagram, Game, Moves, Ply, Position, position_key
from builder.render.medium import Medium
from builder.render.nags import nag_words
from builder.render.notation import (
    Notation, move_signs, number_text, other_nags, plies_text, position_signs,
)  # fmt: skip
from builder.render.typography import quotes
from builder.render.words import Words

if TYPE_CHECKING:
    from builder.book.meetings import Meeting

_SAN = r"(?:O-O(?:-O)?|[KQRBN]?[a-h]?[1-8]?x?[a-h][1-8](?:=[QRBN])?)[+#]?"
_IN_TITLES = re.compile(rf"(?<![\w.])(\d{{1,3}}\.(?:\.\.)?)({_SAN}(?: {_SAN})?)(?!\w)")


def move(ply: Ply, medium: Medium, nags: tuple[int, ...], numbered: bool,
         anchor: str = "", href: str = "") -> Markup:  # fmt: skip
    """A move with its number and signs in one piece that no line end parts.

    The class `move` is what the figurine font is set on. With `href` it leads there, and not
    where the medium has moves lead.
    """
    text = "".join(
        (
            number_text(ply) if numbered else "",
            medium.notation.san(ply.san),
            move_signs(nags),
            position_signs(nags),
        )
    )
    out = _tag(text, href or medium.move_href(ply), anchor)
    for nag in other_nags(nags):
        out += Markup(' <span class="nag">({})</span>').format(nag_words(nag, medium.words))
    return out


def _tag(text: str, href: str, anchor: str) -> Markup:
    mark = f' id="{escape(anchor)}"' if anchor else ""
    if href:
        return Markup(f'<a class="move"{mark} href="{escape(href)}">{escape(text)}</a>')
    return Markup(f'<span class="move"{mark}>{escape(text)}</span>')


def in_prose(node: Moves, medium: Medium) -> Markup:
    """Moves in the text. Those that first stand here carry their anchors."""
    out: list[Markup] = []
    for index, ply in enumerate(node.plies):
        nags = node.nags[index] if index < len(node.nags) else ()
        anchor = medium.move_id(ply) if ply.anchor in node.new else ""
        out.append(move(ply, medium, nags, ply.by_white or index == 0, anchor))
    return Markup(" ").join(out)


def row(plies: Sequence[Ply], medium: Medium) -> Markup:
    """Moves as a phrase, without links: a tail of a path, an index entry."""
    text = escape(plies_text(tuple(plies), medium.notation))
    return Markup(f'<span class="move">{text}</span>')


def titled(text: str, notation: Notation) -> Markup:
    """A title or summary, which is plain text, with the numbered moves in it set as moves."""
    return Markup("").join(
        Markup('<span class="move">{}</span>').format(part) if is_moves else escape(part)
        for part, is_moves in _title_parts(text, notation)
    )


def titled_text(text: str, notation: Notation) -> str:
    """The same for places without fonts, with the moves in the language's letters."""
    return "".join(part for part, _ in _title_parts(text, notation.lettered))


def lettered(text: str, notation: Notation) -> str:
    """The same; empty where that is how the title is set anyway."""
    found = titled_text(text, notation)
    return "" if found == "".join(part for part, _ in _title_parts(text, notation)) else found


def _title_parts(text: str, notation: Notation) -> Iterator[tuple[str, bool]]:
    """Stretches of a title, and whether they are moves, which are numbered there."""
    text = quotes(text, notation.language)
    done = 0
    for match in _IN_TITLES.finditer(text):
        number, san = match.group(1), match.group(2)
        yield text[done : match.start()], False
        yield number + " ".join(notation.san(move) for move in san.split()), True
        done = match.end()
    yield text[done:], False


def position_words(ply: Ply | None, position: Position, medium: Medium) -> Markup:
    """`After 5.Nxc6`, or what a start position is called."""
    if ply is None:
        return escape(_start_words(position, medium.words))
    text = Markup('<span class="move">{}</span>').format(
        number_text(ply) + medium.notation.san(ply.san)
    )
    return escape(medium.words.position_after).format(move=text)


def position_text(ply: Ply | None, position: Position, words: Words, notation: Notation) -> str:
    """The same without mark-up, for titles and text alternatives."""
    if ply is None:
        return _start_words(position, words)
    return words.position_after.format(move=number_text(ply) + notation.plain(ply.san))


def diagram_text(diagram: Diagram, words: Words, notation: Notation) -> str:
    """A diagram's name: `Diagram 12. After 5.Nxc6`. An exercise's own board has no number."""
    where = position_text(diagram.ply, diagram.position, words, notation)
    return where if diagram.number is None else f"{words.diagram} {diagram.number}. {where}"


def _start_words(position: Position, words: Words) -> str:
    initial = position.key == position_key(chess.Board())
    return words.start_position if initial else words.given_position


def game_reference(game: Game, medium: Medium) -> Markup:
    """A note at a move behind which a game goes its own way; print adds the page."""
    text = Markup("{}\u00a0{}").format(medium.words.game, game.number)
    if href := medium.href(game.chapter, game.anchor):
        text = Markup('<a class="ref" href="{}">{}</a>').format(href, text)
    return Markup('<small class="meeting">({})</small>').format(text)


def meeting(other: Meeting, medium: Medium) -> Markup:
    """A note at a move whose position another path reaches too, with a link to that path."""
    words: Markup = escape(medium.words.also_reached_by)
    text = Markup("{} {}").format(words, row(other.moves, medium))
    if href := medium.href(other.ply.chapter, other.ply.anchor):
        text = Markup('<a href="{}">{}</a>').format(href, text)
    if other.diagram is not None and other.diagram.number is not None:
        text += Markup(", {}").format(medium.reference(other.diagram))
    return Markup('<small class="meeting">({})</small>').format(text)
