"""Moves that are named without being played: again, as what something is played instead of, or as
the place that one goes back to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from builder.speech.hearings import LANDED, NAMED, Event, Hearing
from builder.speech.meanings import Meanings
from builder.speech.mentions import Mention
from builder.speech.places import Jump, Pending
from builder.speech.tree import Nodes

NAMED_WITHIN = 4  # words behind 'instead of' within which the move is named


def named_again(nodes: Nodes, hearing: Hearing, mention: Mention) -> Iterator[Hearing]:
    """The move is one of those that led here, named again; the speaker stays where he is."""
    costs = nodes.costs
    path = nodes.path(hearing.node)[:8]
    for back, node in enumerate(path):
        known = nodes.known[node]
        if known.move is None:
            break
        fit = next((fit for fit in nodes.fits(known.parent, mention.shape)
                    if fit.move == known.move), None)  # fmt: skip
        if fit is None:
            continue
        name = "refer_last" if back == 0 else "refer_path"
        cost = max(0.0, mention.cost - mention.plan) + fit.cost * 0.5 + costs[name] + 0.1 * back
        numbers = {one.number for one in hearing.pending if one.kind == "move_number"}
        if any(one.kind in ("back", "main", "start") for one in hearing.pending):
            cost += costs["refer_returning"]
        if numbers and (known.ply + 1) // 2 not in numbers:
            cost += costs["move_number"]
        if mention.side is not None and mention.side != nodes.white_to_move(known.parent):
            cost += costs["wrong_side"] * mention.side_weight
        event = Event(hearing.event, NAMED, mention, hearing.node, cost, ((name, cost),), False, False)  # fmt: skip
        pending = tuple(one for one in hearing.pending if back or one.kind not in ("alternative", "before")
                        or mention.start - one.end <= NAMED_WITHIN)  # fmt: skip
        yield replace(hearing, at=mention.end, cost=hearing.cost + cost, event=event, pending=pending)
        return


def landed_before(nodes: Nodes, hearing: Hearing, mention: Mention) -> Iterator[Hearing]:
    """'Instead of that move': the speaker is where it was played."""
    near = nodes.path(hearing.node)
    order = {node: index for index, node in enumerate(near)}
    for node in hearing.tree.children:
        known = nodes.known[node]
        if known.move is None:
            continue
        fit = next((fit for fit in nodes.fits(known.parent, mention.shape)
                    if fit.move == known.move), None)  # fmt: skip
        if fit is None:
            continue
        if known.parent == hearing.node:
            distance = 0.0
        elif node in order:
            distance = 0.1 + 0.04 * order[node]
        else:
            distance = 0.8
        unsure = 0.0 if mention.group == "reference" else fit.cost * 0.5
        cost = max(0.0, mention.cost - mention.plan) + unsure + distance
        landed = Pending("landed", 0.0, mention.start, mention.end, None)
        event = Event(hearing.event, LANDED, mention, known.parent, cost, (("before", cost),),
                      False, known.parent != hearing.node)  # fmt: skip
        yield replace(hearing, at=mention.end, cost=hearing.cost + cost, node=known.parent,
                      pending=(landed,), event=event)  # fmt: skip


def replacing(meanings: Meanings, nodes: Nodes, hearing: Hearing, behind: Pending) -> Iterator[Jump]:
    """'This move instead of that one': where that one was played."""
    if behind.kind != "before":
        return
    path = set(nodes.path(hearing.node))
    for at in range(behind.end, min(len(meanings.words), behind.end + NAMED_WITHIN + 1)):
        named = meanings.mentions[at]
        for node in hearing.tree.children if named else ():
            known = nodes.known[node]
            if known.move is not None and any(
                fit.move == known.move for one in named
                for fit in nodes.fits(known.parent, one.shape)
            ):  # fmt: skip
                cost = 0.1 if node in path else 0.6
                yield Jump(known.parent, (("instead", cost),), True, cost)
        if named:
            return
