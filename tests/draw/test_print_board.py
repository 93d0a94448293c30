"""Printed boards: what the HTML holds, and the PDF read back."""

import re
import subprocess

import chess
import pytest
from board_text import placement_of

from builder.draw import glyphs, layout
from builder.draw.board import BoardView, Mark
from builder.draw.print_board import board_html, print_css

GAME = "r1bqkb1r/p1pp1ppp/2p2n2/4P3/8/8/PPP2PPP/RNBQKB1R"
MARKS = (Mark("plan", (59, 52)), Mark("key", (36,)), Mark("label", (36,), "pawn & <point>"))


def test_a_plain_board_is_one_element_of_text():
    assert board_html(BoardView(GAME, False), ident="d1") == (
        '<div class="pboard" id="d1">'
        "⑧r．bｑkｂ.ｒ■\n⑦ｐ.ｐp．pｐp\n⑥.．p．.ｎ.．\n⑤．.．.Ｐ.．.\n④.．.．.．.．\n③．.．.．.．.\n"
        "②PＰP．.ＰPＰ\n①ＲNＢQＫB．R\nⓐⓑⓒⓓⓔⓕⓖⓗ</div>"
    )


def test_marks_are_one_picture_over_it():
    html = board_html(BoardView(GAME, marks=MARKS), alt='Plan "d8–e7" <here>')
    assert html.count("<svg") == 1
    assert html.startswith('<article class="pboard" aria-label="Plan &quot;d8–e7&quot; &lt;here')
    assert "pawn &amp; &lt;point&gt;" in html


def test_the_style_sheet_is_filled_in():
    css = print_css('fonts/x".ttf')
    assert 'url("fonts/x%22.ttf")' in css
    assert not re.search(r"[A-Z]{3,}", css)


VIEWS = {
    "white to move": BoardView("rnbqkbnr/pp1ppppp/8/2p5/4P3/8/PPPP1PPP/RNBQKBNR", True),
    "black to move, marked": BoardView(GAME, False, marks=MARKS, last_move=(28, 36)),
    "flipped": BoardView("r2q1rk1/pp2bppp/2n1bn2/2pp4/8/2N1PN2/PP1BBPPP/R2Q1RK1", True, flip=True),
    "bare": BoardView("8/8/8/8/8/8/8/8", coordinates=False),
}


@pytest.fixture(scope="module")
def pdf(tmp_path_factory):
    """A PDF with a board a page."""
    weasyprint = pytest.importorskip("weasyprint")
    pages = "".join(
        f'<section style="break-after:page">{board_html(view, alt="marks")}</section>'
        for view in VIEWS.values()
    )
    css = print_css(glyphs.BOARD_FILE.as_uri())
    target = tmp_path_factory.mktemp("print") / "boards.pdf"
    weasyprint.HTML(
        string=f'<html lang="en"><style>@page {{ size: A6 }} {css}</style>{pages}</html>'
    ).write_pdf(target)
    return target


@pytest.mark.parametrize(("page", "view"), list(enumerate(VIEWS.values(), 1)), ids=VIEWS.keys())
def test_a_printed_board_is_read_back(pdf, program, page, view):
    text = subprocess.run(
        [program("pdftotext"), "-f", str(page), "-l", str(page), pdf, "-"],
        check=True, capture_output=True, encoding="utf-8",
    ).stdout  # fmt: skip
    text = text.replace("pawn & <point>", "")  # the label's words are text, too
    assert placement_of(text.splitlines(), view.flip) == view.placement


def test_only_the_board_font_draws_squares(pdf, program):
    told = subprocess.run(
        [program("pdffonts"), pdf], check=True, capture_output=True, encoding="utf-8"
    ).stdout
    assert "Plyleaf" in told.replace("-", " ")


def test_squares_join_without_gaps(pdf, program, tmp_path):
    """At 1200 dpi the hatching of a1, b2 … h8 runs on: each corner where two dark squares
    meet is inked, and so is the board's whole thin rule."""
    from PIL import Image

    subprocess.run(
        [program("pdftoppm"), "-r", "1200", "-gray", "-f", "4", "-l", "4", pdf, tmp_path / "page"],
        check=True,
    )
    (file,) = tmp_path.glob("page*.pgm")
    with Image.open(file) as page:
        page.load()
        square = 5 / 25.4 * 1200
        box = page.point(lambda value: 255 if value < 128 else 0).getbbox()
        left = box[0] + layout.FRAME * square
        top = box[1] + layout.FRAME * square
        reach = 0.03 * square
        for corner in range(1, 8):
            x, y = left + corner * square, top + (8 - corner) * square
            part = page.crop((int(x - reach), int(y - reach), int(x + reach), int(y + reach)))
            assert part.getextrema()[0] < 100, chess.square_name(corner * 9)
        rule = page.crop((int(left), int(top - layout.THIN * square), int(left + 8 * square),
                          int(top)))  # fmt: skip
        darkest_in_column = [min(rule.crop((x, 0, x + 1, rule.height)).tobytes())
                             for x in range(rule.width)]  # fmt: skip
        assert max(darkest_in_column) < 128
