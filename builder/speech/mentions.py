"""A move as it is mentioned, and a cue: what patterns make of words, before any position is looked at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import chess

from builder.speech import shapes
from builder.speech.costs import Costs, total
from builder.speech.lexicon import Cue
from builder.speech.patterns import Element, Phrases, Way, first_kinds
from builder.speech.shapes import Shape

_FLAGS = {
    "<takes>": "takes", "<retakes>": "retakes", "<short>": "short", "<long>": "long",
    "<check>": "check", "<mate>": "mate", "<passing>": "passing", "<fianchetto>": "fianchetto",
    "<two_steps>": "two", "<one_step>": "one", "<other>": "other", "<kings>": "kings",
    "<queens>": "queens", "<back>": "back", "<castles>": "castles",
}  # fmt: skip
_PAWN_GROUPS = ("square", "square_side", "pawn", "pawn_takes", "pawn_file", "pawn_short", "garbled")


@dataclass(frozen=True, slots=True)
class Mention:
    """The words `start` to `end` as a move. `plainly` tells how plainly they are one, `heard` how
    much was misheard of it, `begun` of its first word; `costs` is what hearing them so costs, `misses`
    what leaving them does, and `cost` and `miss` their sums. `side` is who was named to move (with
    how sure that is), `person` who else, `number` a number said in front. `plan` tells how much
    speaks for its being only talked of.
    """

    start: int
    end: int
    shape: Shape
    group: str
    plainly: float
    costs: Costs
    misses: Costs
    cost: float
    miss: float
    heard: float = 0.0
    begun: float = 0.0
    side: bool | None = None
    side_weight: float = 0.0
    person: int | None = None
    number: int | None = None
    plan: float = 0.0


@dataclass(frozen=True, slots=True)
class CueAt:
    """A cue that stands at words `start` to `end`; `number` is the one in it."""

    start: int
    end: int
    cue: Cue
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Pattern:
    """A way to put a move, a statement or a cue; `group` is its kind."""

    group: str
    elements: tuple[Element, ...]


def by_first(patterns: Iterable[Pattern], phrases: Phrases) -> dict[str, list[Pattern]]:
    """Patterns by what they may begin with."""
    found: dict[str, list[Pattern]] = {}
    for pattern in patterns:
        for kind in dict.fromkeys(first_kinds(pattern.elements, phrases)):
            found.setdefault(kind, []).append(pattern)
    return found


def flagged(elements: tuple[Element, ...]) -> tuple[Element, ...]:
    """Classes that say something of the move as slots."""
    return tuple(
        replace(element, slot=_FLAGS[element.kind]) if element.kind in _FLAGS else element
        for element in elements
    )


def shape_of(group: str, way: Way) -> Shape | None:
    """The shape of a way to read a pattern; None where it makes no sense."""
    slots = dict(way.slots)
    piece = slots.get("piece")
    if slots.get("pawn", chess.PAWN) != chess.PAWN:
        return None
    if "pawn" in slots or (piece is None and group in _PAWN_GROUPS):
        piece = chess.PAWN
    if "origin" in slots and slots["origin"] == slots.get("square"):
        return None
    becomes = slots.get("becomes")
    if group == "promotion":
        if slots.get("square", 0) // 8 not in (0, 7):
            return None
        if becomes in (chess.KING, chess.PAWN):
            return None
        becomes = becomes or chess.QUEEN
        piece = piece or chess.PAWN
        if piece != chess.PAWN:
            return None
    castles = 0
    if "castles" in slots or group == "goes_castling":
        wings = {"short": shapes.SHORT, "long": shapes.LONG}
        said = [wings[name] for name in slots if name in wings]
        castles = said[-1] if said else shapes.EITHER  # What was said last corrects the rest.
    which = 0
    for name, value in (("other", shapes.OTHER), ("kings", shapes.KINGSIDE), ("queens", shapes.QUEENSIDE)):  # fmt: skip
        which = value if name in slots else which
    from_file = slots.get("from")
    if piece == chess.PAWN and which in (shapes.KINGSIDE, shapes.QUEENSIDE):
        from_file, which = (4 if which == shapes.KINGSIDE else 3), 0
    if piece == chess.PAWN and from_file is not None and slots.get("square") is not None:
        if abs(slots["square"] % 8 - from_file) > 1:
            return None
    return Shape(
        piece=piece, from_file=from_file, from_rank=slots.get("row"), origin=slots.get("origin"),
        to_file=slots.get("side_file"), to_rank=slots.get("side_rank"), to=slots.get("square"),
        takes="takes" in slots or "retakes" in slots, retakes="retakes" in slots,
        took=slots.get("took"), becomes=becomes, castles=castles,
        en_passant="passing" in slots, check="check" in slots, mate="mate" in slots,
        back="back" in slots, steps=_steps(slots) if piece == chess.PAWN else 0,
        which=which, fianchetto="fianchetto" in slots,
    )  # fmt: skip


def _steps(slots: Mapping[str, int]) -> int:
    """How far a pawn is said to go; 'all the way' says nothing of other pieces."""
    return 2 if "two" in slots else 1 if "one" in slots else 0


_LETTERS = {"K": chess.KING, "Q": chess.QUEEN, "R": chess.ROOK, "B": chess.BISHOP, "N": chess.KNIGHT}


def from_san(san: str) -> Iterator[tuple[str, Shape, float]]:
    """A move that stands in letters already: its group and shape, and how much speaks against it. A
    small b in front is a bishop's or a file."""
    if san[0] == "b" and not san[1].isdigit():
        for group, shape, _ in from_san("B" + san[1:]):
            yield group, shape, 0.3
        if abs(ord(san.rstrip("+#")[-2]) - ord("b")) != 1 or len(san.rstrip("+#")) > 4:
            return
    text = san.rstrip("+#").replace("0", "O").replace("x", "").replace("X", "").replace(":", "")
    check, mate = san.endswith("+"), san.endswith("#")
    if text.startswith("O-O"):
        castles = shapes.LONG if text == "O-O-O" else shapes.SHORT
        yield "castling_letters", Shape(castles=castles, check=check, mate=mate), 0.0
        return
    becomes = None
    if text[-1] in _LETTERS:
        becomes = _LETTERS[text[-1]]
        text = text[:-1].rstrip("=")
    piece = _LETTERS.get(text[0], chess.PAWN)
    rest = text[1:-2] if piece != chess.PAWN else text[:-2]
    file = next((chess.FILE_NAMES.index(char) for char in rest if char in "abcdefgh"), None)
    rank = next((int(char) - 1 for char in rest if char.isdigit()), None)
    shape = Shape(
        piece=piece, from_file=file, from_rank=rank, to=chess.parse_square(text[-2:]),
        takes="x" in san.lower(), becomes=becomes, check=check, mate=mate,
    )  # fmt: skip
    yield "letters", shape, 0.0


def with_costs(mention: Mention, weights: Mapping[str, float], *more: tuple[str, float],
               misses: Costs | None = None) -> Mention:  # fmt: skip
    """The mention with more costs, and other ones of leaving it."""
    if misses is not None:
        mention = replace(mention, misses=misses, miss=total(misses, weights))
    if more:
        costs = (*mention.costs, *more)
        mention = replace(mention, costs=costs, cost=mention.cost + total(more, weights))
    return mention


def outdoes(one: Mention, other: Mention) -> bool:
    """Whether `one` hears the same words more cheaply and says no more than `other`."""
    if one.end != other.end or one.cost > other.cost - 0.5:
        return False
    return all(
        getattr(one.shape, name) in (None, 0, False, getattr(other.shape, name))
        for name in Shape.__slots__
    )
