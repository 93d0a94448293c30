"""Diagrams as figures: the board, and under it what a reader wants to know of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from builder.model import Diagram, Position
from builder.render.inline import inlines, plain
from builder.render.medium import Context
from builder.render.moves import position_words
from builder.render.words import Words


# As many boards stand abreast at most.
MOST_ABREAST = 3


# A caption beside other boards has no more letters than this.
_SHORT_CAPTION = 90


def can_stand_abreast(diagram: Diagram) -> bool:
    return diagram.size != "large" and len(plain(diagram.caption)) <= _SHORT_CAPTION


def row(diagrams: Sequence[Diagram], at: Context) -> Markup:
    """Diagrams that follow one another: on paper two or three of them stand abreast."""
    return Markup("\n").join(
        _abreast(part, at) if len(part) > 1 else figure(part[0], at)
        for part in (_rows(diagrams) if at.medium.on_paper else ([one] for one in diagrams))
    )


def _abreast(diagrams: Sequence[Diagram], at: Context) -> Markup:
    return Markup('<div class="abreast of-{}">\n{}\n</div>').format(
        len(diagrams), Markup("\n").join(figure(diagram, at) for diagram in diagrams)
    )


def _rows(diagrams: Sequence[Diagram]) -> Iterator[Sequence[Diagram]]:
    """Rows as equal as can be; a large diagram stands by itself."""
    waiting: list[Diagram] = []
    for diagram in diagrams:
        if can_stand_abreast(diagram):
            waiting.append(diagram)
            continue
        yield from _even(waiting)
        waiting = []
        yield [diagram]
    yield from _even(waiting)


def _even(diagrams: Sequence[Diagram]) -> Iterator[Sequence[Diagram]]:
    count = -(-len(diagrams) // MOST_ABREAST)
    done = 0
    for number in range(count):
        end = -(-len(diagrams) * (number + 1) // count)
        yield diagrams[done:end]
        done = end


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
