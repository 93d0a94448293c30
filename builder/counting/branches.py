"""Where the booklet branches, and how often each of its moves is played there."""

from __future__ import annotations

from dataclasses import dataclass, field

import chess

from builder.model import Booklet, Chapter, Ply, Position, PositionKey
from builder.model.counts import NONE, GameCounts, Results


@dataclass(frozen=True, slots=True)
class Choice:
    """A move of the booklet and the games that play it; `share` is of those that go on, from 0
    to 1."""

    move: chess.Move
    san: str
    results: Results
    share: float


@dataclass(frozen=True, slots=True)
class Branch:
    """A position that the booklet goes on from.

    `ply` is the move that first reaches it (None: a start); `choices` are the booklet's moves, the
    most played first; `others` are games that play any other of `other_moves` moves.
    """

    chapter: Chapter = field(repr=False)
    ply: Ply | None
    position: Position
    games: Results
    choices: tuple[Choice, ...]
    others: Results
    other_moves: int


def branches(booklet: Booklet, counts: GameCounts, least: int = 2) -> tuple[Branch, ...]:
    """The positions with at least so many moves of the booklet, in reading order."""
    found: dict[PositionKey, dict[chess.Move, Ply]] = {}
    chapters = {chapter.slug: chapter for chapter in booklet.chapters}
    for chapter in booklet.chapters:
        for line in chapter.lines:
            for ply in line.plies():
                if line.is_taught and ply.after.key in booklet.reached and not ply.is_pass:
                    found.setdefault(ply.before.key, {}).setdefault(ply.move, ply)
    places = [_branch(chapters, counts, list(plies.values())) for plies in found.values()
              if len(plies) >= least]  # fmt: skip
    return tuple(sorted(places, key=lambda place: (place.chapter.number, _row(place.ply))))


def _row(ply: Ply | None) -> tuple[int, int]:
    return (ply.place.line, ply.place.column) if ply else (0, 0)


def _branch(chapters: dict[str, Chapter], counts: GameCounts, plies: list[Ply]) -> Branch:
    first = plies[0]
    tally = counts.at(first.before.key)
    went_on = sum(tally.moves.values(), NONE).games
    choices = [
        Choice(ply.move, ply.san, played := tally.played(ply.move), played.games / max(1, went_on))
        for ply in plies
    ]
    choices.sort(key=lambda choice: -choice.results.games)  # else as the author has them
    own = {ply.move for ply in plies}
    others = {move: results for move, results in tally.moves.items() if move not in own}
    home = chapters[first.parent.chapter if first.parent else first.chapter]
    return Branch(home, first.parent, first.before, tally.results, tuple(choices),
                  sum(others.values(), NONE), len(others))  # fmt: skip
