"""Placements read and written, and where squares lie."""

import chess
import pytest

from builder.draw.board import BoardView, Mark, column_row, placement, ranks, rows, square_name

# The examples of the PGN standard (1994-03-12, section 16.1): the starting position, and
# after 1. e4, after 1... c5 and after 2. Nf3.
PGN_STANDARD = {
    "start": "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR",
    "1. e4": "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR",
    "1... c5": "rnbqkbnr/pp1ppppp/8/2p5/4P3/8/PPPP1PPP/RNBQKBNR",
    "2. Nf3": "rnbqkbnr/pp1ppppp/8/2p5/4P3/5N2/PPPP1PPP/RNBQKB1R",
}


@pytest.mark.parametrize("fen", PGN_STANDARD.values(), ids=PGN_STANDARD.keys())
def test_a_placement_reads_as_the_rules_library_reads_it(fen):
    assert "\n".join(" ".join(rank) for rank in ranks(fen)) == str(chess.Board(f"{fen} w - - 0 1"))
    assert placement(ranks(fen)) == fen


MALFORMED = {
    "empty": "",
    "seven ranks": "8/8/8/8/8/8/8",
    "nine ranks": "8/8/8/8/8/8/8/8/8",
    "short rank": "8/8/8/7/8/8/8/8",
    "long rank": "8/8/8/8p/8/8/8/8",
    "nine": "9/8/8/8/8/8/8/8",
    "foreign letter": "7x/8/8/8/8/8/8/8",
    "our own dot": "......../8/8/8/8/8/8/8",
    "whole FEN": "8/8/8/8/8/8/8/8 w - - 0 1",
}


@pytest.mark.parametrize("fen", MALFORMED.values(), ids=MALFORMED.keys())
def test_a_malformed_placement_is_refused(fen):
    with pytest.raises(ValueError, match="not a piece placement"):
        ranks(fen)


def test_black_sees_the_board_turned_round():
    view = BoardView("k7/8/8/8/8/8/8/6KR", flip=True)
    assert rows(view) == ("RK......", *["........"] * 6, ".......k")


@pytest.mark.parametrize(
    ("square", "flip", "at"),
    [("a8", False, (0, 0)), ("h1", False, (7, 7)), ("a8", True, (7, 7)), ("e4", True, (3, 3))],
)
def test_where_a_square_lies(square, flip, at):
    assert column_row(chess.parse_square(square), flip) == at
    assert square_name(chess.parse_square(square)) == square


@pytest.mark.parametrize(
    ("kind", "squares"),
    [("plan", (1,)), ("threat", ()), ("key", ()), ("label", (1, 2)), ("weak", (64,)),
     ("guard", (-1, 3))],
)
def test_a_mark_that_cannot_be_drawn_is_refused(kind, squares):
    with pytest.raises(ValueError):
        Mark(kind, squares)
