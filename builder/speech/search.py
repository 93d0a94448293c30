"""The search for what was said: over the place in the tree of moves and the words heard.

A hearing has listened to the words up to some point. It holds the tree as it grew so far, where in
it the speaker is, the cues that wait for a move, and what all of this cost. From each it goes on in
every way: the next words are no move, or a move that is played here, at a place to which the
speaker may have returned, one that corrects the last, or one that is only named again. Of the
hearings that have come to one word the cheapest are kept; so later words decide about earlier ones,
since a hearing with which they can't be squared pays for it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import chess

from builder.speech.hearings import MISSED, PLAYED, Event, Hearing, bare, heard, order
from builder.speech.meanings import Meanings
from builder.speech.mentions import Mention
from builder.speech.named import NAMED_WITHIN, landed_before, named_again, replacing
from builder.speech.places import Evidence, Jump, Pending, jumps, pending_after
from builder.speech.shapes import Fit
from builder.speech.tree import ROOT, Grown, Nodes
from builder.speech.utterance import END

WIDTH = 28  # hearings that are kept at a word
HOPE = 9.0  # one that costs so much more than the cheapest is given up
MOST_PLIES = 300  # of one line
_MOST_JUMPS = 24  # places that a mention is tried at
_STRETCH = 400  # words after which what can be computed anew is let go
_BEHIND = 3  # words between a move and a cue for it that follows
_CORRECTED = 14  # words within which a correction must follow


@dataclass(slots=True)
class Search:
    """The search over words with their meanings. `us` is the side that 'we' stands for."""

    meanings: Meanings
    nodes: Nodes
    width: int = WIDTH
    _least: dict[int, float] = field(default_factory=dict)

    def best(self, progress: Callable[[float], None] = lambda share: None) -> Hearing:
        """The cheapest hearing of all words. `progress` is told the share that is behind."""
        hearings = [Hearing(0, 0.0, ROOT, Grown(), (), (), None, None)]
        count = len(self.meanings.words)
        for until in [*range(_STRETCH, count, _STRETCH), count]:
            hearings = self.run(hearings, until)
            self.nodes.forget()
            progress(until / max(1, count))
        return hearings[0]

    def replayed(self, event: Event, tree: Grown) -> Grown:
        """The tree behind an event, from the one before it."""
        if event.kind != PLAYED:
            return tree
        if event.replaced is not None:
            tree = tree.without(event.replaced, self.nodes.known[event.replaced].parent)
        return tree.with_node(event.node, self.nodes.known[event.node].parent)

    def run(self, starts: Sequence[Hearing], until: int) -> list[Hearing]:
        """The hearings of the words up to `until` that go on from some, cheapest first."""
        waiting: dict[int, dict[tuple[object, ...], Hearing]] = {}
        self._least = {}
        for start in starts:
            self._keep(waiting, start)
        first = min(start.at for start in starts)
        for at in range(first, until):
            for hearing in self._cheapest(waiting.pop(at, {})):
                for following in self.onward(hearing):
                    self._keep(waiting, following)
        ends = [hearing for at in waiting for hearing in waiting[at].values() if at >= until]
        return sorted(ends, key=order)

    def _keep(self, waiting: dict[int, dict[tuple[object, ...], Hearing]], hearing: Hearing) -> None:
        """Keeps the cheaper of two hearings that are at one place and wait for the same."""
        there = waiting.setdefault(hearing.at, {})
        key = (hearing.node, tuple((one.kind, one.start) for one in hearing.pending))
        other = there.get(key)
        if other is None or order(hearing) < order(other):
            there[key] = hearing
            self._least[hearing.at] = min(hearing.cost, self._least.get(hearing.at, hearing.cost))

    def _is_hopeless(self, at: int, cost: float) -> bool:
        """Whether something much cheaper has come to that word already."""
        return cost > self._least.get(at, cost) + HOPE

    def _cheapest(self, found: dict[tuple[object, ...], Hearing]) -> list[Hearing]:
        kept = sorted(found.values(), key=order)[: self.width]
        return [one for one in kept if one.cost < kept[0].cost + HOPE]

    def onward(self, hearing: Hearing) -> Iterator[Hearing]:
        """Every way to hear what comes next."""
        yield from self._as_prose(hearing)
        mentions = self.meanings.mentions[hearing.at]
        if mentions:
            evidence = Evidence.before(self.meanings, hearing)
            places = jumps(self.nodes, hearing, evidence)[:_MOST_JUMPS]
            for mention in mentions:
                yield from self._as_move(hearing, mention, places)

    # --- no move ---------------------------------------------------------------------------------

    def _as_prose(self, hearing: Hearing) -> Iterator[Hearing]:
        """The words as prose: the next one, or all of what might be a mention."""
        mentions = self.meanings.mentions[hearing.at]
        if not mentions:
            yield self._passed(hearing, hearing.at + 1, 0.0, None)
            return
        dearest = max(mentions, key=lambda one: (one.miss, -one.cost, one.end))
        yield self._passed(hearing, hearing.at + 1, self._step_cost(hearing.at), dearest)
        ends: dict[int, Mention] = {}
        for mention in mentions:
            if mention.end not in ends or ends[mention.end].miss < mention.miss:
                ends[mention.end] = mention
        for end, mention in ends.items():
            if end > hearing.at + 1 and mention.miss <= dearest.miss:
                cost = max(
                    other.miss for inner in range(hearing.at, end)
                    for other in self.meanings.mentions[inner]
                )
                yield self._passed(hearing, end, cost, mention)

    def _step_cost(self, at: int) -> float:
        """What it costs that a word begins no move. Where it must have been misheard to begin one,
        what can still be heard behind it is not lost."""
        found = 0.0
        for mention in self.meanings.mentions[at]:
            left = 0.0
            if mention.begun >= self.nodes.costs["far"]:
                left = max((other.miss for inner in range(at + 1, mention.end)
                            for other in self.meanings.mentions[inner] if other.end <= mention.end),
                           default=0.0)  # fmt: skip
            found = max(found, mention.miss - left)
        return found

    def _passed(self, hearing: Hearing, end: int, cost: float, mention: Mention | None) -> Hearing:
        """The hearing behind words that are no move; a mention that was passed is remembered."""
        pending, marks = hearing.pending, hearing.marks
        for at in range(hearing.at, min(end, len(self.meanings.words))):
            pending = pending_after(pending, self.meanings, at, self._is_told(hearing, at))
            if any(cue.cue.kind == "named" for cue in self.meanings.cues[at]):
                marks = (*marks[-30:], (at, hearing.node))
        event = hearing.event
        if mention is not None and mention.miss >= 1.5 and cost > 0:
            event = Event(event, MISSED, mention, hearing.node, cost, (("missed", cost),), False, False, None, None)  # fmt: skip
        return Hearing(end, hearing.cost + cost, hearing.node, hearing.tree, pending, marks, event,
                       hearing.played, hearing.listed)  # fmt: skip

    def _is_told(self, hearing: Hearing, at: int) -> bool:
        """Whether a move was said just before a word, in its sentence."""
        last = hearing.played
        if last is None or at - last.mention.end > _BEHIND:
            return False
        return not any(word.stop == END for word in self.meanings.words[last.mention.end - 1 : at])

    def _cue_behind(self, mention: Mention) -> Pending | None:
        """'He castles instead': a cue that stands behind its move."""
        for at in range(mention.end, min(len(self.meanings.words), mention.end + _BEHIND + 1)):
            if self.meanings.words[at - 1].stop == END or self.meanings.mentions[at]:
                return None
            for cue in sorted(self.meanings.cues[at], key=lambda one: one.start - one.end):
                if cue.cue.kind in ("alternative", "before") and cue.cue.weight >= 0.5:
                    return Pending(cue.cue.kind, cue.cue.weight, cue.start, cue.end, None)
        return None

    # --- a move ----------------------------------------------------------------------------------

    def _as_move(self, hearing: Hearing, mention: Mention, places: Sequence[Jump]) -> Iterator[Hearing]:  # fmt: skip
        before = next((one for one in hearing.pending
                       if one.kind == "before" and mention.start - one.end <= NAMED_WITHIN), None)  # fmt: skip
        if before is not None:
            yield from landed_before(self.nodes, hearing, mention)
        if mention.group == "reference":
            return
        if before is None:
            yield from named_again(self.nodes, hearing, mention)
        yield from self._corrected(hearing, mention)
        behind = self._cue_behind(mention)
        if behind is not None:
            places = [*replacing(self.meanings, self.nodes, hearing, behind),
                      *jumps(self.nodes, hearing, Evidence(), behind)[:_MOST_JUMPS]]  # fmt: skip
        for jump in places:
            if self._is_hopeless(mention.end, hearing.cost + mention.cost + jump.cost - 1.0):
                continue
            for fit in self.nodes.fits(jump.node, mention.shape):
                cost = hearing.cost + mention.cost + jump.cost + fit.cost - 1.0
                if not self._is_hopeless(mention.end, cost):
                    yield self._played(hearing, mention, jump, fit)

    def _played(self, hearing: Hearing, mention: Mention, jump: Jump, fit: Fit) -> Hearing:
        node = self.nodes.child(jump.node, fit.move)
        is_new = node not in hearing.tree
        costs = [*heard(mention), *((name, self.nodes.costs[name]) for name in fit.why), *jump.costs]  # fmt: skip
        spread = fit.cost - sum(self.nodes.costs[name] for name in fit.why)
        if abs(spread) > 1e-9:
            costs.append(("open", spread))
        costs += self._context(mention, jump.node, node)
        if not is_new and jump.moved and any(one.kind in ("back", "main", "start") for one in hearing.pending):  # fmt: skip
            costs.append(("known", -min(0.5, jump.cost)) if node != hearing.node else
                         ("same_place", self.nodes.costs["same_place"]))  # fmt: skip
        tree = hearing.tree.with_node(node, jump.node) if is_new else hearing.tree
        return self._after(hearing, mention, PLAYED, node, tree, costs, is_new, jump.moved)

    def _after(self, hearing: Hearing, mention: Mention, kind: str, node: int, tree: Grown,
               costs: list[tuple[str, float]], is_new: bool, jumped: bool,
               replaced: int | None = None) -> Hearing:  # fmt: skip
        cost = sum(cost for _, cost in costs)
        event = Event(hearing.event, kind, mention, node, cost, tuple(costs), is_new, jumped,
                      replaced, bare(hearing))  # fmt: skip
        in_list = any(one.kind == "list" for one in hearing.pending)
        return Hearing(mention.end, hearing.cost + cost, node, tree, (), hearing.marks, event, event,
                       self.nodes.known[node].parent if in_list else hearing.listed)  # fmt: skip

    def _context(self, mention: Mention, parent: int, node: int) -> list[tuple[str, float]]:
        """What the words round a move say about who moves, and its number; and what is played."""
        costs = self.nodes.costs
        board = self.nodes.board(parent)
        found = [self.nodes.theory(parent, node)]
        if mention.side is not None and mention.side != board.turn:
            found.append(("wrong_side", costs["wrong_side"] * mention.side_weight))
        if mention.number is not None:
            right = mention.number == board.fullmove_number
            found.append(("right_number", costs["right_number"]) if right else
                         ("wrong_number", costs["wrong_number"] * 0.2))  # fmt: skip
        return found

    def _corrected(self, hearing: Hearing, mention: Mention) -> Iterator[Hearing]:
        """The move takes the place of the one that was just said."""
        last = hearing.played
        word = next((one for one in hearing.pending if one.kind == "correct"), None)
        if last is None or word is None or last.node != hearing.node or not last.is_new:
            return
        if mention.start - last.mention.end > _CORRECTED or hearing.tree.children[last.node]:
            return
        parent = self.nodes.known[last.node].parent
        tree = hearing.tree.without(last.node, parent)
        shapes = [(mention.shape, 0.0)]
        piece = self.nodes.known[last.node].piece
        if mention.group == "square" and piece != chess.PAWN:
            shapes.append((replace(mention.shape, piece=piece), 0.2))
        for shape, extra in shapes:
            for fit in self.nodes.fits(parent, shape):
                node = self.nodes.child(parent, fit.move)
                undo = self.nodes.costs["undo"] + 1.6 - min(1.6, word.weight)
                costs = [*heard(mention), ("fit", fit.cost + extra), ("undo", undo)]
                costs += self._context(mention, parent, node)
                replaced = last.node if node != last.node else None
                yield self._after(hearing, mention, PLAYED, node, tree.with_node(node, parent),
                                  costs, node not in tree, False, replaced)  # fmt: skip
