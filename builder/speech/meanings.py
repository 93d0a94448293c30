"""What stretches of speech can mean, before any position is looked at: moves that are mentioned,
statements that are none, cues; and how surely a move is only talked of.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

import chess

from builder.speech.costs import Costs, times, total
from builder.speech.lexicon import Lexicon
from builder.speech.mentions import (
    CueAt, Mention, Pattern, by_first, flagged, from_san, outdoes, shape_of,
)  # fmt: skip
from builder.speech.patterns import Hearing, Way, compiled
from builder.speech.plans import FULL, Plans
from builder.speech.shapes import Shape
from builder.speech.utterance import END, PAUSE, Word, ends_within

MOST_MENTIONS = 24  # that begin at one word
_PIECE_REACH = 6  # words before a square within which a piece may be named for it
_SIDE_REACH = 5  # words before a move within which the side may be named
_LEAST_MISS = 0.15  # of what leaving a mention costs, however little it seems to be a move
# How much less plainly it is a move, for what was misheard in it, and of its first word.
_MISHEARD = 1.2
_BEGUN = 1.0
_QUESTION = 0.6
_LISTED = 1.5
_LISTED_LAST = 0.7

# Ways to put a move that no sentence ends within.
_WHOLE = (
    "square_side", "goes", "square_first", "square_first_far", "piece_far", "promotion", "takes_with",
    "reference",
)  # fmt: skip
_SOFT = ("soft", "soft_piece")
# Cues whose words are never a move.
_HOLDING = ("back", "undo", "before", "alternative", "correct", "main", "start")


class Meanings:
    """Everything that can be meant, word for word."""

    def __init__(self, words: Sequence[Word], lexicon: Lexicon) -> None:
        phrases = {
            f"@{name}": tuple(flagged(compiled(say)) for say in ways)
            for name, ways in lexicon.phrases.items()
        }
        self.hearing = Hearing(words, lexicon, phrases)
        self.words = words
        self.lexicon = lexicon
        self._moves = by_first(
            (Pattern(group, flagged(compiled(say))) for group, say in lexicon.moves), phrases
        )
        self._statements = by_first(
            (Pattern("", compiled(say)) for say in lexicon.statements), phrases
        )
        self._cues = by_first(
            (Pattern(str(number), compiled(cue.pattern)) for number, cue in enumerate(lexicon.cues)),
            phrases,
        )
        self._standing = compiled("{piece} <stands>* <go>* <on>? <to>? {square}")
        self._said: dict[tuple[int, int], tuple[tuple[tuple[int, int], ...], tuple[int, ...]]] = {}
        self._counts = Counter(word.text for word in words)
        count = len(words)
        self.cues = _longest([tuple(self._cues_at(at)) for at in range(count)])
        self.cues = [tuple(one for one in at if not self._is_of_piece(one)) for at in self.cues]
        self.covers: list[int] = [self._statement(at) for at in range(count)]
        plain = [self._mentions_at(at) for at in range(count)]
        self.plans = Plans(self.hearing, self.cues, plain).found()
        self.mentions = [
            tuple(self._in_context(mention, plain) for mention in at) for at in plain
        ]

    # --- what stands where -----------------------------------------------------------------------

    def _cues_at(self, at: int) -> Iterator[CueAt]:
        longest: dict[str, CueAt] = {}
        for pattern, way in self._read(self._cues, at):
            cue = self.lexicon.cues[int(pattern.group)]
            number = dict(way.slots).get("number")
            there = longest.get(cue.kind)
            if there is None or way.end > there.end:
                longest[cue.kind] = CueAt(at, way.end, cue, number)
        yield from longest.values()

    def _is_of_piece(self, cue: CueAt) -> bool:
        """Whether it is a piece that goes back."""
        at = cue.start - 1
        return (cue.cue.kind == "back" and at >= 0 and not self.words[at].stop
                and any(edge.cost <= self.lexicon.costs["like"] for edge in self.hearing.edges(at, "piece"))
                and bool(self.hearing.edges(cue.start, "<go>")))  # fmt: skip

    def _statement(self, at: int) -> int:
        """Where the longest statement that begins here ends."""
        return max(
            (way.end for _, way in self._read(self._statements, at)
             if way.cost < 1.0 and not self._is_parted(at, way.end)),
            default=at,
        )  # fmt: skip

    def _is_parted(self, start: int, end: int) -> bool:
        """Whether a sentence ends between two words, or a piece is set off by a comma."""
        stops = [word.stop for word in self.words[start : end - 1]]
        return END in stops or (PAUSE in stops and bool(self.hearing.edges(start, "piece")))

    def _mentions_at(self, at: int) -> tuple[Mention, ...]:
        found: dict[tuple[int, Shape], Mention] = {}
        word = self.words[at]
        for group, shape, against in from_san(word.san) if word.san else ():
            found[at + 1, shape] = self._mention(at, at + 1, shape, group, (("way_of_saying", against),))
        for pattern, way in self._read(self._moves, at):
            shape = shape_of(pattern.group, way)
            if shape is None or (pattern.group in _WHOLE and ends_within(self.words, at, way.end)):
                continue
            for end, more, extra in self._endings(way.end):
                full = replace(shape, **more)
                costs = (("way_of_saying", way.cost - way.misheard), *extra)
                mention = self._mention(at, end, full, pattern.group, costs, way.misheard, way.begun)
                there = found.get((end, full))
                if there is None or there.cost > mention.cost:
                    found[end, full] = mention
        kept = [one for one in found.values()
                if not any(outdoes(other, one) for other in found.values())]  # fmt: skip
        wings = max((one.end for one in kept if one.group == "castling"), default=0)
        kept = [self._with(one, ("wing_unsaid", 1.0)) if one.group == "castling" and one.end < wings
                else one for one in kept]  # fmt: skip
        best = sorted(kept, key=lambda one: (one.cost - 0.4 * (one.end - one.start), one.end,
                                             one.group, str(one.shape)))  # fmt: skip
        return tuple(best[:MOST_MENTIONS])

    def _mention(self, start: int, end: int, shape: Shape, group: str, ways: Costs,
                 misheard: float = 0.0, begun: float = 0.0) -> Mention:  # fmt: skip
        weights = self.lexicon.costs
        plainly = max(0.2, self.lexicon.plainly[group] - _MISHEARD * misheard - _BEGUN * begun)
        costs = tuple(one for one in ((f"say_{group}", 1.0), ("misheard", misheard), *ways) if one[1])
        misses: Costs = ((f"miss_{group}", 1.0), ("miss_misheard", misheard), ("miss_begun", begun))
        misses = tuple(one for one in misses if one[1])
        if total(misses, weights) < weights["miss_least"]:
            misses = (("miss_least", 1.0),)
        return Mention(start, end, shape, group, plainly, costs, misses, total(costs, weights),
                       total(misses, weights), misheard, begun)  # fmt: skip

    def _with(self, mention: Mention, *more: tuple[str, float], misses: Costs | None = None) -> Mention:
        """The mention with more costs, and other ones of leaving it."""
        weights = self.lexicon.costs
        if misses is not None:
            mention = replace(mention, misses=misses, miss=total(misses, weights))
        if more:
            mention = replace(mention, costs=(*mention.costs, *more), cost=mention.cost + total(more, weights))
        return mention

    def _endings(self, end: int) -> Iterator[tuple[int, dict[str, bool], Costs]]:
        """With 'check' or 'mate' behind it, where that is said."""
        found = False
        here = end
        for _ in range(3):
            if here >= len(self.words):
                break
            for kind, name in (("<mate>", "mate"), ("<check>", "check")):
                for edge in self.hearing.edges(here, kind):
                    found = True
                    yield edge.end, {name: True}, (("misheard", edge.cost),)
            fillers = self.hearing.edges(here, "<filler>")
            if found or not fillers or self.words[here - 1].stop == END:
                break
            here = fillers[0].end
        yield end, {}, (("check_unheard", 1.0),) if found else ()

    def _read(self, patterns: dict[str, list[Pattern]], at: int) -> Iterator[tuple[Pattern, Way]]:
        kinds = self.hearing.kinds(at)
        seen: set[int] = set()
        for kind in kinds:
            for pattern in patterns.get(kind, ()):
                if id(pattern) not in seen:
                    seen.add(id(pattern))
                    for way in self.hearing.ways(pattern.elements, at):
                        yield pattern, way

    # --- what is said of a place ------------------------------------------------------------------

    def said(self, start: int, end: int) -> tuple[tuple[tuple[int, int], ...], tuple[int, ...]]:
        """The pieces that are said to stand somewhere between two words, and the squares named."""
        key = (start, end)
        if key not in self._said:
            self._said[key] = self._found_said(start, end)
        return self._said[key]

    def _found_said(self, start: int, end: int) -> tuple[tuple[tuple[int, int], ...], tuple[int, ...]]:  # fmt: skip
        stands: dict[tuple[int, int], None] = {}
        squares: dict[int, None] = {}
        for at in range(start, end):
            for edge in self.hearing.edges(at, "square"):
                if edge.end <= end and edge.cost < 0.8:
                    squares[edge.value] = None
            for way in self.hearing.ways(self._standing, at):
                slots = dict(way.slots)
                if way.end <= end:
                    stands[slots["piece"], slots["square"]] = None
        return tuple(stands), tuple(squares)

    def rare(self, start: int, end: int) -> frozenset[str]:
        """The words between two that are few in the whole: a name may be made of them."""
        start, end = max(0, start), min(end, len(self.words))
        return frozenset(
            word.text for word in self.words[start:end]
            if len(word.text) > 3 and self._counts[word.text] <= 12
            and not self.lexicon.knows(word.text)
        )  # fmt: skip

    # --- a mention in its context ----------------------------------------------------------------

    def _in_context(self, mention: Mention, plain: Sequence[tuple[Mention, ...]]) -> Mention:
        plan = self.plans[mention.start]
        if "?" in self.words[mention.end - 1].raw[-2:]:
            plan = max(plan, _QUESTION)
        plan = max(plan, self._listed(mention, plain))
        if self._is_instead(mention, plain):
            mention = self._with(mention, misses=times(mention.misses, _LEAST_MISS))
            plan = max(plan, FULL)
        if mention.group == "takes" and self._is_run(mention, plain):
            mention = self._with(mention, ("run", 1.0), misses=(*mention.misses, ("miss_run", 1.0)))
        if mention.group == "square" and self._is_behind_piece(mention, plain):
            mention = self._with(mention, ("piece_before", 1.0),
                                 misses=(*mention.misses, ("miss_piece_before", 1.0)))  # fmt: skip
        side, weight, behind = self._side(mention, plain)
        person = self._person(mention, plain) if side is None else None
        if behind or self._is_offered(mention):
            plan *= 0.25
        if plan:
            share = max(_LEAST_MISS, 1.0 - plan / FULL)
            mention = self._with(mention, ("only_talked_of", plan), misses=times(mention.misses, share))
        if mention.group not in _SOFT and self._is_covered(mention):
            mention = self._with(mention, ("covered", 1.0), misses=())
        return replace(mention, side=side, side_weight=weight, person=person, number=self._number(mention), plan=plan)

    def _is_behind_piece(self, mention: Mention, plain: Sequence[tuple[Mention, ...]]) -> bool:
        """Whether a piece is named before a square in its clause: 'the bishop takes aim from c5'."""
        for at in range(mention.start - 1, max(-1, mention.start - 1 - _PIECE_REACH), -1):
            if self.words[at].stop or any(one.plainly >= 1.5 and one.end <= mention.start for one in plain[at]):
                return False
            if any(edge.cost == 0.0 and edge.value != chess.PAWN for edge in self.hearing.edges(at, "piece")):
                return True
        return False

    def _is_instead(self, mention: Mention, plain: Sequence[tuple[Mention, ...]]) -> bool:
        """Whether 'instead of' stands in front: the move is only named."""
        for at in range(mention.start - 1, max(-1, mention.start - 9), -1):
            if self.words[at].stop or any(one.end <= mention.start for one in plain[at]):
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

    def _is_run(self, mention: Mention, plain: Sequence[tuple[Mention, ...]]) -> bool:
        """'Takes, takes, takes'."""
        behind = plain[mention.end] if mention.end < len(plain) else ()
        before = plain[mention.start - 1] if mention.start else ()
        return any(one.group == "takes" for one in (*behind, *before))

    def _is_covered(self, mention: Mention) -> bool:
        """Whether a statement or a cue holds the words: 'the knight on f6', 'take that back'."""
        for start in range(max(0, mention.start - 4), mention.start + 1):
            for cue in self.cues[start]:
                if cue.cue.kind in _HOLDING and cue.end >= mention.end and cue.end > cue.start + 1:
                    return True
        for start in range(max(0, mention.start - 6), mention.start + 1):
            end = self.covers[start]
            if end <= mention.start:
                continue
            if start == mention.start and mention.group == "goes":
                continue
            if end >= mention.end or (start < mention.start and end > mention.start
                                      and mention.end - end < 1):  # fmt: skip
                return True
        return False

    def _listed(self, mention: Mention, plain: Sequence[tuple[Mention, ...]]) -> float:
        """How much speaks for its being one of 'this or that', which are both only named."""
        if mention.plainly < 2.0:
            return 0.0
        for at in range(mention.end, min(len(self.words), mention.end + 2)):
            if self.words[at - 1].stop == END:
                break
            if self._says_or(at) and any(one.plainly >= 2.0 for near in plain[at + 1 : at + 4] for one in near):  # fmt: skip
                return _LISTED
        for at in range(mention.start - 1, max(-1, mention.start - 3), -1):
            if self.words[at].stop == END:
                break
            if self._says_or(at):
                before = [one for near in plain[max(0, at - 5) : at] for one in near]
                if any(one.plainly >= 2.0 and at - 1 <= one.end <= at for one in before):
                    return _LISTED_LAST
        return 0.0

    def _says_or(self, at: int) -> bool:
        return bool(self.hearing.edges(at, "<or>"))

    def _side(self, mention: Mention,
              plain: Sequence[tuple[Mention, ...]]) -> tuple[bool | None, float, bool]:  # fmt: skip
        """Who is said to move, how sure that is, and whether it stands behind: 'd4 by White'."""
        for at in range(mention.end, min(len(self.words) - 1, mention.end + 1)):
            for kind in ("<by>", "<for>"):
                for edge in self.hearing.edges(at + 1, "side") if self.hearing.edges(at, kind) else ():
                    return bool(edge.value), 1.0, kind == "<by>"
        nearest: tuple[bool | None, float] = (None, 0.0)
        for at in range(self._clause(mention, plain), mention.end):
            for edge in self.hearing.edges(at, "side"):
                nearest = (bool(edge.value), max(0.1, 1.0 - edge.cost / 1.2))
        return *nearest, False

    def _person(self, mention: Mention, plain: Sequence[tuple[Mention, ...]]) -> int | None:
        """Who is named in front of a move, or whose its piece is."""
        found = None
        for at in range(self._clause(mention, plain), mention.end):
            for edge in self.hearing.edges(at, "person"):
                found = edge.value
        return found

    def _clause(self, mention: Mention, plain: Sequence[tuple[Mention, ...]]) -> int:
        """The first word in front of a mention that may tell of it."""
        first = mention.start
        for at in range(mention.start - 1, max(-1, mention.start - 1 - _SIDE_REACH), -1):
            if self.words[at].stop == END:
                break
            if any(one.plainly >= 2.0 and one.end <= mention.start for one in plain[at]):
                break  # Who was named before another move made that one.
            first = at
        return first

    def _number(self, mention: Mention) -> int | None:
        at = mention.start - 1
        if at < 0 or (at and self.hearing.edges(at - 1, "file")):
            return None
        return next((edge.value for edge in self.hearing.edges(at, "number")
                     if edge.end == mention.start), None)  # fmt: skip


def _longest(cues: list[tuple[CueAt, ...]]) -> list[tuple[CueAt, ...]]:
    """Without the cues for a way back that lie within a longer one: 'that's the main line'."""
    kept: list[tuple[CueAt, ...]] = []
    for at, here in enumerate(cues):
        around = [one for near in cues[max(0, at - 6) : at] for one in near if one.cue.kind == "named"]
        kept.append(tuple(
            one for one in here
            if one.cue.kind not in _HOLDING or not any(other.end >= one.end for other in around)
        ))  # fmt: skip
    return kept
