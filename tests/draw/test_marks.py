"""The geometry of annotations."""

import math

import chess
import pytest

from builder.draw.board import BoardView, Mark
from builder.draw.marks import Area, Ring, Stroke, Words, figures

EMPTY = "8/8/8/8/8/8/8/8"


def drawn(kind, names, *, placement=EMPTY, flip=False, text=""):
    path = tuple(chess.parse_square(name) for name in names.split())
    (figure, *_) = figures(BoardView(placement, flip=flip, marks=(Mark(kind, path, text),)))
    return figure.shapes


def points(shapes):
    for shape in shapes:
        if isinstance(shape, Stroke):
            yield from (point for path in shape.paths for point in path)
        elif isinstance(shape, Area):
            yield from shape.corners
        elif isinstance(shape, Ring):
            for x in (-1, 1):
                for y in (-1, 1):
                    yield (shape.centre[0] + x * shape.radius, shape.centre[1] + y * shape.radius)


ALL = [
    ("plan", "b8 c6 d4"), ("plan", "a1 h8"), ("threat", "g4 f3"), ("threat", "e2 e3"),
    ("guard", "e2 f3"), ("guard", "a1 a2"), ("key", "a1"), ("key", "h8"), ("weak", "a8"),
    ("weak", "h1"), ("label", "a1"), ("label", "h8"), ("label", "h1"), ("plan", "e4 e4"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "names"), ALL)
@pytest.mark.parametrize("placement", [EMPTY, "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR"])
def test_every_figure_stays_on_the_board(kind, names, placement):
    shapes = drawn(kind, names, placement=placement, text="a long word on it")
    for x, y in points(shapes):
        assert -1e-9 <= x <= 8 + 1e-9 and -1e-9 <= y <= 8 + 1e-9


def tip(shapes):
    """The point of a plan's head: its outline's middle corner."""
    (arrow,) = shapes
    return arrow.corners[len(arrow.corners) // 2]


def test_a_plan_passes_through_its_squares_and_ends_at_the_last():
    (arrow,) = shapes = drawn("plan", "b8 c6 d4")
    for square in ((1.5, 0.5), (2.5, 2.5), (3.5, 4.5)):
        assert min(math.dist(square, corner) for corner in arrow.corners) < 0.3
    assert math.dist(tip(shapes), (3.5, 4.5)) < 0.2


def test_an_arrow_stops_short_of_a_piece():
    free, taken = (tip(drawn("plan", "e2 e4", placement=fen))
                   for fen in (EMPTY, "8/8/8/8/4p3/8/8/8"))  # fmt: skip
    assert math.dist(taken, (4.5, 4.5)) > math.dist(free, (4.5, 4.5)) + 0.1


def test_a_flipped_board_turns_every_figure_round():
    upright = list(points(drawn("threat", "g4 f3")))
    turned = list(points(drawn("threat", "g4 f3", flip=True)))
    for (x, y), (u, v) in zip(upright, turned, strict=True):
        assert (u, v) == pytest.approx((8 - x, 8 - y))


def test_lines_are_told_apart_without_colour():
    """A plan is one whole area, a threat dashes, a guard dots with a ring."""
    plan, threat, guard = (drawn(kind, "a1 a8") for kind in ("plan", "threat", "guard"))
    assert [type(shape) for shape in plan] == [Area]
    assert [type(shape) for shape in threat] == [Stroke]
    assert [type(shape) for shape in guard] == [Stroke, Ring]
    threat, guard = threat[0].paths, guard[0].paths
    assert len(threat) > 10 and all(len(path) > 1 for path in threat)
    assert len(guard) > 10 and all(len(path) == 1 for path in guard)


def test_dashes_keep_to_a_bent_path():
    (dots, _) = drawn("guard", "a1 a4 d4")
    for ((x, y),) in dots.paths:
        assert x == pytest.approx(0.5) or y == pytest.approx(4.5)


def test_a_label_is_one_line_and_cut_when_too_long():
    *_, words = drawn("label", "e4", text="  two\nlines ")
    assert isinstance(words, Words) and words.text == "two lines"
    *_, words = drawn("label", "e4", text="x" * 500)
    assert len(words.text) == 18 and words.text.endswith("…")
