"""The words of a language: what may be said, what it is often misheard as, and how moves are put.

In: `words/LANGUAGE.toml`. Out: phrases by kind. A phrase is a tuple of words in small letters. A
kind is one of the board's own (`piece`, `file`, `rank`, `square`, `number`, `side`, `person`) or a class of
the language, as `<to>`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any

import chess

Phrase = tuple[str, ...]
PIECES = {
    "pawn": chess.PAWN, "knight": chess.KNIGHT, "bishop": chess.BISHOP, "rook": chess.ROOK,
    "queen": chess.QUEEN, "king": chess.KING,
}  # fmt: skip
SIDES = {"white": chess.WHITE, "black": chess.BLACK}
_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")


@dataclass(frozen=True, slots=True)
class Sense:
    """One thing that a phrase may stand for; `cost` is 0 where it says just that."""

    kind: str
    value: int
    cost: float


@dataclass(frozen=True, slots=True)
class Cue:
    """A phrase that tells how to take what comes: `kind` is its table in the file; `behind` tells
    that it may also stand behind the move that it speaks of."""

    kind: str
    pattern: str
    name: str
    weight: float
    reach: int
    behind: bool = False


@dataclass(frozen=True, slots=True)
class Lexicon:
    """A language. `senses` lead from phrases to what they may stand for; `first` from a word to
    the longest phrase that begins with it. `plainly` tells how plainly each group of `moves` is one."""

    language: str
    senses: Mapping[Phrase, tuple[Sense, ...]]
    first: Mapping[str, int]
    phrases: Mapping[str, tuple[str, ...]]
    moves: tuple[tuple[str, str], ...]
    plainly: Mapping[str, float]
    statements: tuple[str, ...]
    cues: tuple[Cue, ...]
    claims: tuple[tuple[str, str], ...]
    costs: Mapping[str, float]

    def senses_of(self, phrase: Phrase) -> tuple[Sense, ...]:
        return self.senses.get(phrase, ())

    def knows(self, word: str) -> bool:
        return word in self.first


def split_words(text: str) -> Phrase:
    """The words of a phrase, as those of a transcript are."""
    return tuple(word.lower().replace("’", "'") for word in _WORD.findall(text))


def load_lexicon(language: str) -> Lexicon:
    """The words of one of `LANGUAGES`."""
    file = resources.files("builder.speech") / "words" / f"{language}.toml"
    return _made(language, tomllib.loads(file.read_text(encoding="utf-8")))


def _made(language: str, table: dict[str, Any]) -> Lexicon:
    costs = {name: float(cost) for name, cost in table["costs"].items()}
    for kind, group in table["moves"].items():
        costs[f"say_{kind}"] = float(group.get("cost", 0.0))
        costs[f"miss_{kind}"] = float(group["miss"])
    senses: dict[Phrase, dict[tuple[str, int], float]] = {}
    for phrase, sense in _senses(table, costs):
        known = senses.setdefault(phrase, {})
        key = (sense.kind, sense.value)
        known[key] = min(sense.cost, known.get(key, sense.cost))
    first: dict[str, int] = {}
    for phrase in senses:
        first[phrase[0]] = max(len(phrase), first.get(phrase[0], 0))
    return Lexicon(
        language,
        {
            phrase: tuple(Sense(kind, value, cost) for (kind, value), cost in known.items())
            for phrase, known in senses.items()
        },
        first,
        {name: tuple(ways) for name, ways in table["phrases"].items()},
        tuple((kind, say) for kind, group in table["moves"].items() for say in group.get("say", ())),
        {kind: float(group["plainly"]) for kind, group in table["moves"].items()},
        tuple(table["statements"]["say"]),
        tuple(
            Cue(kind, say, group.get("name", ""), float(group.get("weight", 1.0)),
                int(group.get("reach", 0)), bool(group.get("behind", False)))
            for kind, groups in table["cues"].items() for group in groups for say in group["say"]
        ),
        tuple((say, group["claim"]) for group in table["claims"] for say in group["say"]),
        costs,
    )  # fmt: skip


def _senses(table: dict[str, Any], costs: Mapping[str, float]) -> Iterator[tuple[Phrase, Sense]]:
    """Every phrase of the file with what it stands for."""
    kinds = {
        "piece": {name: PIECES[name] for name in table["piece"]},
        "file": {name: chess.FILE_NAMES.index(name) for name in table["file"]},
        "rank": {name: int(name) - 1 for name in table["rank"]},
        "square": {name: chess.parse_square(name) for name in table.get("square", {})},
        "side": {name: int(SIDES[name]) for name in table["side"]},
        "person": {name: number for number, name in enumerate(table["person"])},
    }
    for kind, values in kinds.items():
        for name, value in values.items():
            yield from _group(table[kind][name], kind, value, costs)
    for name, words in table["class"].items():
        yield from _group(words, f"<{name}>", 0, costs)
    yield from _numbers(table["number"])


def _group(words: Any, kind: str, value: int,
           costs: Mapping[str, float]) -> Iterator[tuple[Phrase, Sense]]:  # fmt: skip
    """`["as", "said"]`, or `{ say = […], like = […], far = […] }`: said so, misheard so, and words
    of their own that are seldom meant so."""
    groups = words if isinstance(words, dict) else {"say": words}
    for degree, phrases in groups.items():
        for phrase in phrases:
            yield split_words(phrase), Sense(kind, value, costs[degree])


def _numbers(table: dict[str, Any]) -> Iterator[tuple[Phrase, Sense]]:
    """Cardinal and ordinal numbers, each with those made of tens and units."""
    yield from _counted("number", table["units"], table["tens"])
    yield from _counted("ordinal", table["ordinals"], table["tens"])


def _counted(kind: str, units: dict[str, list[str]],
             tens: dict[str, list[str]]) -> Iterator[tuple[Phrase, Sense]]:  # fmt: skip
    for number, words in units.items():
        for word in words:
            yield split_words(word), Sense(kind, int(number), 0.0)
    for ten, words in tens.items():
        for word in words:
            yield split_words(word), Sense("number", int(ten), 0.0)
            for unit in range(1, 10):
                for one in units[str(unit)]:
                    yield split_words(f"{word} {one}"), Sense(kind, int(ten) + unit, 0.0)
