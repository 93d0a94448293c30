"""The booklet as every output reads it.

Frozen dataclasses, made once by `builder.book` and never changed. The model knows the rules
of chess but neither drawing nor files. Anchors are unique in the whole booklet, so that the
site (a page a chapter) and the print (one document) can use the same ones.

A line's moves are not nested objects but one flat stream in reading order, in which
`VariationStart` and `VariationEnd` bracket the variations: every traversal is a loop, and the
depth of an author's nesting costs no stack. The tree is in `Ply.parent`, which also crosses
from a line that starts at a named position into the line that reaches it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import chess

from builder.place import Place

# What makes two positions the same (FIDE Laws 9.2.3): placement, side to move, castling
# rights, and the en-passant square only where such a capture is legal.
PositionKey: TypeAlias = tuple[int, ...]


class Position:
    """A position: what stands on the board, and how to ask the rules about it."""

    __slots__ = ("_board", "key")

    def __init__(self, board: chess.Board) -> None:
        """Takes a snapshot of `board`, without its move stack."""
        self._board = board.copy(stack=False)
        self.key: PositionKey = position_key(board)

    def board(self) -> chess.Board:
        """A fresh board, without move history, for the caller to play on."""
        return self._board.copy(stack=False)

    @property
    def white_to_move(self) -> bool:
        return self._board.turn

    @property
    def placement(self) -> str:
        """The piece placement field of the FEN."""
        return self._board.board_fen()

    @property
    def fen(self) -> str:
        """FEN by the PGN standard (16.1): en-passant square after every double step."""
        return self._board.fen(en_passant="fen")

    @property
    def epd(self) -> str:
        """The four EPD fields, en-passant square only where the capture is legal."""
        return self._board.epd(en_passant="legal")

    @property
    def move_number(self) -> int:
        """The number of the move about to be played."""
        return self._board.fullmove_number

    @property
    def ply_number(self) -> int:
        """Half-moves since the start as the move number tells them: 0 before 1.e4."""
        return self._board.ply()

    def __repr__(self) -> str:
        return f"Position({self.fen!r})"


def position_key(board: chess.Board) -> PositionKey:
    """The identity of a position; see `PositionKey`."""
    en_passant = board.ep_square if board.ep_square and board.has_legal_en_passant() else 0
    return (
        board.pawns, board.knights, board.bishops, board.rooks, board.queens, board.kings,
        board.occupied_co[chess.WHITE], int(board.turn), board.clean_castling_rights(),
        en_passant,
    )  # fmt: skip


# --- lines ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class Ply:
    """One half-move, where it stands in the booklet.

    `depth` is 0 in a line's main moves, 1 in its variations and in side-lines of the prose,
    and so on. `parent` is the ply before, across lines; None after a start position.
    `name` is the position's name where the author gave one here.
    """

    anchor: str
    chapter: str
    line: str
    move: chess.Move
    san: str
    nags: tuple[int, ...]
    before: Position = field(repr=False)
    after: Position = field(repr=False)
    parent: Ply | None = field(repr=False)
    depth: int
    place: Place = field(repr=False)
    name: str | None = None

    @property
    def number(self) -> int:
        """The move number printed before the move."""
        return self.before.move_number

    @property
    def by_white(self) -> bool:
        return self.before.white_to_move

    @property
    def is_pass(self) -> bool:
        return not self.move

    @property
    def label(self) -> str:
        """The move with its number in standard letters: `5.Nxc6`, `5...bxc6`."""
        return f"{self.number}{'.' if self.by_white else '...'}{self.san}"

    def path(self) -> tuple[Ply, ...]:
        """The plies from the start position to this one, this one included."""
        steps: list[Ply] = []
        step: Ply | None = self
        while step is not None:
            steps.append(step)
            step = step.parent
        return tuple(reversed(steps))


@dataclass(frozen=True, slots=True)
class VariationStart:
    """A variation opens; `instead_of` is the ply that its first move replaces."""

    instead_of: Ply = field(repr=False)
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class VariationEnd:
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Comment:
    """Words between moves; `after` is the ply they stand after, None at a line's start."""

    inlines: tuple[Inline, ...]
    after: Ply | None = field(repr=False)
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Result:
    """`1-0`, `0-1`, `1/2-1/2` or `*`."""

    text: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Line:
    """A sequence of moves with variations: a `line` block, an exercise's solution, or a
    side-line that the prose goes into (`kind` tells which).

    `given_id` is the author's name for it, unique in the chapter, or None.
    """

    anchor: str
    chapter: str
    kind: Literal["line", "solution", "aside"]
    given_id: str | None
    start: Position
    start_ply: Ply | None = field(repr=False)
    start_name: str | None
    items: tuple[LineItem, ...]
    place: Place = field(repr=False)

    def plies(self) -> Iterator[Ply]:
        """Every ply, variations included, in reading order."""
        return (item for item in self.items if isinstance(item, Ply))

    def main_plies(self) -> tuple[Ply, ...]:
        """The plies outside all variations."""
        depth = 0
        found: list[Ply] = []
        for item in self.items:
            if isinstance(item, VariationStart):
                depth += 1
            elif isinstance(item, VariationEnd):
                depth -= 1
            elif isinstance(item, Ply) and depth == 0:
                found.append(item)
        return tuple(found)


# --- diagrams, claims, names, exercises -----------------------------------------------------

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


# --- prose -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Text:
    text: str


@dataclass(frozen=True, slots=True)
class Emphasis:
    children: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Strong:
    children: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Strike:
    children: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Code:
    text: str


@dataclass(frozen=True, slots=True)
class Break:
    """A line end in a paragraph; `hard` when the author asked for it."""

    hard: bool


@dataclass(frozen=True, slots=True)
class Link:
    """A link to the web (`http`, `https`, `mailto`), or to a chapter of the booklet.

    For a chapter, `chapter` is its slug and `href` is empty.
    """

    href: str
    chapter: str | None
    title: str
    children: tuple[Inline, ...]
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture file of the booklet: `file` is relative to the booklet, checked to exist."""

    file: str
    alt: str
    title: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class FootnoteRef:
    """A mark that leads to `Chapter.footnotes[number - 1]`; `first` is False when repeated."""

    number: int
    first: bool


@dataclass(frozen=True, slots=True)
class Moves:
    """Moves in the text: `plies` in order, with those that first stand here in `new`.

    When `aside` is not None, the new plies are that side-line's.
    """

    plies: tuple[Ply, ...]
    nags: tuple[tuple[int, ...], ...]
    new: frozenset[str]
    aside: Line | None = field(repr=False)
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class PositionLink:
    """A link to a named position, in the author's words or (None) as 'Diagram 7, page 12'."""

    name: str
    words: tuple[Inline, ...] | None
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class ClaimedWords:
    """Words that are printed, and the claim that they make."""

    words: tuple[Inline, ...]
    claim: Claim | None


Inline: TypeAlias = (
    Text | Emphasis | Strong | Strike | Code | Break | Link | Picture | FootnoteRef
    | Moves | PositionLink | ClaimedWords | Diagram
)  # fmt: skip

LineItem: TypeAlias = (
    Ply | Comment | VariationStart | VariationEnd | Diagram | Claim | Result
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Paragraph:
    inlines: tuple[Inline, ...]
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading inside a chapter; `level` 1 to 6 as written, the chapter's title is above."""

    level: int
    inlines: tuple[Inline, ...]
    anchor: str
    place: Place = field(repr=False)


@dataclass(frozen=True, slots=True)
class ItemList:
    """`start` is the first number of an ordered list, None for a bulleted one."""

    start: int | None
    tight: bool
    items: tuple[tuple[Block, ...], ...]


@dataclass(frozen=True, slots=True)
class Quote:
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class CodeBlock:
    text: str
    info: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A thematic break."""


@dataclass(frozen=True, slots=True)
class Table:
    """`align` holds left, right, center or empty for each column; cells are inlines."""

    align: tuple[str, ...]
    head: tuple[tuple[Inline, ...], ...]
    rows: tuple[tuple[tuple[Inline, ...], ...], ...]


@dataclass(frozen=True, slots=True)
class Footnote:
    number: int
    blocks: tuple[Block, ...]


Block: TypeAlias = (
    Paragraph | Heading | ItemList | Quote | CodeBlock | Rule | Table | Line | Diagram | Exercise
)  # fmt: skip


# --- the booklet -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Chapter:
    """A chapter. `lines` holds every line in it in reading order, asides and solutions
    included; `claims` likewise."""

    slug: str
    anchor: str
    number: int
    title: str
    side: Literal["white", "black", "both"]
    eco: str
    summary: str
    draft: bool
    blocks: tuple[Block, ...]
    footnotes: tuple[Footnote, ...]
    lines: tuple[Line, ...] = field(repr=False)
    diagrams: tuple[Diagram, ...] = field(repr=False)
    exercises: tuple[Exercise, ...] = field(repr=False)
    claims: tuple[Claim, ...] = field(repr=False)
    file: str


@dataclass(frozen=True, slots=True)
class Booklet:
    """Everything that is printed, and the indexes that the outputs share.

    `names` is in alphabetical order. `reached` gives, for a position's key, the plies of the
    whole booklet that reach it, in reading order.
    """

    title: str
    subtitle: str
    author: str
    edition: str
    date: str
    language: str
    side: Literal["white", "black", "both"]
    figurines: bool
    chapters: tuple[Chapter, ...]
    names: Mapping[str, NamedPosition] = field(repr=False)
    reached: Mapping[PositionKey, tuple[Ply, ...]] = field(repr=False)
    diagrams: tuple[Diagram, ...] = field(repr=False)
    exercises: tuple[Exercise, ...] = field(repr=False)

    def chapter(self, slug: str) -> Chapter:
        """The chapter with that slug. Raises KeyError where there is none."""
        for chapter in self.chapters:
            if chapter.slug == slug:
                return chapter
        raise KeyError(slug)
