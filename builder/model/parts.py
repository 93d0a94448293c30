"""What stands at positions: diagrams, claims, names, exercises."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, TypeAlias

from builder.model.position import Position
from builder.place import Place

if TYPE_CHECKING:
    from builder.model.line import Line, Ply
    from builder.model.prose import Block, Inline

MarkKind: TypeAlias = Literal["plan", "threat", "guard", "key", "weak", "label"]


@dataclass(frozen=True, slots=True)
class Mark:
    """An annotation on a diagram, by what it means.

    `squares` is the path of a plan, threat or guard, or the squares of key, weak and label
    (0 = a1 … 63 = h8, as in `chess`).
    """

    kind: MarkKind
    squares: tuple[int, ...]
    text: str = ""


@dataclass(frozen=True, slots=True)
class Diagram:
    """A diagram; `number` runs through the booklet, None for an exercise's own board.

    `ply` is the move just played, None at a start position. `name` is the position's name
    when the diagram was asked for by it or stands right at it; `standalone` tells the first
    of the two, and diagrams of a FEN, from a `(D …)` in a line.
    """

    anchor: str
    chapter: str
    number: int | None
    position: Position
    ply: Ply | None = field(repr=False)
    name: str | None
    caption: tuple[Inline, ...]
    flip: bool
    size: Literal["small", "normal", "large"]
    marks: tuple[Mark, ...]
    place: Place = field(repr=False)
    standalone: bool = False


@dataclass(frozen=True, slots=True)
class ClaimTerm:
    """What is claimed, as written in the claim language.

    `kind` is the first word (or words) of the claim. The other fields are used as the kind
    needs them; see `builder.source.claims`, which lists them.
    """

    kind: str
    squares: tuple[int, ...] = ()
    side: bool | None = None  # chess.WHITE or chess.BLACK
    comparison: Literal["=", ">=", "<="] = "="
    numbers: tuple[float, ...] = ()
    move: str = ""
    words: tuple[str, ...] = ()
    name: str = ""
    denied: bool = False


@dataclass(frozen=True, slots=True)
class Claim:
    """A claim about a position, at its place.

    `ply` is the ply that reached the position (its path is the history that repetitions are
    counted in), None at a start position. `text` is the claim as written; `at` the name that
    it gives in front, or None.
    """

    term: ClaimTerm
    text: str
    position: Position
    ply: Ply | None = field(repr=False)
    chapter: str
    place: Place = field(repr=False)
    at: str | None = None


@dataclass(frozen=True, slots=True)
class NamedPosition:
    """A position the author named. `diagram` is the one to send a reader to, if any."""

    name: str
    anchor: str
    chapter: str
    position: Position
    ply: Ply | None = field(repr=False)
    diagram: Diagram | None = field(repr=False)
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Exercise:
    """A task at a position.

    `answers` are the plies of the solution that count as right: its first move, and the
    solver's first move in each top-level variation, which may replace a later one.
    """

    anchor: str
    solution_anchor: str
    chapter: str
    number: int
    given_id: str
    diagram: Diagram
    task: tuple[Block, ...]
    hint: tuple[Block, ...]
    solution: Line
    answers: tuple[Ply, ...]
    place: Place = field(repr=False)
