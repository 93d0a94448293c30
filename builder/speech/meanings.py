"""What stretches of speech can mean, before any position is looked at: moves that are mentioned,
statements that are none, and cues.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from builder.speech.contexts import HOLDING, Contexts
from builder.speech.costs import Costs, total
from builder.speech.lexicon import Lexicon
from builder.speech.mentions import (
    CueAt, Mention, Pattern, by_first, flagged, from_san, outdoes, shape_of, with_costs,
)  # fmt: skip
from builder.speech.patterns import Hearing, Way, compiled
from builder.speech.plans import Plans
from builder.speech.shapes import Shape
from builder.speech.utterance import END, PAUSE, Word, ends_within

MOST_MENTIONS = 24  # that begin at one word
# How much less plainly it is a move, for what was misheard in it, and of its first word.
_MISHEARD = 1.2
_BEGUN = 1.0

# Ways to put a move that no sentence ends within.
_WHOLE = (
    "square_side", "goes", "square_first", "square_first_far", "piece_far", "promotion", "takes_with",
    "reference",
)  # fmt: skip


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
        covers = [self._statement(at) for at in range(count)]
        plain = [self._mentions_at(at) for at in range(count)]
        plans = Plans(self.hearing, self.cues, plain).found()
        contexts = Contexts(self.hearing, self.cues, covers, plans, plain)
        self.plans = plans
        self.mentions = [tuple(contexts.weighed(mention) for mention in at) for at in plain]

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
        kept = [with_costs(one, self.lexicon.costs, ("wing_unsaid", 1.0)) if one.group == "castling" and one.end < wings
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


def _longest(cues: list[tuple[CueAt, ...]]) -> list[tuple[CueAt, ...]]:
    """Without the cues for a way back that lie within a longer one: 'that's the main line'."""
    kept: list[tuple[CueAt, ...]] = []
    for at, here in enumerate(cues):
        around = [one for near in cues[max(0, at - 6) : at] for one in near if one.cue.kind == "named"]
        kept.append(tuple(
            one for one in here
            if one.cue.kind not in HOLDING or not any(other.end >= one.end for other in around)
        ))  # fmt: skip
    return kept
