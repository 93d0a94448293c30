"""The boards pages: the position after every move of a chapter, so that every move in the text
leads to a board without any script."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import chess
from markupsafe import Markup, escape

from builder import names
from builder.model import Booklet, Chapter, Line, Ply
from builder.render import moves
from builder.render.games import players
from builder.render.notation import number_text
from builder.render.site_medium import SiteMedium
from builder.render.whereabouts import Whereabouts

# A board tells at most this many plies that lead to it.
_MOST_PATH = 60


@dataclass(frozen=True, slots=True)
class BoardCard:
    """A move with the position that it reaches.

    `path` is the moves before it, `ways` the links to the moves before and after it and to its
    place in the text. A page has hundreds of cards, and a sandbox weighs every look at a field.
    """

    anchor: str
    move: Markup
    path: Markup
    board: Markup
    fen: str
    ways: Markup


@dataclass(frozen=True, slots=True)
class BoardGroup:
    """The cards of one line and of the side-lines in the prose behind it."""

    anchor: str
    title: Markup
    cards: tuple[BoardCard, ...]


def following(booklet: Booklet) -> Mapping[str, tuple[Ply, ...]]:
    """For each ply's anchor, the plies that are played after it, in reading order; of those
    that play the same move, the first."""
    found: dict[str, dict[chess.Move, Ply]] = {}
    for chapter in booklet.chapters:
        for line in chapter.lines:
            for ply in line.plies():
                if ply.parent is not None:
                    found.setdefault(ply.parent.anchor, {}).setdefault(ply.move, ply)
    return {anchor: tuple(plies.values()) for anchor, plies in found.items()}


def boards_order(chapter: Chapter, places: Whereabouts) -> Iterator[str]:
    """The anchors of the chapter's plies in the order of their boards."""
    return (ply.anchor for line in _ordered(chapter, places) for ply in line.plies())


def _ordered(chapter: Chapter, places: Whereabouts) -> list[Line]:
    return sorted(chapter.lines, key=lambda line: line.anchor in places.at_back)


def board_groups(chapter: Chapter, after: Mapping[str, tuple[Ply, ...]],
                 medium: SiteMedium) -> tuple[BoardGroup, ...]:  # fmt: skip
    """The chapter's lines in reading order, its solutions at the end."""
    games = {game.line.anchor for game in chapter.games}
    groups: list[BoardGroup] = []
    title, anchor = Markup(""), names.board_anchor(chapter.anchor)
    cards: list[BoardCard] = []
    for line in _ordered(chapter, medium.places):
        if (line.kind in ("line", "solution") or line.anchor in games) and any(line.plies()):
            if cards:
                groups.append(BoardGroup(anchor, title, tuple(cards)))
            title, cards = _title(line, chapter, medium), []
            anchor = names.board_anchor(line.anchor)
        cards += [_card(ply, after, medium) for ply in line.plies()]
    if cards:
        groups.append(BoardGroup(anchor, title, tuple(cards)))
    return tuple(groups)


def _title(line: Line, chapter: Chapter, medium: SiteMedium) -> Markup:
    """`4...Nxd4 – 11.h4`, or an exercise's number."""
    for exercise in chapter.exercises:
        if exercise.solution is line:
            return Markup("{}\u00a0{}").format(medium.words.solution, exercise.number)
    for game in chapter.games:
        if game.line is line:
            return escape(players(game.tags))
    main = line.main_plies()
    ends = main[:1] + main[-1:] if len(main) > 1 else main
    return Markup(" \u2013 ").join(_label(ply, medium) for ply in ends)


def _label(ply: Ply, medium: SiteMedium) -> Markup:
    text = escape(number_text(ply) + medium.notation.san(ply.san))
    return Markup(f'<span class="move">{text}</span>')


def _card(ply: Ply, after: Mapping[str, tuple[Ply, ...]], medium: SiteMedium) -> BoardCard:
    return BoardCard(
        anchor=names.board_anchor(ply.anchor),
        move=_label(ply, medium),
        path=_path(ply, medium),
        board=medium.board_after(ply),
        fen=ply.after.fen,
        ways=_ways(ply, after.get(ply.anchor, ()), medium),
    )


def _path(ply: Ply, medium: SiteMedium) -> Markup:
    """The moves before this one, the last `_MOST_PATH` of them."""
    steps: list[Ply] = []
    step = ply.parent
    while step is not None and len(steps) <= _MOST_PATH:
        steps.append(step)
        step = step.parent
    shown = steps[:_MOST_PATH][::-1]
    if not shown:
        return Markup("")
    cut = Markup("\u2026 ") if len(steps) > _MOST_PATH else Markup("")
    return cut + moves.row(shown, medium)


def _ways(ply: Ply, after: tuple[Ply, ...], medium: SiteMedium) -> Markup:
    words = medium.words
    before = (ply.parent,) if ply.parent is not None else ()
    text = escape(medium.href(ply.chapter, ply.anchor))
    return Markup(
        _steps(words.previous, "prev", before, medium) + _steps(words.next, "next", after, medium)
        + f'<a href="{text}">{escape(words.in_the_text)}</a>'
    )  # fmt: skip


def _steps(word: str, rel: str, plies: tuple[Ply, ...], medium: SiteMedium) -> str:
    """`Next 5...d6 5...Nf6`; empty for none."""
    links = "".join(
        f' <a rel="{rel}" href="{escape(medium.move_href(ply))}">{_label(ply, medium)}</a>'
        for ply in plies
    )
    return f'<span><span class="way">{escape(word)}</span>{links}</span> ' if links else ""
