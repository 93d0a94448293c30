"""What games say about positions: how often a move was played, and with which results."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import chess

from builder.model.line import Ply
from builder.model.position import PositionKey


@dataclass(frozen=True, slots=True)
class Results:
    """Games by their result; `unknown` are those without one."""

    white: int = 0
    draws: int = 0
    black: int = 0
    unknown: int = 0

    @property
    def games(self) -> int:
        return self.white + self.draws + self.black + self.unknown

    @property
    def score(self) -> float | None:
        """White's share of the points, from 0 to 1; None where no game has a result."""
        decided = self.white + self.draws + self.black
        return (self.white + self.draws / 2) / decided if decided else None

    def __add__(self, other: Results) -> Results:
        return Results(self.white + other.white, self.draws + other.draws,
                       self.black + other.black, self.unknown + other.unknown)  # fmt: skip


NONE = Results()


@dataclass(frozen=True, slots=True)
class Tally:
    """The games that had a position, by the move that they played there first.

    A game counts once for a position. `ended` are those that ended there.
    """

    moves: Mapping[chess.Move, Results] = field(default_factory=lambda: MappingProxyType({}))
    ended: Results = NONE

    @property
    def results(self) -> Results:
        return sum(self.moves.values(), self.ended)

    @property
    def games(self) -> int:
        return self.results.games

    def played(self, move: chess.Move) -> Results:
        return self.moves.get(move, NONE)

    def __add__(self, other: Tally) -> Tally:
        moves = dict(self.moves)
        for move, results in other.moves.items():
            moves[move] = moves.get(move, NONE) + results
        return Tally(moves, self.ended + other.ended)


@dataclass(frozen=True, slots=True)
class CountedFile:
    """A file of games: how many there are, and the latest date that any of them bears, as it is
    written there (`2026.10.31`, `2026.10` or `2026`), empty where none has one."""

    name: str
    games: int
    latest: str = ""


@dataclass(frozen=True, slots=True)
class GameCounts:
    """All that was counted. `by_position` holds those positions that any game had."""

    files: tuple[CountedFile, ...]
    by_position: Mapping[PositionKey, Tally]

    @property
    def games(self) -> int:
        return sum(file.games for file in self.files)

    def at(self, key: PositionKey) -> Tally:
        """The games that had a position."""
        return self.by_position.get(key, Tally())

    def played(self, ply: Ply) -> Results:
        """The games that had the position before a ply, by whatever way, and played its move."""
        return self.at(ply.before.key).played(ply.move)


NO_GAMES = GameCounts((), MappingProxyType({}))


def together(parts: Iterable[GameCounts]) -> GameCounts:
    """The counts of several files as one."""
    files: list[CountedFile] = []
    found: dict[PositionKey, Tally] = {}
    for part in parts:
        files.extend(part.files)
        for key, tally in part.by_position.items():
            there = found.get(key)
            found[key] = tally if there is None else there + tally
    return GameCounts(tuple(files), found)
