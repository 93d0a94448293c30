"""Diagrams as figures: the board, and under it what a reader wants to know of it."""

from __future__ import annotations

from markupsafe import Markup

from builder.model import Diagram, Position
from builder.render.inline import inlines
from builder.render.medium import Context
from builder.render.moves import position_words
from builder.render.words import Words


def figure(diagram: Diagram, at: Context) -> Markup:
    """A numbered diagram with its caption, the move before it and the side to move."""
    style = "diagram" if diagram.size == "normal" else f"diagram {diagram.size}"
    return Markup('<figure class="{}" id="{}">\n{}\n{}</figure>').format(
        style, diagram.anchor, at.medium.board(diagram), _caption(diagram, at)
    )


def _caption(diagram: Diagram, at: Context) -> Markup:
    words = at.medium.words
    lifted: list[Diagram] = []
    parts: list[Markup] = []
    if diagram.number is not None:
        parts.append(
            Markup('<span class="number">{}\u00a0{}</span>').format(words.diagram, diagram.number)
        )
    if diagram.caption:
        caption = inlines(diagram.caption, at, lifted)
        parts.append(Markup('<span class="words">{}</span>').format(caption))
    if diagram.ply is not None:
        after = position_words(diagram.ply, diagram.position, at.medium)
        parts.append(Markup('<span class="after">{}</span>').format(after))
    if mover(diagram.position) is not None:
        parts.append(Markup('<span class="turn">{}</span>').format(turn_words(diagram, words)))
    return Markup("<figcaption>{}</figcaption>").format(Markup(" ").join(parts))


def mover(position: Position) -> bool | None:
    """Whether White is to move; None where the game is over and nobody is."""
    return position.white_to_move if any(position.board().legal_moves) else None


def turn_words(diagram: Diagram, words: Words) -> str:
    return words.white_to_move if diagram.position.white_to_move else words.black_to_move
