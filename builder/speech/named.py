"""Moves that are named without being played: again, as what something is played instead of, or as
the place that one goes back to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from builder.speech.costs import Costs, times, total
from builder.speech.hearings import LANDED, NAMED, Event, Hearing
from builder.speech.meanings import Meanings
from builder.speech.mentions import Mention
from builder.speech.places import Jump, Pending
from builder.speech.shapes import Fit
from builder.speech.tree import Nodes

_HALF = 0.5  # of what a fit costs: the move is known
NAMED_WITHIN = 4  # words behind 'instead of' within which the move is named


def _unplanned(mention: Mention) -> Costs:
    """What it costs to hear a mention, whether or not it is only talked of."""
    return tuple(one for one in mention.costs if one[0] != "only_talked_of")


def _known_fit(nodes: Nodes, node: int, mention: Mention) -> Fit | None:
    """The fit by which a mention means the move of a node."""
    known = nodes.known[node]
    return next((fit for fit in nodes.fits(known.parent, mention.shape) if fit.move == known.move), None)


def named_again(nodes: Nodes, hearing: Hearing, mention: Mention) -> Iterator[Hearing]:
    """The move is one of those that led here, named again; the speaker stays where he is."""
    path = nodes.path(hearing.node)[:8]
    for back, node in enumerate(path):
        known = nodes.known[node]
        if known.move is None:
            break
        fit = _known_fit(nodes, node, mention)
        if fit is None:
            continue
        costs = [*_unplanned(mention), *times(fit.costs, _HALF)]
        costs += [("refer_path", 1.0), ("refer_step", float(back))] if back else [("refer_last", 1.0)]
        numbers = {one.number for one in hearing.pending if one.kind == "move_number"}
        if any(one.kind in ("back", "main", "start") for one in hearing.pending):
            costs.append(("refer_returning", 1.0))
        if numbers and (known.ply + 1) // 2 not in numbers:
            costs.append(("move_number", 1.0))
        if mention.side is not None and mention.side != nodes.white_to_move(known.parent):
            costs.append(("wrong_side", mention.side_weight))
        cost = total(costs, nodes.costs)
        event = Event(hearing.event, NAMED, mention, hearing.node, cost, tuple(costs), False, False)
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
        fit = _known_fit(nodes, node, mention)
        if fit is None:
            continue
        costs = list(_unplanned(mention))
        if mention.group != "reference":
            costs += times(fit.costs, _HALF)
        if known.parent != hearing.node:
            costs += ([("landed_path", 1.0), ("landed_step", float(order[node]))] if node in order
                      else [("landed_elsewhere", 1.0)])  # fmt: skip
        cost = total(costs, nodes.costs)
        landed = Pending("landed", 0.0, mention.start, mention.end, None)
        event = Event(hearing.event, LANDED, mention, known.parent, cost, tuple(costs), False,
                      known.parent != hearing.node)  # fmt: skip
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
            if known.move is not None and any(_known_fit(nodes, node, one) for one in named):
                name = "instead" if node in path else "instead_elsewhere"
                yield Jump(known.parent, ((name, 1.0),), True, nodes.costs[name])
        if named:
            return
