"""Pictures of words and a board: every word has room, and what must be cut is cut visibly."""

from io import BytesIO

import pytest
from PIL import Image

from builder.draw.board import BoardView
from builder.draw.poster import PALETTE, Poster, tall, wide

BOARD = BoardView("r1bqkb1r/p1pp1ppp/2p2n2/4P3/8/8/PPP2PPP/RNBQKB1R", coordinates=False)
PAPER = (252, 250, 245)
CASES = {
    "usual": Poster("The Scotch Game", "The Press", "A repertoire", "1st edition", BOARD),
    "nothing": Poster(""),
    "without board": Poster("The Scotch Game"),
    "endless title": Poster("words " * 3000, "more " * 500, "still more " * 500, "foot " * 500, BOARD),
    "one word": Poster("Donaudampfschifffahrtsgesellschaftskapitän" * 20, board=BOARD),
    "odd letters": Poster("\u0000\u202e\ufffe 國際象棋\n\n½ ♞", "\t", board=BOARD),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_words_stay_in_the_picture(case):
    picture = Image.open(BytesIO(wide(CASES[case]))).convert("RGB")
    assert picture.size == (1200, 630)
    # The edge is paper all round, and so is the gap between the words and the board.
    edge = [picture.crop(box) for box in ((0, 0, 1200, 55), (0, 570, 1200, 630), (0, 0, 70, 630),
                                          (1150, 0, 1200, 630))]  # fmt: skip
    if CASES[case].board is not None:
        edge.append(picture.crop((605, 0, 645, 630)))
    assert all(part.getcolors() == [(part.width * part.height, PAPER)] for part in edge)


def test_cover_is_tall_and_has_one_red():
    picture = Image.open(BytesIO(tall(CASES["usual"]))).convert("RGB")
    assert picture.size == (1200, 1800)
    red = tuple(int(PALETTE.mark[at : at + 2], 16) for at in (1, 3, 5))
    assert red in {colour for _, colour in picture.getcolors(100)}


def test_same_poster_same_bytes():
    assert wide(CASES["usual"]) == wide(CASES["usual"])
