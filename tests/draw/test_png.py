"""PNG boards, read back by their pixels."""

from io import BytesIO

import chess
import pytest
from PIL import Image, ImageChops, ImageStat

from builder.draw.board import BoardView, Mark
from builder.draw.png import board_png, sizes

ALL_PIECES = "KQRBNP2/kqrbnp2/1KQRBNP1/1kqrbnp1/8/8/8/8"
GAME = "r1bqkb1r/p1pp1ppp/2p2n2/4P3/8/8/PPP2PPP/RNBQKB1R"


def opened(view, pixels=480):
    return Image.open(BytesIO(board_png(view, pixels=pixels))).convert("L")


def cells(picture, view, pixels=480):
    """The picture of every square, by its place in `chess.SQUARES` as White sees it."""
    square, left, top, _ = sizes(view, pixels)
    for number in chess.SQUARES:
        x = left + chess.square_file(number) * square
        y = top + (7 - chess.square_rank(number)) * square
        yield number, picture.crop((x, y, x + square, y + square))


def unlike(one, other):
    return ImageStat.Stat(ImageChops.difference(one, other)).mean[0]


def templates():
    """What each content looks like on a light and on a dark square."""
    view = BoardView(ALL_PIECES)
    board = chess.Board(f"{ALL_PIECES} w - - 0 1")
    found = {}
    for number, cell in cells(opened(view), view):
        piece = board.piece_at(number)
        dark = bool(chess.BB_SQUARES[number] & chess.BB_DARK_SQUARES)
        found[piece.symbol() if piece else ".", dark] = cell
    return found


@pytest.mark.parametrize("placement", [GAME, "8/8/8/8/8/8/8/8", "8/1k6/8/3Pp3/8/8/6K1/7r"])
def test_every_square_shows_what_the_placement_says(placement):
    view = BoardView(placement, True)
    known = templates()
    assert len(known) == 26
    read = chess.Board(None)
    for number, cell in cells(opened(view), view):
        dark = bool(chess.BB_SQUARES[number] & chess.BB_DARK_SQUARES)
        best = min((key for key in known if key[1] == dark),
                   key=lambda key: unlike(known[key], cell))  # fmt: skip
        if best[0] != ".":
            read.set_piece_at(number, chess.Piece.from_symbol(best[0]))
    assert read.board_fen() == placement


def test_the_same_view_gives_the_same_bytes():
    view = BoardView(GAME, False, marks=(Mark("threat", (36, 45)),), last_move=(52, 36))
    assert board_png(view) == board_png(view)


def test_the_size_is_the_one_asked_for():
    for pixels in (100, 333, 480, 1200):
        assert opened(BoardView(GAME, True), pixels).width == pixels
    with pytest.raises(ValueError, match="can't be read"):
        board_png(BoardView(GAME), pixels=40)


@pytest.mark.parametrize("kind", ["plan", "threat", "guard"])
def test_a_mark_changes_its_path_and_nothing_else(kind):
    plain, view = BoardView(GAME), BoardView(GAME, marks=(Mark(kind, (33, 35)),))
    before, after = (dict(cells(opened(each), each)) for each in (plain, view))
    changed = {number for number in chess.SQUARES if unlike(before[number], after[number]) > 0.2}
    assert changed == {33, 34, 35}


def test_the_side_to_move_is_shown_beside_its_own_first_rank():
    cases = ((True, False, 7), (True, True, 0), (False, False, 0), (False, True, 7))
    for white, flip, row in cases:
        view = BoardView(GAME, white, flip=flip)
        square, left, top, _ = sizes(view, 480)
        picture = opened(view)
        right = left + 8 * square + square // 4
        inked = [
            ImageStat.Stat(picture.crop((right, top + at * square, 480, top + (at + 1) * square)))
            .mean[0] < 250
            for at in range(8)
        ]  # fmt: skip
        assert inked == [at == row for at in range(8)]
