"""The geometry of annotations: the same shapes for SVG, print and PNG.

In: a `BoardView`. Out: figures made of a few plain shapes, in squares, with the origin at the
top left corner of the drawn board and y downwards. Each meaning has its own line and its own
end, so that it is told apart in one ink, under a grey and by the colour-blind:

    plan    a whole line with a full arrow head
    threat  a heavy broken line with an open, doubled barb
    guard   a line of dots that ends in a ring
    key     a ring in the square
    weak    a saw-toothed border in the square
    label   words on a small ticket with pointed ends
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import cos, hypot, pi, sin
from typing import Literal, TypeAlias

from builder.draw.board import EMPTY, BoardView, Mark, column_row, rows

Point: TypeAlias = tuple[float, float]

CASE = 0.045  # paper on each side of a figure, where it crosses pieces and hatching
HALF_CAPITAL = 0.34  # of the font size, from the base line up to the capitals' middle
LONGEST_LABEL = 18  # letters; a longer one is cut
# Of a square: 6.5 pt, the least that print may have, on a board of 55 mm.
LABEL_SIZE = 0.39


@dataclass(frozen=True, slots=True)
class Stroke:
    """Lines of that width with round ends and corners; a path of one point is a dot."""

    paths: tuple[tuple[Point, ...], ...]
    width: float


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon, in the figure's colour or in paper with a line round it."""

    corners: tuple[Point, ...]
    line: float = 0.0  # width of the line round a paper area; 0: filled with the colour


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle, `width` its line's; `full` with paper inside."""

    centre: Point
    radius: float
    width: float
    full: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """Text centred on a point; `size` is the font size, the capitals' middle is at `centre`."""

    centre: Point
    text: str
    size: float


Shape: TypeAlias = Stroke | Area | Ring | Words
FigureKind: TypeAlias = Literal["last", "weak", "key", "guard", "plan", "threat", "label"]
ORDER: tuple[FigureKind, ...] = ("last", "weak", "key", "guard", "plan", "threat", "label")


@dataclass(frozen=True, slots=True)
class Figure:
    """One annotation, drawn; `kind` chooses its colour."""

    kind: FigureKind
    shapes: tuple[Shape, ...]


def figures(view: BoardView) -> tuple[Figure, ...]:
    """Everything drawn over the pieces, from the lowest to the topmost."""
    board = rows(view)
    found = [_mark(mark, view, board) for mark in view.marks]
    if view.last_move:
        corners = [_corner(square, view) for square in view.last_move]
        found.append(Figure("last", (_ticks(corners),)))
    return tuple(sorted(found, key=lambda figure: ORDER.index(figure.kind)))


def _mark(mark: Mark, view: BoardView, board: tuple[str, ...]) -> Figure:
    if mark.kind in ("plan", "threat", "guard"):
        cells = [column_row(square, view.flip) for square in mark.squares]
        column, row = cells[-1]
        occupied = board[row][column] != EMPTY
        path = [(column + 0.5, row + 0.5) for column, row in cells]
        return Figure(mark.kind, _ARROWS[mark.kind](path, occupied))
    if mark.kind == "label":
        column, row = column_row(mark.squares[0], view.flip)
        return Figure("label", _ticket(column, _label_height(board, column, row), mark.text))
    corners = [_corner(square, view) for square in mark.squares]
    if mark.kind == "key":
        return Figure("key", tuple(map(_ring, corners)))
    return Figure("weak", (Stroke(tuple(map(_saw, corners)), 0.042),))


def _corner(square: int, view: BoardView) -> Point:
    column, row = column_row(square, view.flip)
    return float(column), float(row)


# --- paths ---------------------------------------------------------------------------------

LEAVING = 0.22  # of a square from the first square's centre
REACHING = 0.12  # before an empty last square's centre
TOUCHING = 0.3  # before an occupied one's, so that its piece stays in view


def _trimmed(path: list[Point], start: float, end: float) -> list[Point]:
    """The path shortened at both ends; a step of one square keeps at least its middle."""
    first, last = path[0], path[-1]
    return [_towards(first, path[1], start), *path[1:-1], _towards(last, path[-2], end)]


def _towards(point: Point, other: Point, distance: float) -> Point:
    x, y = _direction(point, other)
    return (point[0] + x * distance, point[1] + y * distance)


def _beside(tip: Point, before: Point, back: float, aside: float) -> Point:
    """From the tip `back` along the path and `aside` to its left."""
    x, y = _direction(before, tip)
    return (tip[0] - x * back + y * aside, tip[1] - y * back - x * aside)


def _pieces_of(path: list[Point], drawn: float, gap: float) -> tuple[tuple[Point, ...], ...]:
    """Cuts a path into dashes, or (drawn = 0) dots; the last one ends at the path's end."""
    total = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(path, path[1:], strict=False))
    count = max(1, round((total + gap) / (drawn + gap)))
    stretch = (total + gap) / (count * (drawn + gap))
    step, drawn = (drawn + gap) * stretch, drawn * stretch
    return tuple(_part(path, step * index, step * index + drawn) for index in range(count))


def _part(path: list[Point], start: float, end: float) -> tuple[Point, ...]:
    """The stretch of the path between two distances from its beginning."""
    found: list[Point] = []
    walked = 0.0
    for a, b in zip(path, path[1:], strict=False):
        length = hypot(b[0] - a[0], b[1] - a[1])
        if walked + length >= start and not found:
            found.append(_towards(a, b, start - walked))
        if found and walked + length >= end:
            if end > start:
                found.append(_towards(a, b, end - walked))
            return tuple(found)
        if found:
            found.append(b)
        walked += length
    return tuple(found) or (path[-1],)


def _sides(path: list[Point], half: float) -> tuple[list[Point], list[Point]]:
    """The left and the right side of a band along the path, `half` from it, with mitred
    corners (blunt where the path turns back sharply)."""
    legs = [_direction(a, b) for a, b in zip(path, path[1:], strict=False)]
    left, right = [], []
    for point, into, out in zip(path, (legs[0], *legs), (*legs, legs[-1]), strict=True):
        x, y = into[1] + out[1], -into[0] - out[0]  # across, to the left
        scale = 2 * half / max(x * x + y * y, 0.5)
        left.append((point[0] + x * scale, point[1] + y * scale))
        right.append((point[0] - x * scale, point[1] - y * scale))
    return left, right


def _direction(point: Point, other: Point) -> Point:
    length = hypot(other[0] - point[0], other[1] - point[1]) or 1.0
    return (other[0] - point[0]) / length, (other[1] - point[1]) / length


def _plan(path: list[Point], occupied: bool) -> tuple[Shape, ...]:
    path = _trimmed(path, LEAVING, TOUCHING if occupied else REACHING)
    tip, before = path[-1], path[-2]
    left, right = _sides([*path[:-1], _beside(tip, before, 0.3, 0.0)], 0.043)
    head = (_beside(tip, before, 0.37, 0.175), tip, _beside(tip, before, 0.37, -0.175))
    return (Area((*left, *head, *reversed(right))),)


def _threat(path: list[Point], occupied: bool) -> tuple[Shape, ...]:
    path = _trimmed(path, LEAVING, TOUCHING if occupied else REACHING)
    tip, before = path[-1], path[-2]
    barbs = tuple(
        (_beside(tip, before, back + 0.2, 0.17), _beside(tip, before, back, 0.0),
         _beside(tip, before, back + 0.2, -0.17))
        for back in (0.0, 0.17)
    )  # fmt: skip
    shaft = [*path[:-1], _beside(tip, before, 0.17, 0.0)]
    return Stroke((*_pieces_of(shaft, 0.17, 0.14), *barbs), 0.075),


def _guard(path: list[Point], occupied: bool) -> tuple[Shape, ...]:
    path = _trimmed(path, LEAVING, TOUCHING if occupied else REACHING)
    tip, before = path[-1], path[-2]
    centre = _beside(tip, before, 0.12, 0.0)
    shaft = [*path[:-1], _beside(tip, before, 0.35, 0.0)]
    return Stroke(_pieces_of(shaft, 0.0, 0.155), 0.078), Ring(centre, 0.12, 0.06, full=True)


_ARROWS = {"plan": _plan, "threat": _threat, "guard": _guard}


# --- squares -------------------------------------------------------------------------------


def _ring(corner: Point) -> Ring:
    return Ring((corner[0] + 0.5, corner[1] + 0.5), 0.44, 0.055)


def _saw(corner: Point) -> tuple[Point, ...]:
    """A closed saw-tooth along the inside of the square's border."""
    teeth, outer, depth = 6, 0.05, 0.1
    left, top = corner[0] + outer, corner[1] + outer
    size = 1 - 2 * outer
    points: list[Point] = []
    sides = (((0, 0), (1, 0), (0, 1)), ((1, 0), (0, 1), (-1, 0)),
             ((1, 1), (-1, 0), (0, -1)), ((0, 1), (0, -1), (1, 0)))  # fmt: skip
    for (x, y), (dx, dy), (inx, iny) in sides:
        for tooth in range(teeth):
            for along, inward in ((tooth, 0.0), (tooth + 0.5, depth)):
                share = along / teeth * size
                points.append((left + x * size + dx * share + inx * inward,
                               top + y * size + dy * share + iny * inward))  # fmt: skip
    return (*points, points[0])


def _ticks(corners: Iterable[Point]) -> Stroke:
    """Thin angles in the four corners of each square."""
    inset, arm = 0.055, 0.2
    paths = []
    for left, top in corners:
        for x, inwards in ((left + inset, arm), (left + 1 - inset, -arm)):
            for y, down in ((top + inset, arm), (top + 1 - inset, -arm)):
                paths.append(((x + inwards, y), (x, y), (x, y + down)))
    return Stroke(tuple(paths), 0.05)


def _label_height(board: tuple[str, ...], column: int, row: int) -> float:
    """The middle of an empty square; of an occupied one the edge where it hides least: the
    lower one, at the piece's foot, unless a piece's head is just below and none is above."""
    if board[row][column] == EMPTY:
        return row + 0.5
    below = row < 7 and board[row + 1][column] != EMPTY
    above = row > 0 and board[row - 1][column] != EMPTY
    return float(row) if below and not above and row > 0 else row + 1.0


def _ticket(column: int, y: float, text: str) -> tuple[Shape, ...]:
    """A label's words on their ground, always within the board."""
    text = " ".join(text.split())
    if len(text) > LONGEST_LABEL:
        text = text[: LONGEST_LABEL - 1].rstrip() + "…"
    size = LABEL_SIZE
    half = text_width(text) * size / 2 + 0.06
    tall, point = size * 0.62, 0.11
    reach = min(half + point, 3.9) + 0.03
    x = min(max(column + 0.5, reach), 8 - reach)
    y = min(y, 8 - tall - 0.02)
    corners = (
        (x - half - point, y), (x - half, y - tall), (x + half, y - tall),
        (x + half + point, y), (x + half, y + tall), (x - half, y + tall),
    )  # fmt: skip
    return Area(corners, line=0.03), Words((x, y), text, size)


def text_width(text: str) -> float:
    """About how wide a text runs in a serif face, in ems; common practice, no source."""
    return sum(_letter_width(letter) for letter in text)


def _letter_width(letter: str) -> float:
    if letter in "iljtfrI.,:;!'|()[]/ 1":
        return 0.34
    if letter in "mwMW@…" or ord(letter) > 0x2E80:
        return 0.92
    return 0.68 if letter.isupper() else 0.54


def circle(centre: Point, radius: float, sides: int = 48) -> tuple[Point, ...]:
    """A circle as a polygon."""
    return tuple(
        (centre[0] + radius * cos(2 * pi * side / sides),
         centre[1] + radius * sin(2 * pi * side / sides))
        for side in range(sides)
    )  # fmt: skip
