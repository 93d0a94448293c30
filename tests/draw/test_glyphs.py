"""The fonts: every letter drawn, boards read back, the same bytes every time."""

import random
import unicodedata
from io import BytesIO

import chess
import pytest
from board_text import placement_of
from fontTools.pens.areaPen import AreaPen
from fontTools.ttLib import TTFont

from builder.draw import glyphs
from builder.draw.board import PIECES, BoardView


def random_placements(count):
    """Placements that no game would reach, too: any piece on any square."""
    dice = random.Random(20)
    for _ in range(count):
        board = chess.Board(None)
        for square in chess.SQUARES:
            if dice.random() < 0.6:
                board.set_piece_at(square, chess.Piece.from_symbol(dice.choice(PIECES)))
        yield board.board_fen()


@pytest.mark.parametrize("flip", [False, True])
def test_glyph_lines_read_back_as_the_placement(flip):
    for placement in random_placements(200):
        lines = glyphs.lines(BoardView(placement, True, flip=flip))
        assert placement_of(lines, flip) == placement


def test_normalised_text_reads_as_a_board():
    view = BoardView("r1bqkb1r/p1pp1ppp/2p2n2/4P3/8/8/PPP2PPP/RNBQKB1R", False)
    text = unicodedata.normalize("NFKC", "\n".join(glyphs.lines(view)))
    assert text == (
        "8r.bqkb.r■\n7p.pp.ppp\n6..p..n..\n5....P...\n4........\n3........\n"
        "2PPP..PPP\n1RNBQKB.R\nabcdefgh"
    )


def test_dark_squares_are_dark():
    """a1 is dark (FIDE Laws 2.1: the square at each player's right hand is white)."""
    lines = glyphs.square_lines(BoardView("8/8/8/8/8/8/8/8"))
    for square in chess.SQUARES:
        letter = lines[7 - chess.square_rank(square)][chess.square_file(square)]
        is_dark = bool(chess.BB_SQUARES[square] & chess.BB_DARK_SQUARES)
        assert (letter == glyphs.dark(".")) == is_dark


@pytest.mark.parametrize("lines", [[], ["." * 8] * 7, ["." * 8] * 9, ["." * 7] * 8, ["K" * 9] * 8])
def test_what_is_no_board_is_refused(lines):
    with pytest.raises(ValueError, match="not a board"):
        placement_of(lines)


def ink(font, letter):
    """The signed area of a letter's outlines in font units."""
    pen = AreaPen(font.getGlyphSet())
    font.getGlyphSet()[font.getBestCmap()[ord(letter)]].draw(pen)
    return abs(pen.value)


def test_the_board_font_draws_every_square_differently():
    with TTFont(glyphs.BOARD_FILE) as font:
        widths, names = font["hmtx"], font.getBestCmap()
        shown = list(glyphs.GLYPH_TO_PIECE)
        assert all(widths[names[ord(letter)]][0] == 1000 for letter in shown)
        areas = {letter: round(ink(font, letter)) for letter in shown}
        assert areas.pop(".") == 0
        assert len(set(areas.values())) == 25
        assert font["hhea"].ascent - font["hhea"].descent == 1000
        assert font["name"].getDebugName(1) == glyphs.BOARD_FAMILY


def test_black_pieces_are_blacker_and_halos_clear_the_hatching():
    with TTFont(glyphs.BOARD_FILE) as font:
        hatch = ink(font, glyphs.dark("."))
        for piece in "KQRBNP":
            white, black = ink(font, piece), ink(font, piece.lower())
            assert black > 1.3 * white
            assert ink(font, glyphs.dark(piece)) < white + hatch * 0.85


def test_coordinates_and_the_mover_have_letters_of_their_own():
    with TTFont(glyphs.BOARD_FILE) as font:
        for letter in (*map(glyphs.circled, "12345678abcdefgh"),
                       glyphs.WHITE_TO_MOVE, glyphs.BLACK_TO_MOVE):  # fmt: skip
            assert letter not in glyphs.GLYPH_TO_PIECE
            assert ink(font, letter) > 0


@pytest.mark.parametrize("path", [glyphs.FIGURINE_FILE, glyphs.FIGURINE_FILE.with_suffix(".ttf")])
def test_figurines_stand_on_the_base_line_about_as_high_as_capitals(path):
    with TTFont(path) as font:
        names = font.getBestCmap()
        for code in range(0x2654, 0x2660):
            glyph = font["glyf"][names[code]]
            assert glyph.yMin == 0
            assert 450 <= glyph.yMax <= 740
        assert font["name"].getDebugName(1) == glyphs.FIGURINE_FAMILY


def test_the_fonts_are_made_from_the_outlines_byte_for_byte():
    pytest.importorskip("pathops", reason="skia-pathops makes the fonts")
    pytest.importorskip("brotli", reason="brotli packs WOFF2")
    from builder.draw import make_font

    assert glyphs.BOARD_FILE.read_bytes() == make_font.board_font()
    assert glyphs.FIGURINE_FILE.with_suffix(".ttf").read_bytes() == make_font.figurine_font(None)
    with TTFont(glyphs.FIGURINE_FILE) as packed, TTFont(
        BytesIO(make_font.figurine_font("woff2"))
    ) as made:
        assert packed.reader.keys() == made.reader.keys()
        assert all(packed.getTableData(tag) == made.getTableData(tag) for tag in made.reader.keys())


def test_a_font_made_twice_is_the_same():
    pytest.importorskip("pathops", reason="skia-pathops makes the fonts")
    from builder.draw import make_font

    assert make_font.board_font() == make_font.board_font()
