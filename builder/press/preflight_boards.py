"""Boards found in a PDF, and whether their annotations can be told apart without colour.

In: the ink of a page. Out: the boards set in our board font, each with the lines and areas drawn
over it. What a booklet's diagrams should show comes from the same figures that they are drawn by.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from builder.draw import glyphs
from builder.draw.board import BoardView, Mark, rows
from builder.draw.marks import Area, Figure, Ring, Stroke, figures
from builder.model import Diagram
from builder.press.geometry import Box
from builder.press.preflight_ink import Drawn, Form, Ink, Text

FAMILY = glyphs.BOARD_FAMILY.replace(" ", "-")
PAPER = 0.04  # what is lighter counts as paper
SEEN = 0.4  # an annotation lighter than this is lost among hatching and pieces
APART = 0.2  # greys that differ less look alike on a mono printer; common practice, no source


@dataclass(frozen=True, slots=True)
class Board:
    """A board on a page: its rows as they are seen, as FEN letters with `.`, and what is drawn
    over it."""

    page: int
    rows: tuple[str, ...]
    box: Box
    drawn: tuple[Drawn, ...]


@dataclass(frozen=True, slots=True)
class WantedBoard:
    """A diagram with annotations: what to call it, and the forms that its annotations take."""

    name: str
    rows: tuple[str, ...]
    forms: Mapping[Form, int]


def boards(page: int, inks: Iterable[Ink]) -> Iterator[Board]:
    """The boards of a page."""
    inks = list(inks)
    lines: list[Text] = []
    for ink in inks:
        if not isinstance(ink, Text) or ink.font.name != FAMILY or not _squares(ink):
            continue
        if lines and not _follows(lines[-1], ink):
            lines.clear()
        lines.append(ink)
        if len(lines) == 8:
            yield _board(page, lines, inks)
            lines.clear()


def _squares(line: Text) -> str:
    return "".join(glyphs.GLYPH_TO_PIECE.get(letter, "") for letter in line.text)


def _follows(upper: Text, lower: Text) -> bool:
    """Whether one line stands right under the other."""
    near = 0.1 * upper.size
    return (abs(upper.start[1] - lower.start[1] - upper.size) < near
            and abs(upper.start[0] - lower.start[0]) < near)  # fmt: skip


def _board(page: int, lines: list[Text], inks: list[Ink]) -> Board:
    size, (left, base) = lines[0].size, lines[-1].start
    bottom = base - 0.2 * size  # the board font's squares reach from -0.2 to 0.8 em
    box = Box(left, bottom, left + 8 * size, bottom + 8 * size)
    room = box.grown(0.1 * size)
    drawn = tuple(
        ink for ink in inks
        if isinstance(ink, Drawn) and room.holds(ink.box) and ink.paint.darkness >= PAPER
        and not _is_frame(ink.box, box)
    )  # fmt: skip
    return Board(page, tuple(_squares(line) for line in lines), box, drawn)


def _is_frame(drawn: Box, board: Box) -> bool:
    """The rules round a board are as wide or as high as it is."""
    return (drawn.size.width > 0.98 * board.size.width
            or drawn.size.height > 0.98 * board.size.height)  # fmt: skip


def colour_alone(board: Board) -> bool:
    """Whether two annotations have one form and one grey, and differ in colour alone."""
    looks = {(one.form, one.paint.rgb, round(one.paint.darkness, 3)) for one in board.drawn}
    return any(
        form == other_form and rgb != other_rgb and abs(dark - other_dark) < APART
        for form, rgb, dark in looks for other_form, other_rgb, other_dark in looks
    )  # fmt: skip


# --- what a booklet's diagrams should show -------------------------------------------------------


def wanted_boards(diagrams: Iterable[Diagram]) -> list[WantedBoard]:
    """The diagrams that have annotations."""
    found = []
    for diagram in diagrams:
        if not diagram.marks:
            continue
        view = BoardView(
            diagram.position.placement, flip=diagram.flip,
            marks=tuple(Mark(mark.kind, mark.squares, mark.text) for mark in diagram.marks),
        )  # fmt: skip
        name = f"diagram {diagram.number}" if diagram.number else f"the board at {diagram.place}"
        forms = Counter(form for figure in figures(view) for form in _forms(figure))
        found.append(WantedBoard(name, rows(view), forms))
    return found


def _forms(figure: Figure) -> Iterator[Form]:
    """How a figure's shapes look in ink; words are text and told apart by what they say."""
    for shape in figure.shapes:
        if isinstance(shape, Ring):
            yield Form(False, "one", True, True, False)
        elif isinstance(shape, Stroke):
            dots = all(len(path) == 1 for path in shape.paths)
            parts = "dots" if dots else "one" if len(shape.paths) == 1 else "many"
            yield Form(False, parts, False, False, False)
        elif isinstance(shape, Area):
            yield Form(not shape.line, "one", False, True, False)


def missing(wanted: WantedBoard, found: Iterable[Board]) -> int | None:
    """How many of a diagram's shapes are missing or too light on the board that shows most of
    them; None when no page has such a board."""
    same = [board for board in found if board.rows == wanted.rows]
    counts = [
        (Counter(wanted.forms) - Counter(one.form for one in board.drawn
                                         if one.paint.darkness >= SEEN)).total()
        for board in same
    ]  # fmt: skip
    return min(counts, default=None)
