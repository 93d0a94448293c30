"""How likely a reader is to come to a position of the booklet.

In: what the booklet's games and the book of openings count, and the moves that lead from one of its
positions to another. Out: the share of each reply, and how much of a reader's games reach a position.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import count

import chess

from builder.model import PositionKey

# Shares are believed where they stand for so many games: below it, a single game would be a habit.
ENOUGH = 20
# What the booklet answers is met now and then, whatever was counted.
ANSWERED = 0.01


@dataclass(frozen=True, slots=True)
class Habits:
    """What was played in a position, in the booklet's games and in the book of openings together.

    Games that are missing to `ENOUGH` are taken to go on as the booklet does.
    """

    played: Mapping[chess.Move, float]
    answered: frozenset[chess.Move]

    def share(self, move: chess.Move) -> float:
        known = sum(self.played.values())
        games = self.played.get(move, 0.0)
        if move not in self.answered:
            return games / max(known, ENOUGH)
        missing = max(0.0, ENOUGH - known) / len(self.answered)
        return max((games + missing) / max(known, ENOUGH), ANSWERED)


@dataclass(frozen=True, slots=True)
class Way:
    """A move from one of the booklet's positions to another, and how often it is gone: always, where
    the booklet itself recommends it."""

    start: PositionKey
    end: PositionKey
    share: float


def reached(ways: Iterable[Way], starts: Iterable[PositionKey]) -> dict[PositionKey, float]:
    """How much of the games from the starts come to each position, by its likeliest way there."""
    onward: dict[PositionKey, list[Way]] = {}
    for way in ways:
        onward.setdefault(way.start, []).append(way)
    order = count()
    waiting = [(-1.0, next(order), start) for start in starts]
    found: dict[PositionKey, float] = {}
    while waiting:
        negative, _, key = heapq.heappop(waiting)
        if key in found:
            continue
        found[key] = -negative
        for way in onward.get(key, ()):
            heapq.heappush(waiting, (negative * way.share, next(order), way.end))
    return found
