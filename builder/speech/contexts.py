"""What stands round a mention: how surely it is only talked of, who moves, and which number it has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import chess

from builder.speech.costs import times
from builder.speech.mentions import CueAt, Mention, with_costs
from builder.speech.patterns import Hearing
from builder.speech.plans import FULL
from builder.speech.utterance import END, Word

# Cues whose words are never a move.
HOLDING = ("back", "undo", "before", "alternative", "correct", "main", "start")
_SOFT = ("soft", "soft_piece")
_SQUARE_FIRST = ("square_first", "square_first_far")
_PIECE_REACH = 6  # words before a square within which a piece may be named for it
_SIDE_REACH = 5  # words before a move within which the side may be named
_LEAST_MISS = 0.15  # of what leaving a mention costs, however little it seems to be a move
_QUESTION = 0.6
_LISTED = 1.5
_LISTED_LAST = 0.7


@dataclass(frozen=True, slots=True)
class Contexts:
    """What is known of each word: `cues` and mentions (`plain`) that begin there, where the statement
    ends that begins there (`covers`), and how surely a move there is only talked of (`plans`)."""

    hearing: Hearing
    cues: Sequence[tuple[CueAt, ...]]
    covers: Sequence[int]
    plans: Sequence[float]
    plain: Sequence[tuple[Mention, ...]]

    @property
    def words(self) -> Sequence[Word]:
        return self.hearing.words

    @property
    def weights(self) -> Mapping[str, float]:
        return self.hearing.lexicon.costs

    def weighed(self, mention: Mention) -> Mention:
        """The mention with what its context adds to the costs, and who moves, with which number."""
        plan = self.plans[mention.start]
        if "?" in self.words[mention.end - 1].raw[-2:]:
            plan = max(plan, _QUESTION)
        plan = max(plan, self._listed(mention))
        if self._is_instead(mention):
            mention = with_costs(mention, self.weights, misses=times(mention.misses, _LEAST_MISS))
            plan = max(plan, FULL)
        if mention.group == "takes" and self._is_run(mention):
            mention = with_costs(mention, self.weights, ("run", 1.0),
                                 misses=(*mention.misses, ("miss_run", 1.0)))  # fmt: skip
        if mention.group == "square" and self._is_behind_piece(mention):
            mention = with_costs(mention, self.weights, ("piece_before", 1.0),
                                 misses=(*mention.misses, ("miss_piece_before", 1.0)))  # fmt: skip
        side, weight, behind = self._side(mention)
        person = self._person(mention) if side is None else None
        if behind or self._is_offered(mention):
            plan *= 0.25
        if plan:
            share = max(_LEAST_MISS, 1.0 - plan / FULL)
            mention = with_costs(mention, self.weights, ("only_talked_of", plan),
                                 misses=times(mention.misses, share))  # fmt: skip
        if mention.group not in _SOFT and self._is_covered(mention):
            mention = with_costs(mention, self.weights, ("covered", 1.0), misses=())
        return replace(mention, side=side, side_weight=weight, person=person, plan=plan,
                       number=self._number(mention))  # fmt: skip

    def _is_behind_piece(self, mention: Mention) -> bool:
        """Whether a piece is named before a square in its clause: 'the bishop takes aim from c5'."""
        for at in range(mention.start - 1, max(-1, mention.start - 1 - _PIECE_REACH), -1):
            if self.words[at].stop or any(one.plainly >= 1.5 and one.end <= mention.start for one in self.plain[at]):
                return False
            if any(edge.cost == 0.0 and edge.value != chess.PAWN for edge in self.hearing.edges(at, "piece")):
                return True
        return False

    def _is_instead(self, mention: Mention) -> bool:
        """Whether 'instead of' stands in front: the move is only named."""
        for at in range(mention.start - 1, max(-1, mention.start - 9), -1):
            if self.words[at].stop or any(one.end <= mention.start for one in self.plain[at]):
                return False
            if any(cue.cue.kind == "before" and cue.cue.weight > 0.5 and 0 <= mention.start - cue.end <= 4
                   for cue in self.cues[at]):  # fmt: skip
                return True
        return False

    def _is_offered(self, mention: Mention) -> bool:
        """Whether 'instead' stands right behind it."""
        at = mention.end
        return at < len(self.words) and self.words[at - 1].stop != END and any(
            cue.cue.kind in ("alternative", "before") and cue.cue.weight > 0.9
            for cue in self.cues[at]
        )  # fmt: skip

    def _is_run(self, mention: Mention) -> bool:
        """'Takes, takes, takes'."""
        behind = self.plain[mention.end] if mention.end < len(self.plain) else ()
        before = self.plain[mention.start - 1] if mention.start else ()
        return any(one.group == "takes" for one in (*behind, *before))

    def _is_covered(self, mention: Mention) -> bool:
        """Whether a statement or a cue holds the words: 'the knight on f6', 'take that back'."""
        for start in range(max(0, mention.start - 4), mention.start + 1):
            for cue in self.cues[start]:
                if cue.cue.kind in HOLDING and cue.end >= mention.end and cue.end > cue.start + 1:
                    return True
        for start in range(max(0, mention.start - 6), mention.start + 1):
            end = self.covers[start]
            if end <= mention.start:
                continue
            if start == mention.start and mention.group == "goes":
                continue
            if start < mention.start and mention.group in _SQUARE_FIRST:
                return True  # 'The queen's on f6, our knight …': the square belongs to what is before.
            if end >= mention.end or (start < mention.start and end > mention.start
                                      and mention.end - end < 1):  # fmt: skip
                return True
        return False

    def _listed(self, mention: Mention) -> float:
        """How much speaks for its being one of 'this or that', which are both only named."""
        if mention.plainly < 2.0:
            return 0.0
        for at in range(mention.end, min(len(self.words), mention.end + 2)):
            if self.words[at - 1].stop == END:
                break
            if self._says_or(at) and any(one.plainly >= 2.0 for near in self.plain[at + 1 : at + 4] for one in near):  # fmt: skip
                return _LISTED
        for at in range(mention.start - 1, max(-1, mention.start - 3), -1):
            if self.words[at].stop == END:
                break
            if self._says_or(at):
                before = [one for near in self.plain[max(0, at - 5) : at] for one in near]
                if any(one.plainly >= 2.0 and at - 1 <= one.end <= at for one in before):
                    return _LISTED_LAST
        return 0.0

    def _says_or(self, at: int) -> bool:
        return bool(self.hearing.edges(at, "<or>"))

    def _side(self, mention: Mention) -> tuple[bool | None, float, bool]:
        """Who is said to move, how sure that is, and whether it stands behind: 'd4 by White'."""
        for at in range(mention.end, min(len(self.words) - 1, mention.end + 1)):
            for kind in ("<by>", "<for>"):
                for edge in self.hearing.edges(at + 1, "side") if self.hearing.edges(at, kind) else ():
                    return bool(edge.value), 1.0, kind == "<by>"
        nearest: tuple[bool | None, float] = (None, 0.0)
        for at in range(self._clause(mention), mention.end):
            for edge in self.hearing.edges(at, "side"):
                nearest = (bool(edge.value), max(0.1, 1.0 - edge.cost / 1.2))
        return *nearest, False

    def _person(self, mention: Mention) -> int | None:
        """Who is named in front of a move, or whose its piece is."""
        found = None
        for at in range(self._clause(mention), mention.end):
            for edge in self.hearing.edges(at, "person"):
                found = edge.value
        return found

    def _clause(self, mention: Mention) -> int:
        """The first word in front of a mention that may tell of it."""
        first = mention.start
        for at in range(mention.start - 1, max(-1, mention.start - 1 - _SIDE_REACH), -1):
            if self.words[at].stop == END:
                break
            if any(one.plainly >= 2.0 and one.end <= mention.start for one in self.plain[at]):
                break  # Who was named before another move made that one.
            first = at
        return first

    def _number(self, mention: Mention) -> int | None:
        at = mention.start - 1
        if at < 0 or (at and self.hearing.edges(at - 1, "file")):
            return None
        return next((edge.value for edge in self.hearing.edges(at, "number")
                     if edge.end == mention.start), None)  # fmt: skip
