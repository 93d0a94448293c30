"""The search for what was said: over the place in the tree of moves and the words heard.

A hearing has listened to the words up to some point. It holds the tree as it grew so far, where in
it the speaker is, the cues that wait for a move, and what all of this cost. From each it goes on in
every way: the next words are no move, or a move that is played here, at a place to which the
speaker may have returned, one that corrects the last, or one that is only named again. Of the
hearings that have come to one word the cheapest are kept; so later words decide about earlier ones,
since a hearing with which they can't be squared pays for it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import chess

from builder.speech.costs import Costs, times, total
from builder.speech.hearings import MISSED, PLAYED, UNHEARD, Event, Hearing, bare, order
from builder.speech.meanings import Meanings
from builder.speech.mentions import Mention
from builder.speech.named import NAMED_WITHIN, landed_before, named_again, replacing
from builder.speech.places import Evidence, Jump, Pending, jumps, numbered, pending_after
from builder.speech.persons import Persons
from builder.speech.shapes import Fit, Shape
from builder.speech.tree import ROOT, Grown, Nodes
from builder.speech.utterance import END, ends_within

WIDTH = 100  # hearings that are kept at a word
HOPE = 12.0  # one that costs so much more than the cheapest is given up
_MOST_AT_NODE = 3  # of those kept that are at one place of the tree: the others stand for other places
MOST_PLIES = 300  # of one line
_MOST_JUMPS = 24  # places that a mention is tried at
_STRETCH = 400  # words after which what can be computed anew is let go
_MOST_LISTS = 4  # one within the other
_BEHIND = 3  # words between a move and a cue for it that follows
_CORRECTED = 14  # words within which a correction must follow
_PLAIN_MISS = 2.4  # what leaving words costs that are plainly a move
_PLAIN = 2.0  # how plainly words must be a move for one before them to be missed
_PLAINLY = 1.6  # the weight of words that correct plainly


@dataclass(slots=True)
class Search:
    """The search over words with their meanings. `persons` tells which side somebody is, and how
    surely."""

    meanings: Meanings
    nodes: Nodes
    width: int = WIDTH
    persons: Persons = field(default_factory=dict)
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
        if event.kind not in (PLAYED, UNHEARD):
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
        """The hearings at a word that are gone on from."""
        kept: list[Hearing] = []
        at_node: Counter[int] = Counter()
        for one in sorted(found.values(), key=order):
            if len(kept) == self.width or (kept and one.cost >= kept[0].cost + HOPE):
                break
            at_node[one.node] += 1
            if at_node[one.node] <= _MOST_AT_NODE:
                kept.append(one)
        return kept

    def onward(self, hearing: Hearing) -> Iterator[Hearing]:
        """Every way to hear what comes next."""
        yield from self._as_prose(hearing)
        mentions = self.meanings.mentions[hearing.at]
        if mentions:
            evidence = Evidence.before(self.meanings, hearing)
            within = self._is_within(hearing, hearing.at)
            places = jumps(self.nodes, hearing, evidence, within=within)[:_MOST_JUMPS]
            lost: list[Jump] | None = None
            for mention in mentions:
                if mention.plainly >= _PLAIN and not self.nodes.fits(hearing.node, mention.shape):
                    lost = lost or jumps(self.nodes, hearing, evidence, lost=True, within=within)
                    yield from self._as_move(hearing, mention, lost)
                else:
                    yield from self._as_move(hearing, mention, places)

    def _is_within(self, hearing: Hearing, at: int) -> bool:
        """Whether no sentence has ended between the last move and a word."""
        last = hearing.played
        return last is not None and not ends_within(self.meanings.words, last.mention.end - 1, at + 1)

    # --- no move ---------------------------------------------------------------------------------

    def _as_prose(self, hearing: Hearing) -> Iterator[Hearing]:
        """The words as prose: the next one, or all of what might be a mention."""
        mentions = self.meanings.mentions[hearing.at]
        if not mentions:
            yield self._passed(hearing, hearing.at + 1, (), None)
            return
        dearest = max(mentions, key=lambda one: (one.miss, -one.cost, one.end))
        yield self._passed(hearing, hearing.at + 1, self._step_costs(hearing), dearest)
        ends: dict[int, Mention] = {}
        for mention in mentions:
            if mention.end not in ends or ends[mention.end].miss < mention.miss:
                ends[mention.end] = mention
        for end, mention in ends.items():
            if end > hearing.at + 1 and mention.miss <= dearest.miss and not self._are_two(hearing.at, end):
                yield self._passed(hearing, end, self._all_missed(hearing, end), mention)

    def _all_missed(self, hearing: Hearing, end: int) -> Costs:
        """What it costs to leave all mentions up to a word: that of the dearest one."""
        return max(
            (self._misses(hearing, one) for at in range(hearing.at, end)
             for one in self.meanings.mentions[at] if one.end <= end),
            key=lambda costs: total(costs, self.nodes.costs),
        )  # fmt: skip

    def _are_two(self, start: int, end: int) -> bool:
        """Whether the words are plainly two moves one after the other: 'd6 bishop b5'."""
        known = self.meanings.mentions
        return any(
            other.plainly >= _PLAIN and other.end <= end
            for one in known[start] if one.plainly >= _PLAIN and one.end < end
            for other in known[one.end]
        )  # fmt: skip

    def _misses(self, hearing: Hearing, mention: Mention) -> Costs:
        """What leaving a mention costs: less where no such move could be played, and more where it is one
        that is seldom played, for nobody is likely to mention that without playing it."""
        fits = self.nodes.fits(hearing.node, mention.shape)
        if not fits:
            return (*mention.misses, ("miss_illegal", mention.miss))
        unlikely = min(self._unlikely(hearing.node, fit.move) for fit in fits)
        if unlikely <= 0.0:
            return mention.misses
        return (*mention.misses, ("miss_unlikely", unlikely * min(1.0, mention.miss / _PLAIN_MISS)))

    def _unlikely(self, parent: int, move: chess.Move) -> float:
        """What a move costs by what is played in games."""
        return total(self.nodes.theory(parent, self.nodes.child(parent, move)), self.nodes.costs)

    def _step_costs(self, hearing: Hearing) -> Costs:
        """What it costs that a word begins no move. Where it must have been misheard to begin one,
        what can still be heard behind it is not lost."""
        found: Costs = ()
        at = hearing.at
        for mention in self.meanings.mentions[at]:
            costs = self._misses(hearing, mention)
            if mention.begun >= self.nodes.costs["far"]:
                left = max((other for inner in range(at + 1, mention.end)
                            for other in self.meanings.mentions[inner] if other.end <= mention.end),
                           key=lambda one: one.miss, default=None)  # fmt: skip
                costs = (*costs, *times(left.misses, -1.0)) if left is not None else costs
            found = max(found, costs, key=lambda one: total(one, self.nodes.costs))
        return found

    def _passed(self, hearing: Hearing, end: int, costs: Costs, mention: Mention | None) -> Hearing:
        """The hearing behind words that are no move; a mention that was passed is remembered."""
        pending, marks = hearing.pending, hearing.marks
        for at in range(hearing.at, min(end, len(self.meanings.words))):
            pending = pending_after(pending, self.meanings, at, self._is_told(hearing, at))
            if any(cue.cue.kind == "named" for cue in self.meanings.cues[at]):
                marks = (*marks[-30:], (at, hearing.node))
        event, cost = hearing.event, total(costs, self.nodes.costs)
        if mention is not None and costs:
            event = Event(event, MISSED, mention, hearing.node, cost, costs, False, False)
        return Hearing(end, hearing.cost + cost, hearing.node, hearing.tree, pending, marks, event,
                       hearing.played, hearing.listed)  # fmt: skip

    def _is_told(self, hearing: Hearing, at: int) -> bool:
        """Whether a move was said just before a word, in its sentence."""
        last = hearing.played
        return last is not None and at - last.mention.end <= _BEHIND and self._is_within(hearing, at)

    def _cue_behind(self, mention: Mention) -> Pending | None:
        """'He castles instead': a cue that stands behind its move."""
        for at in range(mention.end, min(len(self.meanings.words), mention.end + _BEHIND + 1)):
            if self.meanings.words[at - 1].stop == END or self.meanings.mentions[at]:
                return None
            for cue in sorted(self.meanings.cues[at], key=lambda one: one.start - one.end):
                if cue.cue.behind:
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
        if mention.number is not None:
            places = [*places, *numbered(self.nodes, hearing, mention.number)]
        for jump in places:
            if self._is_hopeless(mention.end, hearing.cost + mention.cost + jump.cost - 1.0):
                continue
            for fit in self.nodes.fits(jump.node, mention.shape):
                cost = hearing.cost + mention.cost + jump.cost + fit.cost - 1.0
                if not self._is_hopeless(mention.end, cost):
                    yield self._played(hearing, mention, jump, fit)
        if mention.plainly >= _PLAIN:
            yield from self._unheard(hearing, mention, places[0])

    def _unheard(self, hearing: Hearing, mention: Mention, here: Jump) -> Iterator[Hearing]:
        """The move comes behind another one that nobody said, or that was not heard."""
        weights = self.nodes.costs
        least = hearing.cost + mention.cost + here.cost + min(weights["unheard"], weights["skipped"]) - 1.0
        if self._is_hopeless(mention.end, least):
            return
        for node in dict.fromkeys((*self.nodes.likely(hearing.node), *hearing.tree.children[hearing.node])):
            fits = self.nodes.fits(node, mention.shape)
            if not fits:
                continue
            is_new = node not in hearing.tree
            costs: Costs = (("unheard" if is_new else "skipped", 1.0), *self.nodes.theory(hearing.node, node))
            cost = total(costs, weights)
            event = Event(hearing.event, UNHEARD, mention, node, cost, costs, is_new, False)
            tree = hearing.tree.with_node(node, hearing.node) if is_new else hearing.tree
            behind = replace(hearing, cost=hearing.cost + cost, node=node, tree=tree, event=event)
            for fit in fits:
                if not self._is_hopeless(mention.end, behind.cost + mention.cost + here.cost + fit.cost - 1.0):
                    yield self._played(behind, mention, replace(here, node=node), fit)

    def _played(self, hearing: Hearing, mention: Mention, jump: Jump, fit: Fit) -> Hearing:
        node = self.nodes.child(jump.node, fit.move)
        is_new = node not in hearing.tree
        costs = (*mention.costs, *fit.costs, *jump.costs, *self._context(mention, jump.node, node, is_new))
        if not is_new and jump.moved and any(one.kind in ("back", "main", "start") for one in hearing.pending):  # fmt: skip
            costs += (("known", min(0.5, jump.cost)) if node != hearing.node else ("same_place", 1.0),)
        tree = hearing.tree.with_node(node, jump.node) if is_new else hearing.tree
        return self._after(hearing, mention, node, tree, costs, is_new, jump.moved)

    def _after(self, hearing: Hearing, mention: Mention, node: int, tree: Grown,
               costs: Costs, is_new: bool, jumped: bool,
               replaced: int | None = None) -> Hearing:  # fmt: skip
        cost = total(costs, self.nodes.costs)
        event = Event(hearing.event, PLAYED, mention, node, cost, costs, is_new, jumped, replaced,
                      bare(hearing))  # fmt: skip
        in_list = any(one.kind == "list" for one in hearing.pending)
        return Hearing(mention.end, hearing.cost + cost, node, tree, (), hearing.marks, event, event,
                       _listed(hearing.listed, self.nodes.known[node].parent) if in_list else hearing.listed)  # fmt: skip

    def _context(self, mention: Mention, parent: int, node: int, is_new: bool) -> Iterator[tuple[str, float]]:
        """What the words round a move say about who moves, and its number; and what is played."""
        board = self.nodes.board(parent)
        if is_new:
            yield from self.nodes.theory(parent, node)
            yield self.nodes.sense(node), 1.0
        if mention.side is not None and mention.side != board.turn:
            yield "wrong_side", mention.side_weight
        if mention.person in self.persons:
            side, surely = self.persons[mention.person]
            if side != board.turn:
                yield "wrong_person", surely
        if mention.number is not None:
            right = mention.number == board.fullmove_number
            yield "right_number" if right else "wrong_number", 1.0

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
        shapes: list[tuple[Shape, Costs]] = [(mention.shape, ())]
        piece = self.nodes.known[last.node].piece
        if mention.group == "square" and piece != chess.PAWN:
            shapes.append((replace(mention.shape, piece=piece), (("piece_kept", 1.0),)))
        for shape, kept in shapes:
            for fit in self.nodes.fits(parent, shape):
                node = self.nodes.child(parent, fit.move)
                is_new = node not in tree
                costs = (*mention.costs, *fit.costs, *kept, ("undo", 1.0),
                         ("correct_weak", _PLAINLY - min(_PLAINLY, word.weight)),
                         *self._context(mention, parent, node, is_new))  # fmt: skip
                replaced = last.node if node != last.node else None
                yield self._after(hearing, mention, node, tree.with_node(node, parent),
                                  costs, is_new, False, replaced)  # fmt: skip


def _listed(lists: tuple[int, ...], node: int) -> tuple[int, ...]:
    """The lists when one of them goes on behind a node, or a new one begins there."""
    outer = lists[: lists.index(node)] if node in lists else lists
    return (*outer, node)[-_MOST_LISTS:]
