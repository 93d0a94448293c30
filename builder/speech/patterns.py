"""How things are put: patterns over words, as `{piece} <go>* <to>? {square}`.

An element is a word, a class `<to>`, a slot `{piece}` or a phrase `@mover`, which is put in one of
several ways of its own; a slot may have a name of its own, as `{took:piece}`. `?` makes an element
optional, `*` lets it stand any number of times; `...` leaves up to six words out, and `_` is one word
that the language's file doesn't know: what was misheard. Fillers may stand between all elements. Each
way to read the words has a cost.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import chess

from builder.speech.lexicon import Lexicon
from builder.speech.utterance import END, PAUSE, Word

_ELEMENT = re.compile(r"(?:\{(?:(?P<name>\w+):)?(?P<slot>\w+)\}|(?P<word><\w+>|@?[\w']+))(?P<many>[?*]?)")
_GAP = "..."
_UNKNOWN = "_"
_MOST_GAP = 6
_MOST_WAYS = 48  # to read one pattern from one word
_MOST_STEPS = 400  # on the way to them
_MOST_FILLERS = 4


@dataclass(frozen=True, slots=True)
class Element:
    kind: str
    slot: str = ""
    optional: bool = False
    many: bool = False


@dataclass(frozen=True, slots=True)
class Edge:
    """The words up to `end` read as a thing of `kind`."""

    kind: str
    value: int
    end: int
    cost: float


@dataclass(frozen=True, slots=True)
class Way:
    """The words up to `end` read by a pattern, with what fills its slots, in order. `misheard` is
    the part of the cost that is for what was misheard, `begun` that of the first thing in it."""

    end: int
    cost: float
    slots: tuple[tuple[str, int], ...] = ()
    misheard: float = 0.0
    begun: float = 0.0


Phrases = Mapping[str, tuple[tuple[Element, ...], ...]]  # by their names, as `@mover`


def first_kinds(elements: Sequence[Element], phrases: Phrases) -> Iterator[str]:
    """What a pattern may begin with."""
    for element in elements:
        if element.kind in phrases:
            for way in phrases[element.kind]:
                yield from first_kinds(way, phrases)
        else:
            yield element.kind
        if not element.optional:
            return


def compiled(pattern: str) -> tuple[Element, ...]:
    """Raises ValueError where it is no pattern."""
    found = []
    for text in pattern.split():
        if text in (_GAP, _UNKNOWN):
            found.append(Element(text))
            continue
        match = _ELEMENT.fullmatch(text)
        if match is None:
            raise ValueError(f"{text!r} in {pattern!r}")
        slot = match["slot"] or ""
        kind = slot or match["word"]
        found.append(Element(kind, (match["name"] or slot) if slot else "",
                             match["many"] != "", match["many"] == "*"))  # fmt: skip
    return tuple(found)


def _agree(slots: Sequence[tuple[str, int]], more: Sequence[tuple[str, int]]) -> bool:
    """Whether nothing is said twice that differs."""
    known = dict(slots)
    return all(known.get(name, value) == value for name, value in more)


@dataclass(slots=True)
class Hearing:
    """Words with everything that stretches of them may stand for."""

    words: Sequence[Word]
    lexicon: Lexicon
    phrases: Phrases = field(default_factory=dict)
    _put: dict[tuple[int, str], tuple[Way, ...]] = field(default_factory=dict)
    _edges: dict[int, Mapping[str, tuple[Edge, ...]]] = field(default_factory=dict)

    def edges(self, at: int, kind: str) -> tuple[Edge, ...]:
        known = self._edges.get(at)
        if known is None:
            known = self._edges[at] = self._found(at)
        return known.get(kind, ())

    def kinds(self, at: int) -> tuple[str, ...]:
        """The kinds of things that may begin at a word."""
        self.edges(at, "")
        return tuple(self._edges[at])

    def _found(self, at: int) -> Mapping[str, tuple[Edge, ...]]:
        found: dict[str, list[Edge]] = {}
        for edge in self._simple(at):
            found.setdefault(edge.kind, []).append(edge)
        squares = list(self._squares(found.get("file", ())))
        text = self.words[at].text
        if text in chess.SQUARE_NAMES:
            squares.append(Edge("square", chess.parse_square(text), at + 1, 0.0))
        for edge in squares:
            found.setdefault("square", []).append(edge)
        return {kind: tuple(edges) for kind, edges in found.items()}

    def _simple(self, at: int) -> Iterator[Edge]:
        word = self.words[at].text
        yield Edge(word, 0, at + 1, 0.0)
        phrase: tuple[str, ...] = ()
        stopped = 0.0
        for end in range(at + 1, min(len(self.words), at + self.lexicon.first.get(word, 0)) + 1):
            phrase += (self.words[end - 1].text,)
            for sense in self.lexicon.senses_of(phrase):
                yield Edge(sense.kind, sense.value, end, sense.cost + stopped)
            if self.words[end - 1].stop == END:
                stopped += self.lexicon.costs["full_stop"]
        if not self.lexicon.knows(word) and word.isalpha():
            yield Edge(_UNKNOWN, 0, at + 1, self.lexicon.costs["unknown"])
        if word.isdecimal() and len(word) < 4:
            yield Edge("number", int(word), at + 1, 0.0)

    def _squares(self, files: Iterable[Edge]) -> Iterator[Edge]:
        costs = self.lexicon.costs
        for file in files:
            at = file.end
            if at >= len(self.words):
                continue
            stopped = self._stop_cost(at)
            for rank in (edge for edge in self._simple(at) if edge.kind == "rank"):
                both = costs["both_misheard"] if file.cost and rank.cost else 0.0
                yield Edge("square", rank.value * 8 + file.value, rank.end,
                           file.cost + rank.cost + stopped + both)  # fmt: skip

    def _stop_cost(self, at: int) -> float:
        """What it costs to read over the sign in front of a word."""
        stop = self.words[at - 1].stop if at else 0
        costs = self.lexicon.costs
        return {END: costs["full_stop"], PAUSE: costs["comma"]}.get(stop, 0.0)

    # --- patterns --------------------------------------------------------------------------------

    def ways(self, elements: Sequence[Element], at: int) -> list[Way]:
        """Every way to read the words from `at` by a pattern, the best for each reading."""
        found: dict[tuple[int, tuple[tuple[str, int], ...]], Way] = {}
        stack = [(0, at, 0.0, 0.0, 0.0, ())]
        seen: dict[tuple[int, int, tuple[tuple[str, int], ...]], float] = {}
        while stack and len(seen) < _MOST_STEPS:
            number, here, cost, misheard, begun, slots = stack.pop()
            if seen.get((number, here, slots), cost + 1.0) <= cost:
                continue
            seen[number, here, slots] = cost
            if number == len(elements):
                key = (here, slots)
                if key not in found or found[key].cost > cost:
                    found[key] = Way(here, cost, slots, misheard, begun)
                continue
            element = elements[number]
            if element.optional:
                stack.append((number + 1, here, cost, misheard, begun, slots))
            if element.kind == _GAP:
                stack += [
                    (number + 1, here + gap, cost + gap * self.lexicon.costs["gap"], misheard, begun,
                     slots) for gap in range(1, self._gap(here) + 1)
                ]
                continue
            after = number if element.many else number + 1
            for start, extra in self._starts(here, at):
                for way in self._read(start, element):
                    if element.kind not in self.phrases or _agree(slots, way.slots):
                        first = way.begun if here == at else begun
                        stack.append((after, way.end, cost + extra + way.cost, misheard + way.misheard,
                                      first, (*slots, *way.slots)))  # fmt: skip
        return sorted(found.values(), key=lambda way: (way.cost, way.end, way.slots))[:_MOST_WAYS]

    def _read(self, at: int, element: Element) -> Iterator[Way]:
        """The ways to read one element from a word."""
        if element.kind in self.phrases:
            key = (at, element.kind)
            if key not in self._put:
                self._put[key] = tuple(
                    way for put in self.phrases[element.kind] for way in self.ways(put, at)
                )
            yield from self._put[key]
        for edge in self.edges(at, element.kind):
            slots = ((element.slot, edge.value),) if element.slot else ()
            yield Way(edge.end, edge.cost, slots, edge.cost, edge.cost)

    def _starts(self, here: int, first: int) -> list[tuple[int, float]]:
        """Where an element may begin: here, or behind fillers; and what that costs."""
        if here >= len(self.words):
            return []
        if here == first:
            return [(here, 0.0)]
        cost = self._stop_cost(here)
        starts = [(here, cost)]
        for _ in range(_MOST_FILLERS):
            fillers = self.edges(here, "<filler>")
            if not fillers:
                break
            here = fillers[0].end
            if here >= len(self.words):
                break
            cost += self._stop_cost(here) + self.lexicon.costs["filler"]
            starts.append((here, cost))
        return starts

    def _is_telling(self, at: int) -> bool:
        if self.edges(at, "<stands>"):
            return True
        near = (*self.edges(at, "square"), *self.edges(at, "piece"))
        return any(edge.cost < self.lexicon.costs["far"] for edge in near)

    def _gap(self, here: int) -> int:
        """How many words from here may be left out: none of another sentence, none that tells
        how things stand, no other square or piece."""
        for count in range(_MOST_GAP):
            if here + count >= len(self.words) or self._is_telling(here + count):
                return count
            if here + count and self.words[here + count - 1].stop == END:
                return count
        return _MOST_GAP
