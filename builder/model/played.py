"""How often moves are played, as games tell: a block that an author asks for by a position."""

from __future__ import annotations

from dataclasses import dataclass, field

from builder.model.line import Ply
from builder.model.position import Position
from builder.place import Place


@dataclass(frozen=True, slots=True)
class PlayedMove:
    """A move of the booklet, or (`ply` None) all other ones together.

    `share` is that of the games which go on from the position; `score` is White's share of the
    points, None where no game has a result. Both are from 0 to 1.
    """

    ply: Ply | None = field(repr=False)
    games: int
    share: float
    score: float | None


@dataclass(frozen=True, slots=True)
class GamesFile:
    """Where games are from: a file's name, and the latest date in it as far as it is known."""

    name: str
    latest: str


@dataclass(frozen=True, slots=True)
class Played:
    """How the games went on from a position: `moves` of the booklet, the most played first, then
    the others, if any. `games` had the position, of all games of the `files`."""

    anchor: str
    chapter: str
    position: Position
    ply: Ply | None = field(repr=False)
    moves: tuple[PlayedMove, ...]
    games: int
    files: tuple[GamesFile, ...]
    place: Place = field(repr=False)
