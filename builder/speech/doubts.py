"""How sure a hearing is of each move, and what else could have been meant.

Each move of the best hearing is taken back in turn: what else could the words have been, at that
place of the talk, and how dear does it become within the next words? A reading that later speech
contradicts soon costs far more; one that stays cheap leaves a doubt. And a move is no surer than
those that lead to it: doubts add up along a line.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from builder.speech.meanings import Meanings
from builder.speech.hearings import PLAYED, UNHEARD, Event, Hearing, events_of
from builder.speech.persons import Persons
from builder.speech.search import Search
from builder.speech.tree import ROOT, Grown, Nodes

WINDOW = 40  # words that are heard to settle a doubt
MOST_READINGS = 3
UNSURE = 0.75  # confidence below which a move is marked
HANGS = 0.5  # confidence of all moves of a line below which its last one hangs on the doubtful ones
_UNHEARD = 0.5  # confidence of a move that was not heard
_NEAR = 3.2  # a reading that costs so much more at once is not looked into
_TRIED = 4
_WIDTH = 5
_DEAR = 2.9  # a move whose own cost is above that is marked whatever else there is


@dataclass(frozen=True, slots=True)
class Reading:
    """What the words may have been: the node reached (None: no move at all); `margin` is by how
    much it is dearer than the best."""

    node: int | None
    margin: float


@dataclass(frozen=True, slots=True)
class Judged:
    """An event of the best hearing with its confidence, from 0 to 1, that of the whole line up to it,
    and the other readings."""

    event: Event
    confidence: float
    line: float
    others: tuple[Reading, ...]

    @property
    def hangs(self) -> bool:
        """Whether it hangs on moves that are too doubtful together."""
        return self.event.kind in (PLAYED, UNHEARD) and self.line < HANGS

    @property
    def is_unsure(self) -> bool:
        if self.event.kind == UNHEARD:
            return self.event.is_new
        return self.event.kind == PLAYED and self.confidence < UNSURE


def judged(meanings: Meanings, nodes: Nodes, best: Hearing, persons: Persons) -> Iterator[Judged]:
    """Every event of the best hearing with what is to be thought of it."""
    search = Search(meanings, nodes, _WIDTH, persons)
    tree = Grown()
    lines = {ROOT: 1.0}
    for event in events_of(best):
        if event.kind == PLAYED and event.is_new and event.since is not None:
            others = tuple(_others(search, meanings, event, tree))
        else:
            others = ()
        confidence = _confidence(event, others)
        if event.kind in (PLAYED, UNHEARD) and event.node not in lines:
            lines[event.node] = confidence * lines.get(nodes.known[event.node].parent, 1.0)
        yield Judged(event, confidence, lines.get(event.node, 1.0), others)
        tree = search.replayed(event, tree)


def _others(search: Search, meanings: Meanings, event: Event, tree: Grown) -> list[Reading]:
    """The other readings that are not much dearer, when a few more words have been heard."""
    since = event.since
    assert since is not None
    here = Hearing(since.at, 0.0, since.node, tree, since.pending, since.marks, None, since.played,
                   since.listed)  # fmt: skip
    ways = _ways(search, here)
    chosen = min((way for way in ways if _outcome(way) == event.node and way.at == event.mention.end),
                 key=lambda way: way.cost, default=None)  # fmt: skip
    if chosen is None:
        return []
    cheapest: dict[int | None, Hearing] = {}
    for way in ways:
        outcome = _outcome(way)
        if outcome != event.node and way.cost < chosen.cost + _NEAR:
            if outcome not in cheapest or way.cost < cheapest[outcome].cost:
                cheapest[outcome] = way
    if not cheapest:
        return []
    until = min(len(meanings.words), event.mention.end + WINDOW)
    base = _cost_at(search, chosen, until)
    tried = sorted(cheapest.items(), key=lambda item: (item[1].cost, item[0] or 0))[:_TRIED]
    found = [Reading(outcome, _cost_at(search, way, until) - base) for outcome, way in tried]
    return sorted(found, key=lambda reading: reading.margin)[:MOST_READINGS]


def _ways(search: Search, here: Hearing) -> list[Hearing]:
    return list(search.onward(here))


def _outcome(way: Hearing) -> int | None:
    """The node that was played, or None where none was."""
    event = way.event
    return event.node if event is not None and event.kind == PLAYED else None


def _cost_at(search: Search, start: Hearing, until: int) -> float:
    if start.at >= until:
        return start.cost
    return search.run([start], until)[0].cost


def _confidence(event: Event, others: tuple[Reading, ...]) -> float:
    """The share of the best reading; less where the move was dear in itself."""
    if event.kind == UNHEARD:
        return _UNHEARD if event.is_new else 1.0
    share = 1.0 / (1.0 + sum(math.exp(-1.3 * max(0.0, reading.margin)) for reading in others))
    return share * (0.6 if event.kind == PLAYED and event.cost > _DEAR else 1.0)


def path_label(nodes: Nodes, node: int) -> str:
    """The moves up to a node: `1.e4 e5 2.Nf3`."""
    words = []
    for one in reversed(nodes.path(node)):
        if one != ROOT:
            words.append(label(nodes, one, not words))
    return " ".join(words)


def label(nodes: Nodes, node: int, numbered: bool = True) -> str:
    """`5.Nf3`, `5...Nf6`, or the move alone."""
    known = nodes.known[node]
    assert known.move is not None
    san = nodes.board(known.parent).san(known.move)
    number = (known.ply + 1) // 2
    if known.ply % 2:
        return f"{number}.{san}"
    return f"{number}...{san}" if numbered else san
