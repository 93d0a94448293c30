"""Who 'I', 'he' and 'you' are in a talk: which side each plays, if it is always the same one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import TypeAlias

from builder.speech.hearings import PLAYED, Hearing, events_of
from builder.speech.tree import Nodes

Persons: TypeAlias = Mapping[int, tuple[bool, float]]  # the side of each, and how surely (0 to 1)
_LEAST_MOVES = 4  # by which a side is told
_LEAST_SURELY = 0.4


def persons_in(nodes: Nodes, hearing: Hearing) -> Persons:
    """The side of each person by the moves that a hearing took for his."""
    moves: dict[int, Counter[bool]] = {}
    for event in events_of(hearing):
        if event.kind == PLAYED and event.mention.person is not None:
            by_white = not nodes.white_to_move(event.node)
            moves.setdefault(event.mention.person, Counter())[by_white] += 1
    found = {}
    for person, sides in moves.items():
        count = sum(sides.values())
        surely = abs(sides[True] - sides[False]) / (count + 1)
        if count >= _LEAST_MOVES and surely >= _LEAST_SURELY:
            found[person] = (sides[True] > sides[False], surely)
    return found
