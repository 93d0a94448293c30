"""The board beside the text."""

from __future__ import annotations

import io
import re

import chess
import chess.pgn
import pytest
from browser.pages import LAPTOP, PHONE, TABLET, Site, visiting
from PIL import Image

from builder.draw import svg
from builder.draw.board import BoardView
from builder.model import Ply
from builder.render.whereabouts import whereabouts


def shown_on(site: Site) -> dict[str, list[Ply]]:
    """For each page that has a board, the moves that stand on it."""
    places = whereabouts(site.booklet)
    found: dict[str, list[Ply]] = {}
    for chapter in site.booklet.chapters:
        for line in chapter.lines:
            for ply in line.plies():
                found.setdefault(places.page(chapter.slug, ply.anchor), []).append(ply)
    return found


TOUCH = "document.getElementById(anchor).click()"
# The same without moving the text, which takes a browser long on pages of this length.
SHOW = "Plyleaf.go(Plyleaf.tree.node(anchor), {still: true, quiet: true})"


def check_positions(browser, site: Site, act: str) -> None:
    """Every move of every page is shown; the board's FEN is what the rules library says."""
    with visiting(browser, site) as visit:
        for file, plies in shown_on(site).items():
            page = visit.open(file)
            fens = page.evaluate(
                f"""(anchors) => anchors.map((anchor) => {{
                     {act};
                     return [Plyleaf.readerState().node.anchor, Plyleaf.readerState().fen];
                   }})""",
                [ply.anchor for ply in plies],
            )
            for ply, (anchor, fen) in zip(plies, fens, strict=True):
                assert (anchor, fen) == (ply.anchor, ply.after.fen)


def test_every_position_of_a_small_booklet(browser, small):
    check_positions(browser, small, TOUCH)


def test_every_position_of_the_course(browser, course):
    check_positions(browser, course, SHOW)


def test_the_board_is_drawn_as_the_builder_draws_it(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("1.html#line.1.1-main.7")
        men = page.evaluate("Array.from(document.querySelectorAll('.companion .pb-men use'))"
                            ".map((n) => ['href','x','y'].map((a) => n.getAttribute(a)).join())")  # fmt: skip
        board = chess.Board(visit.state()["fen"])
        drawn = svg.board_svg(BoardView(board.board_fen(), coordinates=False), title="", ident="x")
        uses = re.findall(r'<use href="(#pb-[wb]\w)" x="(\d+)" y="(\d+)"/>', drawn)
        assert sorted(men) == sorted(",".join(use) for use in uses)
        box = page.locator(".companion .board").get_attribute("viewBox")
        assert f'viewBox="{box}"' in drawn


def test_stepping_by_keyboard(browser, small):
    """Forwards and back, out of a line into the one it starts from, into a variation."""
    with visiting(browser, small) as visit:
        page = visit.open("1.html#line.1.1-main.8")
        at = {"4...Nf6": "line.1.1-main.8"}
        assert visit.state()["anchor"] == at["4...Nf6"]
        page.keyboard.press("ArrowLeft")
        assert visit.state()["anchor"] == "line.1.1-main.7"
        page.keyboard.press("ArrowRight")
        assert visit.state()["anchor"] == at["4...Nf6"]
        page.locator("#companion").focus()
        page.keyboard.press("ArrowDown")
        assert page.locator(".companion-now .move").inner_text() == "4...Bc5"
        page.keyboard.press("End")
        assert page.locator(".companion-now .move").inner_text() == "6...Nge7"
        page.keyboard.press("Home")
        assert visit.state()["anchor"] == ""
        page.keyboard.press("f")
        assert visit.state()["flip"] is True
        page.keyboard.press("ArrowRight")
        assert page.evaluate("location.hash") == "#line.1.1-main.1"


ON_ITS_SIDE = {"width": 740, "height": 360}


@pytest.mark.parametrize("size", (PHONE, ON_ITS_SIDE, TABLET, LAPTOP),
                         ids=("phone", "phone on its side", "tablet", "laptop"))  # fmt: skip
def test_the_text_follows_and_is_not_covered(browser, course, size):
    """At each step the move is marked, in the window, and not behind the board."""
    with visiting(browser, course, size) as visit:
        page = visit.open("20-main-road.html")
        page.locator("main a.move").nth(3).click()
        for _ in range(25):
            page.keyboard.press("ArrowRight")
            seen = page.evaluate(
                """() => {
                  const here = document.querySelectorAll('.move.here');
                  const at = Plyleaf.readerState().node.anchor;
                  const box = document.getElementById(at).getBoundingClientRect();
                  const dock = document.querySelector('.companion').getBoundingClientRect();
                  const middle = [box.x + box.width / 2, box.y + box.height / 2];
                  const top = document.elementFromPoint(...middle);
                  return {marked: here.length, inside: box.top >= 0 && box.bottom <= innerHeight,
                          free: !document.querySelector('.companion').contains(top),
                          beside: dock.right <= innerWidth + 1 && dock.bottom <= innerHeight + 1};
                }"""
            )
            assert seen == {"marked": seen["marked"], "inside": True, "free": True, "beside": True}
            assert seen["marked"] >= 1


def test_the_phone_keeps_the_board_within_a_thumb(browser, small):
    """The controls stand in the lower half, and are as large as WCAG 2.2 asks (2.5.8: 24 px)."""
    with visiting(browser, small, PHONE, has_touch=True) as visit:
        page = visit.open("1.html")
        assert not page.locator(".companion-board").is_visible()
        page.locator("#line\\.1\\.1-main\\.3").tap()
        assert visit.state()["anchor"] == "line.1.1-main.3"
        page.locator(".tools .on").tap()
        assert visit.state()["anchor"] == "line.1.1-main.4"
        for tool in page.locator(".companion .tool").all():
            box = tool.bounding_box()
            assert box["y"] > PHONE["height"] / 2 and min(box["width"], box["height"]) >= 32
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        page.locator(".handle").tap()
        assert not page.locator(".companion-board").is_visible()
        page.goto(small.address("1.html"))
        assert not page.locator(".companion-board").is_visible()
        page.locator("#line\\.1\\.1-main\\.4").tap()
        assert page.locator(".companion-board").is_visible()


def test_a_diagram_brings_its_annotations(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("1.html#diagram-1")
        assert page.locator(".companion .pb-over .pb-plan").count() == 1
        assert page.locator(".companion .pb-over .pb-key").count() == 1
        page.goto(small.address("1.html#diagram-2"))
        assert visit.state()["flip"] is True
        assert page.locator(".companion .pb-over .pb-threat").count() == 1
        page.locator(".tools .turn").click()
        assert page.locator(".companion .pb-over .pb-threat").count() == 1
        page.locator("#diagram-1 .board").click()
        assert visit.state()["anchor"] == "line.1.1-main.7"
        assert page.evaluate("location.hash") == "#diagram-1"


def test_a_move_on_the_board_is_followed_where_the_booklet_has_it(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("1.html#line.1.1-main.7")
        board = page.locator(".companion .board")
        box = board.bounding_box()
        unit = box["width"] / 9.24

        def square(name: str) -> dict[str, float]:
            column, row = ord(name[0]) - 97, 8 - int(name[1])
            return {"x": (0.62 + column + 0.5) * unit, "y": (0.16 + row + 0.5) * unit}

        board.click(position=square("g8"))
        board.click(position=square("f6"))
        assert visit.state()["anchor"] == "line.1.1-main.8"
        board.click(position=square("a2"))
        board.click(position=square("a4"))
        assert visit.state()["anchor"] == "line.1.1-main.8"


def test_solutions_are_not_shown_beforehand(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("1.html#line.1.1-main.20")
        assert "Qe2" not in page.locator(".companion-next").inner_text()
        page = visit.open("solutions.html")
        page.locator(".solution a.move").first.click()
        page.keyboard.press("ArrowRight")
        assert page.locator(".companion-now .move").inner_text() == "7...Nd5"


def test_keeping_and_sharing(browser, small):
    with visiting(browser, small, permissions=["clipboard-read", "clipboard-write"]) as visit:
        page = visit.open("1.html#line.1.1-main.8")
        page.evaluate(
            "navigator.clipboard.writeText = (t) => { window.taken = t; return Promise.resolve(); }"
        )
        page.locator(".keep summary").click()
        page.get_by_role("button", name="as FEN").click()
        assert page.evaluate("taken") == visit.state()["fen"]
        page.get_by_role("button", name="a link").click()
        assert page.evaluate("taken") == small.address("1.html#line.1.1-main.8")
        page.get_by_role("button", name="as PGN").click()
        game = chess.pgn.read_game(io.StringIO(page.evaluate("taken")))
        assert game.errors == [] and game.headers["Event"] == "Small Scotch"
        assert game.end().board().fen(en_passant="fen") == small.booklet.names["pin"].position.fen
        with page.expect_download() as download:
            page.get_by_role("button", name="picture").click()
        with Image.open(download.value.path()) as picture:
            assert picture.size == (1848, 1780)
            assert len(picture.convert("L").getcolors()) > 20  # it isn't blank


def test_without_scripts_a_move_still_has_its_board(browser, small):
    with visiting(browser, small, java_script_enabled=False) as visit:
        page = visit.open("1.html")
        assert page.locator(".companion").count() == 0
        page.locator("#line\\.1\\.1-main\\.7").click()
        assert page.url.endswith("1.boards.html#board.line.1.1-main.7")
