"""Boards as plain text, and the words that tell a position."""

import re
from dataclasses import fields, replace

import chess
import pytest

from builder.draw.board import BoardView, Mark
from builder.draw.text import ENGLISH, board_text, describe

START = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR"
AFTER_NF3 = "rnbqkbnr/pp1ppppp/8/2p5/4P3/5N2/PPPP1PPP/RNBQKB1R"


def squares(names):
    return tuple(chess.parse_square(name) for name in names.split())


def test_a_board_for_a_terminal():
    assert board_text(BoardView(AFTER_NF3, white_to_move=False)) == (
        "8 r n b q k b n r ■\n"
        "7 p p . p p p p p\n"
        "6 . . . . . . . .\n"
        "5 . . p . . . . .\n"
        "4 . . . . P . . .\n"
        "3 . . . . . N . .\n"
        "2 P P P P . P P P\n"
        "1 R N B Q K B . R\n"
        "  a b c d e f g h"
    )


def test_the_same_board_from_blacks_side():
    assert board_text(BoardView(AFTER_NF3, white_to_move=True, flip=True)) == (
        "1 R . B K Q B N R □\n"
        "2 P P P . P P P P\n"
        "3 . . N . . . . .\n"
        "4 . . . P . . . .\n"
        "5 . . . . . p . .\n"
        "6 . . . . . . . .\n"
        "7 p p p p p . p p\n"
        "8 r n b k q b n r\n"
        "  h g f e d c b a"
    )


def test_without_coordinates_it_is_the_rules_librarys_board():
    text = board_text(BoardView(START, coordinates=False))
    assert text == str(chess.Board())


TOLD = {
    "pieces by rank, squares in order, singular and plural": (
        BoardView("3r1rk1/8/8/8/8/8/5PPP/R4RKQ", True),
        "White: king g1, queen h1, rooks a1 f1, pawns f2 g2 h2. "
        "Black: king g8, rooks d8 f8. White to move.",
    ),
    "a side without pieces": (
        BoardView("8/8/8/8/8/8/8/K7"), "White: king a1. Black: no pieces."
    ),
    "seen from Black's side": (
        BoardView("k7/8/8/8/8/8/8/K7", False, flip=True),
        "White: king a1. Black: king a8. Black to move. Seen from Black's side.",
    ),
    "the last move": (
        BoardView("8/8/8/8/8/8/8/8", last_move=squares("e2 e4")),
        "White: no pieces. Black: no pieces. Last move: e2–e4.",
    ),
    "marks by their meaning": (
        BoardView("8/8/8/8/8/8/8/8", marks=(
            Mark("plan", squares("b8 c6 d4")), Mark("threat", squares("g4 f3")),
            Mark("guard", squares("e2 f3")), Mark("key", squares("d4 e5")),
            Mark("weak", squares("f7")), Mark("label", squares("e5"), "a {squares} <post>"),
        )),
        "White: no pieces. Black: no pieces. Plan: b8–c6–d4. Threat: g4–f3. Protected: e2–f3. "
        "Key squares: d4 e5. Weak squares: f7. At e5: “a {squares} <post>”.",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("view", "told"), TOLD.values(), ids=TOLD.keys())
def test_a_position_is_told(view, told):
    assert describe(view) == told


def test_a_told_position_can_be_set_up_again():
    board = chess.Board("r1bqkb1r/p1pp1ppp/2p2n2/4P3/8/8/PPP2PPP/RNBQKB1R b KQkq - 0 6")
    told = describe(BoardView(board.board_fen()))
    again = chess.Board(None)
    for side in (chess.WHITE, chess.BLACK):
        name = "White" if side else "Black"
        listed = re.search(rf"{name}: ([^.]*)\.", told).group(1)
        for group in listed.split(", "):
            piece, *where = group.split()
            kind = chess.PIECE_NAMES.index(piece.removesuffix("s"))
            for square in where:
                again.set_piece_at(chess.parse_square(square), chess.Piece(kind, side))
    assert again.board_fen() == board.board_fen()


def test_every_word_comes_from_the_words():
    """With every word but the patterns replaced, no English is left."""
    foreign = replace(ENGLISH, **{
        field.name: re.sub(r"(\{\w+\})|\w+", lambda found: found.group(1) or "ÄÖÜ",
                           getattr(ENGLISH, field.name))
        for field in fields(ENGLISH)
    })  # fmt: skip
    view = BoardView(
        START, True, flip=True, last_move=(12, 28),
        marks=(Mark("plan", (1, 2)), Mark("threat", (1, 2)), Mark("guard", (1, 2)),
               Mark("key", (1,)), Mark("weak", (1,)), Mark("label", (1,), "d4")),
    )  # fmt: skip
    assert not re.search(r"[A-Za-z]{2,}", describe(view, foreign))
