"""Flash cards as sheets to print on both sides and to cut.

In: a deck, and which card lies where. Out: HTML, a side of a sheet a page. A card's back stands
upright behind its front, whichever edge the printer turns the paper on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from builder.draw import layout, print_board
from builder.draw.board import BoardView
from builder.draw.text import describe
from builder.model import Paragraph, Ply
from builder.render import moves
from builder.render.handouts.deck import Answer, Card
from builder.render.handouts.excerpts import beginning, first_sentence
from builder.render.handouts.paper import MARGIN, Box, Paper, sign_nags
from builder.render.inline import inlines, plain
from builder.render.medium import Context

TEMPLATE = "cards.html"

# A card is at least so large, in mm; more than so many answers and letters it has no room for.
_LEAST_WIDTH = 85.0
_LEAST_HEIGHT = 62.0
_PADDING = 5.0
_MOST_ANSWERS = 4
_MOST_COMMENT = (170, 170, 90, 0)  # by the number of answers
_MOST_TASK = 150
# A card is cut along ticks of this length, which end so far from the corners of the cards.
_TICK = 3.8
_TICK_GAP = 1.0


@dataclass(frozen=True, slots=True)
class Grid:
    """The cards on a side of a sheet; lengths in mm."""

    columns: int
    rows: int
    width: float
    height: float

    def box(self, row: int, column: int) -> Box:
        return Box(MARGIN + column * self.width, MARGIN + row * self.height,
                   self.width, self.height)  # fmt: skip

    @property
    def square(self) -> float:
        """The side of a board's squares: the board leaves a third of the width to words."""
        return min((self.height - 2 * _PADDING) / layout.HEIGHT, 0.63 * self.width / layout.WIDTH)


@dataclass(frozen=True, slots=True)
class Placed:
    """A card on a side, by its index in the deck."""

    row: int
    column: int
    card: int


@dataclass(frozen=True, slots=True)
class CardSide:
    """One side of a sheet; `turned` prints it upside down."""

    cards: tuple[Placed, ...]
    back: bool
    turned: bool


@dataclass(frozen=True, slots=True)
class Front:
    number: int
    board: Markup
    title: Markup
    turn: str
    task: Markup


@dataclass(frozen=True, slots=True)
class Back:
    number: int
    answers: tuple[ShownAnswer, ...]
    comment: Markup
    place: Markup


@dataclass(frozen=True, slots=True)
class ShownAnswer:
    move: Markup
    after: Markup


@dataclass(frozen=True, slots=True)
class Cell:
    """A card's side where it lies."""

    box: Box
    front: Front | None
    back: Back | None


@dataclass(frozen=True, slots=True)
class SheetSide:
    turned: bool
    cells: tuple[Cell, ...]
    ticks: tuple[Box, ...]


def card_grid(width: float, height: float) -> Grid:
    """As many cards as a page of that size (mm) has room for; eight on A4."""
    inner_width, inner_height = width - 2 * MARGIN, height - 2 * MARGIN
    columns = max(1, int(inner_width // _LEAST_WIDTH))
    rows = max(1, int(inner_height // _LEAST_HEIGHT))
    return Grid(columns, rows, inner_width / columns, inner_height / rows)


def cards_html(paper: Paper, cards: Sequence[Card], grid: Grid, sides: Iterable[CardSide]) -> str:
    """The sheets, side after side."""
    return paper.text(
        TEMPLATE, paper.medium.words.cards, square=grid.square,
        sides=tuple(_side(paper, cards, grid, side) for side in sides),
    )  # fmt: skip


def _side(paper: Paper, cards: Sequence[Card], grid: Grid, side: CardSide) -> SheetSide:
    cells = tuple(
        Cell(
            grid.box(placed.row, placed.column),
            None if side.back else _front(paper, cards[placed.card]),
            _back(paper, cards[placed.card]) if side.back else None,
        )
        for placed in side.cards
    )
    return SheetSide(side.turned, cells, () if side.back else tuple(_ticks(grid)))


def _ticks(grid: Grid) -> Iterable[Box]:
    """Short lines in the margin at every cut, and a cross where two cuts meet between cards."""
    right = MARGIN + grid.columns * grid.width
    bottom = MARGIN + grid.rows * grid.height
    across = [MARGIN + column * grid.width for column in range(grid.columns + 1)]
    down = [MARGIN + row * grid.height for row in range(grid.rows + 1)]
    before = MARGIN - _TICK_GAP - _TICK
    for x in across:
        yield Box(x, before, 0, _TICK)
        yield Box(x, bottom + _TICK_GAP, 0, _TICK)
    for y in down:
        yield Box(before, y, _TICK, 0)
        yield Box(right + _TICK_GAP, y, _TICK, 0)
    for x in across[1:-1]:
        for y in down[1:-1]:
            yield Box(x - 1, y, 2, 0)
            yield Box(x, y - 1, 0, 2)


def _front(paper: Paper, card: Card) -> Front:
    words = paper.medium.words
    exercise = card.exercise
    if exercise is not None:
        title = escape(f"{words.exercise}\u00a0{exercise.number}")
    else:
        title = moves.position_words(card.ply, card.position, paper.medium)
    view = BoardView(card.position.placement, white_to_move=card.position.white_to_move,
                     flip=card.flip)  # fmt: skip
    return Front(
        number=card.number,
        board=Markup(print_board.board_html(view, alt=describe(view, words.board))),
        title=title,
        turn=words.white_to_move if card.position.white_to_move else words.black_to_move,
        task=_task(paper, card),
    )


def _task(paper: Paper, card: Card) -> Markup:
    """The beginning of an exercise's task."""
    if card.exercise is None:
        return Markup("")
    at = Context(paper.medium, card.chapter.slug)
    for block in card.exercise.task:
        if isinstance(block, Paragraph):
            return inlines(beginning(block.inlines, _MOST_TASK), at, []).strip()
    return Markup("")


def _back(paper: Paper, card: Card) -> Back:
    at = Context(paper.medium, card.chapter.slug)
    spoken = next((answer.comment for answer in card.answers
                   if plain(answer.comment).strip()), ())  # fmt: skip
    answers = card.answers[:_MOST_ANSWERS]
    room = _MOST_COMMENT[len(answers) - 1]
    return Back(
        number=card.number,
        answers=tuple(_shown(paper, answer) for answer in answers),
        comment=inlines(first_sentence(spoken, room), at, []).strip() if room else Markup(""),
        place=_place(paper, card),
    )


def _shown(paper: Paper, answer: Answer) -> ShownAnswer:
    medium = paper.medium
    after = answer.after
    row = [_move(ply, paper, ply.by_white) for ply in after]
    return ShownAnswer(
        moves.move(answer.ply, medium, sign_nags(answer.ply), numbered=True), Markup(" ").join(row)
    )


def _move(ply: Ply, paper: Paper, numbered: bool) -> Markup:
    return moves.move(ply, paper.medium, sign_nags(ply), numbered)


def _place(paper: Paper, card: Card) -> Markup:
    """Where the booklet speaks of it."""
    words = paper.medium.words
    place = Markup("{}\u00a0{}").format(words.chapter, card.chapter.number)
    if card.diagram is not None:
        place += Markup(" · {}\u00a0{}").format(words.diagram, card.diagram.number)
    if card.exercise is not None:
        place += Markup(" · {}\u00a0{}").format(words.exercise, card.exercise.number)
    return place
