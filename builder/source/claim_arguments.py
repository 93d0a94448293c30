"""The arguments of a claim: one written word into the field of the claim that it fills.

In: a token, and the argument that stands there in a form of `claim_forms.py`. Out: the field
filled, or a `Miss` that tells why the word doesn't fit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from functools import partial
from types import MappingProxyType
from typing import TypeAlias

import chess

from builder.source.claim_forms import PIECE_WORDS

_SIDES = MappingProxyType({"white": chess.WHITE, "black": chess.BLACK})
_COMPARISONS = {"=": "=", ">=": ">=", "≥": ">=", "<=": "<=", "≤": "<="}
_SAN = re.compile(
    r"(?:[KQRBN]?[a-h]?[1-8]?x?[a-h][1-8](?:=?[QRBN])?|O-O(?:-O)?|0-0(?:-0)?)[+#]?"
)
_MOST_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Token:
    """A word of a claim: the `at`th, from `start` to `end` of the claim's text."""

    at: int
    kind: str
    text: str
    start: int
    end: int


@dataclass(slots=True)
class Filled:
    """The fields of a `ClaimTerm`, while they are read."""

    squares: list[int] = field(default_factory=list)
    side: bool | None = None
    comparison: str = "="
    numbers: list[float] = field(default_factory=list)
    move: str = ""
    words: list[str] = field(default_factory=list)
    name: str = ""


@dataclass(frozen=True, slots=True)
class Miss:
    """What doesn't fit a form: the token (their number: past the end), and why."""

    at: int
    code: str
    message: str
    hint: str = ""
    choices: tuple[str, ...] = ()


def fill(argument: str, token: Token, filled: Filled) -> Miss | None:
    """Puts a token into the field that the argument names."""
    if argument in _FILLS:
        return _FILLS[argument](token, filled)
    if "|" in argument:
        return _choose(tuple(argument.split("|")), token, filled)
    if token.text != argument:
        return Miss(token.at, "claim-word", f"{token.text} has no meaning here", "", (argument,))
    return None


def lacking(argument: str) -> str:
    """What to call an argument that nothing stands for."""
    return _CALLED.get(argument, argument.replace("|", " or "))


def _square(token: Token, filled: Filled) -> Miss | None:
    if token.text not in chess.SQUARE_NAMES:
        return Miss(token.at, "claim-square", f"{token.text} is not a square",
                    "squares are a1 to h8", _alike(token.text, chess.SQUARE_NAMES))  # fmt: skip
    filled.squares.append(chess.parse_square(token.text))
    return None


def _file(token: Token, filled: Filled) -> Miss | None:
    if token.text not in chess.FILE_NAMES:
        return Miss(token.at, "claim-file", f"{token.text} is not a file", "files are a to h",
                    _alike(token.text[:1], chess.FILE_NAMES))  # fmt: skip
    filled.words.append(token.text)
    return None


def _alike(text: str, names: Collection[str]) -> tuple[str, ...]:
    """The names, where the text is one of them but for capitals."""
    return tuple(names) if text.lower() in names else ()


def _side(token: Token, filled: Filled) -> Miss | None:
    if token.text not in _SIDES:
        return Miss(token.at, "claim-side", f"{token.text} is not a side",
                    "a side is white or black", tuple(_SIDES))  # fmt: skip
    filled.side = _SIDES[token.text]
    return None


def _comparison(token: Token, filled: Filled) -> Miss | None:
    if token.text not in _COMPARISONS:
        return Miss(token.at, "claim-compare", f"{token.text} doesn't compare",
                    "write =, >= or <=")  # fmt: skip
    filled.comparison = _COMPARISONS[token.text]
    return None


def _number(token: Token, filled: Filled) -> Miss | None:
    number = _digits(token.text)
    if token.kind != "number" or len(number) > _MOST_DIGITS:
        return Miss(token.at, "claim-number", f"{token.text} is not a number here")
    filled.numbers.append(float(number))
    return None


def _count(token: Token, filled: Filled) -> Miss | None:
    if token.kind == "number" and not _digits(token.text).isdecimal():
        return Miss(token.at, "claim-number", f"{token.text} can't be counted",
                    "a whole number must stand here")  # fmt: skip
    return _number(token, filled)


def _digits(text: str) -> str:
    return "".join(text.split()).replace("−", "-")


def _move(token: Token, filled: Filled) -> Miss | None:
    if not _SAN.fullmatch(token.text):
        return Miss(token.at, "claim-move", f"{token.text} is not a move",
                    "moves are written as in Nf3, exd5, O-O or e8=Q")  # fmt: skip
    filled.move = token.text
    return None


def _name(token: Token, filled: Filled) -> Miss | None:
    if token.kind != "name" or len(token.text) == 1:
        return Miss(token.at, "claim-name", f"{token.text} is not a position's name",
                    "write @ and the name")  # fmt: skip
    filled.name = token.text[1:]
    return None


def _choose(choices: tuple[str, ...], token: Token, filled: Filled) -> Miss | None:
    if token.text not in choices:
        return Miss(token.at, "claim-word", f"{token.text} has no meaning here",
                    f"write {', '.join(choices[:-1])} or {choices[-1]}", choices)  # fmt: skip
    filled.words.append(token.text)
    return None


_Fill: TypeAlias = "Callable[[Token, Filled], Miss | None]"
_FILLS: Mapping[str, _Fill] = MappingProxyType({
    "SQUARE": _square, "SQUARES": _square, "FILE": _file, "SIDE": _side, "COMPARE": _comparison,
    "NUMBER": _number, "COUNT": _count, "MOVE": _move, "@NAME": _name,
    "PIECES": partial(_choose, PIECE_WORDS),
})  # fmt: skip
_CALLED = {
    "SQUARE": "a square", "SQUARES": "a second square", "SIDE": "a side, white or black",
    "COMPARE": "=, >= or <=", "NUMBER": "a number", "COUNT": "a number", "MOVE": "a move",
    "FILE": "a file, a to h", "PIECES": "a kind of piece", "@NAME": "the name of a position",
    ":": "a colon",
}  # fmt: skip
