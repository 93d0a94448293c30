"""Games and opening tables in the site: the board steps through them, and nothing teaches them."""

from __future__ import annotations

import pytest
from browser.pages import LAPTOP, PHONE, visiting, write
from played import HEAD, LINE, OPENING, game_of
from tiny import write_booklet

FIRST = f"""\
{LINE}
## Games

```game games/club.pgn#1 diagrams 9
```

```table main
```
"""
PGN = game_of(f"{OPENING} Nf4 9. Qe4 {{Centralised.}} (9. Qf3) Ne6 1-0", HEAD)


@pytest.fixture(scope="module")
def games(tmp_path_factory):
    root = tmp_path_factory.mktemp("games")
    folder = write_booklet(root / "booklet", FIRST)
    (folder / "games").mkdir()
    (folder / "games" / "club.pgn").write_text(PGN)
    return write(folder, root / "site")


def test_the_board_steps_through_a_game(browser, games):
    with visiting(browser, games) as visit:
        page = visit.open("1.html#game-1")
        state = "Plyleaf.readerState()"
        assert page.evaluate("location.hash") == "#game-1"
        page.locator("#game-1 .moves.main .move").first.click()
        assert page.evaluate(f"{state}.node.san") == "Nf4"
        page.keyboard.press("ArrowRight")
        assert page.evaluate(f"{state}.node.san") == "Qe4"
        ply = games.booklet.games[0].line.main_plies()[16]
        assert page.evaluate(f"{state}.fen") == ply.after.fen


def test_a_page_stays_where_it_was_opened(browser, games):
    """An address that is no move's is left alone."""
    with visiting(browser, games) as visit:
        for anchor in ("table-1", "part.1.games"):
            page = visit.open(f"1.html#{anchor}")
            assert page.evaluate("location.hash") == f"#{anchor}"


def test_a_move_in_a_table_is_shown(browser, games):
    with visiting(browser, games) as visit:
        page = visit.open("1.html")
        page.locator("#table-1 tbody .move", has_text="Bc5").first.click()
        assert page.evaluate("Plyleaf.readerState().node.san") == "Bc5"


def test_the_index_leads_to_the_game(browser, games):
    with visiting(browser, games) as visit:
        page = visit.open("games.html")
        page.get_by_role("link", name="Ann Quay – Bo Pier").click()
        assert page.evaluate("location.href").endswith("1.html#game-1")


def test_a_game_is_found_but_not_drilled(browser, games):
    with visiting(browser, games) as visit:
        page = visit.open("find.html")
        told = page.evaluate("""() => new Promise((done) => Plyleaf.withIndex((index) => done({
            inGame: index.nodes.some((node) => node.san === "Nf4"),
            next: Object.values(index.at).flatMap((at) => at.next.map((node) => node.san)),
            only: Object.values(index.at).filter((at) => !at.taught).length,
        })))""")
        assert told["inGame"] and "Nf4" not in told["next"] and "Qe4" not in told["next"]
        assert told["only"] == 4
        left = page.evaluate("""() => new Promise((done) => Plyleaf.withIndex((index) => done(
            Plyleaf.whereLeft(index, {tags: {}, moves: %s}).last)))""" % [
            ply.san for ply in games.booklet.games[0].line.main_plies()])
        assert left == 15


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])
def test_no_page_is_wider_than_the_window(browser, games, size):
    with visiting(browser, games, size) as visit:
        for file in ("1.html", "games.html"):
            page = visit.open(file)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
