"""Where a game leaves the booklet's lines, through transpositions too.

In: the lines' positions and a game. Out: the last position that they have in common, how the
booklet comes there, and what it plays there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from builder.model import (
    Booklet, Chapter, Claim, Diagram, Game, Line, Parting, Ply, PositionKey, Result,
)  # fmt: skip

LEAST_LEAD = 2  # moves; fewer are not worth setting short


@dataclass(frozen=True, slots=True)
class Taught:
    """What the booklet teaches: for a position's key the plies that reach it and those that are
    played there, in reading order; for a ply's anchor the diagram behind it; the chapters' numbers by
    their slugs."""

    reached: Mapping[PositionKey, tuple[Ply, ...]]
    played: Mapping[PositionKey, tuple[Ply, ...]]
    diagrams: Mapping[str, Diagram]
    numbers: Mapping[str, int]

    @staticmethod
    def of(chapters: tuple[Chapter, ...], reached: Mapping[PositionKey, tuple[Ply, ...]]) -> Taught:
        played: dict[PositionKey, list[Ply]] = {}
        for plies in reached.values():
            for ply in plies:
                same = played.setdefault(ply.before.key, [])
                if all(other.move != ply.move for other in same):
                    same.append(ply)
        diagrams: dict[str, Diagram] = {}
        for chapter in chapters:
            for diagram in chapter.diagrams:
                if diagram.ply is not None and diagram.chapter == diagram.ply.chapter:
                    diagrams.setdefault(diagram.ply.anchor, diagram)
        return Taught(reached, {key: tuple(plies) for key, plies in played.items()}, diagrams,
                      {chapter.slug: chapter.number for chapter in chapters})  # fmt: skip


def parted(game: Game, taught: Taught) -> Game:
    """The game with its parting and, where the author doesn't say it, where it begins to be set
    in full."""
    parting = _parting(game.line, taught)
    if game.begins is not None or parting is None:
        return replace(game, parting=parting, begins=game.begins or _first(game.line))
    return replace(game, parting=parting, begins=_behind(game.line, parting.ply))


def games_by_ply(booklet: Booklet) -> Mapping[str, tuple[Game, ...]]:
    """For the anchors of the plies where games leave the lines: these games, in their order."""
    found: dict[str, tuple[Game, ...]] = {}
    for game in booklet.games:
        if game.parting is not None:
            anchor = game.parting.met.anchor
            found[anchor] = (*found.get(anchor, ()), game)
    return MappingProxyType(found)


def _parting(line: Line, taught: Taught) -> Parting | None:
    main = line.main_plies()
    shared = [ply for ply in main if ply.after.key in taught.reached]
    if not shared or any(ply.is_pass for ply in main[: main.index(shared[-1])]):
        return None
    last = shared[-1]
    way = [ply.move for ply in last.path()]
    ways = taught.reached[last.after.key]
    same = [ply for ply in ways if [step.move for step in ply.path()] == way]
    met = (same or list(ways))[0]
    goes_on = taught.played.get(last.after.key, ()) if last is not main[-1] else ()
    return Parting(last, met, _diagram(met, taught), goes_on, taught.numbers[met.chapter], not same)


def _diagram(met: Ply, taught: Taught) -> Diagram | None:
    """The last diagram of the same chapter on the way."""
    for ply in reversed(met.path()):
        found = taught.diagrams.get(ply.anchor)
        if found is not None and found.chapter == met.chapter and found.number is not None:
            return found
    return None


def _first(line: Line) -> Ply | None:
    return next(iter(line.main_plies()), None)


def _behind(line: Line, last: Ply) -> Ply | None:
    """The first main move behind `last`, or an earlier one at which something is said; None
    where the moves end before."""
    lead: list[Ply] = []
    begins: Ply | None = None
    for item in line.items:
        if isinstance(item, Ply) and (not lead or lead[-1] is not last):
            lead.append(item)
        elif isinstance(item, Ply):
            begins = item
            break
        elif lead and not isinstance(item, Claim | Result):  # A claim prints nothing.
            begins = lead.pop()
            break
    return begins if len(lead) >= LEAST_LEAD else _first(line)
