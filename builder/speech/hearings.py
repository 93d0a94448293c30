"""A way to hear the words up to some point, and what it took each mention for."""

from __future__ import annotations

from dataclasses import dataclass

from builder.speech.costs import Costs
from builder.speech.mentions import Mention
from builder.speech.places import Pending
from builder.speech.tree import Grown

PLAYED, UNHEARD, NAMED, LANDED, MISSED = "played", "unheard", "named", "landed", "missed"
_NO_TREE = Grown()


@dataclass(frozen=True, slots=True)
class Event:
    """What a hearing took a mention for, and the event before it. A move that was `UNHEARD` has the
    mention that can't be played without it.

    `node` is where the speaker is then; `costs` sum up to `cost`. `replaced` is the node that a correction
    took back. `since` is the hearing before it, without its tree.
    """

    before: Event | None
    kind: str
    mention: Mention
    node: int
    cost: float
    costs: Costs
    is_new: bool
    jumped: bool
    replaced: int | None = None
    since: Hearing | None = None


@dataclass(frozen=True, slots=True)
class Hearing:
    """One way to hear the words up to `at`. `listed` are the nodes behind which lists of moves
    began, the innermost last: 'first …, second …', 'if …, if …'."""

    at: int
    cost: float
    node: int
    tree: Grown
    pending: tuple[Pending, ...]
    marks: tuple[tuple[int, int], ...]
    event: Event | None
    played: Event | None
    listed: tuple[int, ...] = ()


def bare(hearing: Hearing) -> Hearing:
    """The hearing without its tree: a long line of them would hold too much."""
    return Hearing(hearing.at, hearing.cost, hearing.node, _NO_TREE, hearing.pending, hearing.marks,
                   hearing.event, hearing.played, hearing.listed)  # fmt: skip


def order(hearing: Hearing) -> tuple[float, int, int]:
    return (round(hearing.cost, 6), len(hearing.tree.children), hearing.node)


def events_of(hearing: Hearing) -> list[Event]:
    """The events in the order in which they came."""
    found = []
    event = hearing.event
    while event is not None:
        found.append(event)
        event = event.before
    return found[::-1]
