"""Search, and where a game left the booklet."""

from __future__ import annotations

import io
import random

import chess
import chess.pgn
import pytest
from browser.booklets import small_booklet
from browser.hands import at
from browser.pages import Site, visiting, write

from builder.model import Ply
from builder.render.whereabouts import whereabouts


@pytest.fixture(scope="module")
def finding(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("find.html")
        page.evaluate(
            "new Promise((done) => Plyleaf.withIndex(() => Plyleaf.load('assets/text.js', done)))"
        )
        yield page


def found(page, text: str, changed: bool = False) -> list[str]:
    """Where the results lead."""
    return page.evaluate(
        """([text, changed]) => new Promise((done) => Plyleaf.withIndex((index) =>
             done(Plyleaf.find(index, text, changed).map((one) => one.href))))""",
        [text, changed],
    )


E5 = "1.html#line.1.1-main.19"
CENTRE = "1.html#line.1.1-main.7"
QUEENS_OUT = "1.html#line.1.1-main.13"
PIN_FEN = "r1b1kb1r/p1ppqppp/2p2n2/4P3/8/8/PPP2PPP/RNBQKB1R w KQkq - 1 7"
SEARCHES = (
    ("moves", "Nxc6 bxc6 e5", [E5]),
    ("moves with numbers", "5.Nxc6 bxc6 6.e5", [E5]),
    ("with numbers apart", "5. Nxc6 bxc6 6. e5", [E5]),
    ("a wrong number", "4.Nxc6 bxc6 5.e5", []),
    ("with figurines", "♘xc6 bxc6 e5", [E5]),
    ("in German letters", "Sxc6 bxc6 e5", [E5]),
    ("in French letters", "Cxc6 bxc6 e5", [E5]),
    ("in Dutch letters", "Pxc6 bxc6 e5", [E5]),
    ("from square to square", "d4xc6 b7xc6 e4-e5", [E5]),
    ("without signs", "Nc6 bc6 e5", [E5]),
    ("castling with zeros", "0-0 0-0", ["2.html#line.2.1-castle.3"]),
    ("castling with letters", "O-O O-O", ["2.html#line.2.1-castle.3"]),
    ("a promotion", "a8N h1=Q", ["2.html#line.2.3-pawns.2"]),
    ("from the start, in another order", "1.d4 e5 2.e4 exd4 3.Nf3 Nc6 4.Nxd4", [CENTRE]),
    ("a code", "C45", ["1.html"]),
    ("an opening", "mieses scotch", ["1.html"]),
    ("a name", "classical", ["1.html#line.1.1-main.16"]),
    ("a position", PIN_FEN, ["1.html#line.1.1-main.20"]),
    ("a position without its counters", " ".join(PIN_FEN.split()[:4]), ["1.html#line.1.1-main.20"]),
    ("a position with a piece left open", PIN_FEN.replace("q", "?", 1).split()[0],
     ["1.html#line.1.1-main.20"]),
    ("pieces on squares", "[Qd2 qf6]", [QUEENS_OUT]),
    ("an empty square", "[Nd4 0e5 0c3 nf6]", ["1.html#line.1.1-main.8"]),
    ("any black piece", "[-e7 Pe5 0e6 +d1 0g5 nf6 0d5 Bf1]", ["1.html#line.1.1-main.20"]),
    ("nothing", "zugzwang", []),
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "expected"), [one[1:] for one in SEARCHES], ids=[one[0] for one in SEARCHES]
)
def test_searches(finding, text, expected):
    assert found(finding, text)[: max(1, len(expected))] == expected


def test_words_are_found_where_they_stand(finding):
    assert found(finding, "KNIGHT decíde") == [E5]
    assert found(finding, "tempo extra") == ["1.html#exercise-1"]


def test_colours_changed(finding):
    assert found(finding, "[pd5 qd7]") == []
    mirrored = chess.Board(PIN_FEN).mirror().fen()
    assert found(finding, mirrored) == []
    assert found(finding, mirrored, changed=True) == ["1.html#line.1.1-main.20"]


def test_searching_by_hand(browser, small):
    """Words typed and kept in the address; pieces set on the board, or written beside it."""
    with visiting(browser, small) as visit:
        page = visit.open("find.html")
        assert not [url for url in visit.asked if "positions.js" in url or "text.js" in url]
        page.get_by_label("Words, moves").fill("Nxc6 bxc6")
        page.keyboard.press("Enter")
        page.locator("#found li").first.wait_for()
        assert page.locator("#found-count").inner_text().startswith("Found:")
        page.reload()
        page.locator("#found li a").first.click()
        page.locator(".companion").wait_for()
        assert page.url == small.address("1.html#line.1.1-main.18")
        assert visit.state()["anchor"] == "line.1.1-main.18"
        page = visit.open("find.html")
        page.locator(".setting > summary").click()
        board = page.locator(".setting .board.live")
        page.get_by_label("Black: queen").check(force=True)
        page.mouse.click(*at(board, "e7"))
        page.get_by_label("any white piece").check(force=True)
        page.mouse.click(*at(board, "e5"))
        assert page.get_by_label("Pieces and squares").input_value() == "+e5 qe7"
        page.locator(".setting").get_by_role("button", name="Find").click()
        page.locator("#found li").first.wait_for()
        assert page.locator("#found li a").first.get_attribute("href").endswith("1-main.20")
        page.get_by_label("Pieces and squares").fill("Nd4 nf6")
        assert board.locator(".pb-men use").count() == 2


def test_every_result_leads_somewhere(browser, course):
    with visiting(browser, course) as visit:
        page = visit.open("find.html")
        page.evaluate(
            "new Promise((done) => Plyleaf.withIndex(() => Plyleaf.load('assets/text.js', done)))"
        )
        links = {one for text in ("e", "Nxd4", "[Pe4]", "C45", "a") for one in found(page, text)}
        assert len(links) > 300
        for file in {link.partition("#")[0] for link in links}:
            ids = {link.partition("#")[2] for link in links if link.startswith(f"{file}#")} - {""}
            html = (course.folder / file).read_text(encoding="utf-8")
            assert [one for one in ids if f'id="{one}"' not in html] == []


# --- where a game left ----------------------------------------------------------------------------

BAD = {2, 4, 6}


class Model:
    """What the booklet plays where, told once more from its lines: by the first four fields of a
    FEN, the moves in reading order, those with a bad sign last. Solutions, cited games and what
    comes after a pass don't count."""

    def __init__(self, site: Site) -> None:
        at_back = whereabouts(site.booklet).at_back
        self.moves: dict[str, list[Ply]] = {}
        self.paths: list[tuple[Ply, ...]] = []
        for chapter in site.booklet.chapters:
            for line in chapter.lines:
                for ply in line.plies() if line.kind != "game" else ():
                    path = ply.path()
                    if any(one.is_pass or one.anchor in at_back for one in path):
                        continue
                    self.paths.append(path)
                    known = self.moves.setdefault(ply.before.epd, [])
                    if ply.move not in [one.move for one in known]:
                        known.append(ply)
                    self.moves.setdefault(ply.after.epd, [])

    def answer(self, moves: list[chess.Move]) -> dict:
        board, last, at, sans = chess.Board(), -1, "", []
        for count in range(len(moves) + 1):
            if board.epd(en_passant="legal") in self.moves:
                last, at = count, board.epd(en_passant="legal")
            if count < len(moves):
                sans.append(board.san(moves[count]))
                board.push(moves[count])
        known = sorted(self.moves.get(at, []), key=lambda ply: bool(BAD & set(ply.nags)))
        return {"last": last, "played": sans[last] if 0 <= last < len(moves) else "",
                "next": [ply.san for ply in known]}  # fmt: skip


def games(model: Model, count: int) -> list[list[chess.Move]]:
    """Games that follow the booklet for a while, some of them in another order, and go astray."""
    chance = random.Random(20260102)
    initial = [path for path in model.paths if path[0].before.fen == chess.STARTING_FEN]
    made = []
    while len(made) < count:
        path = chance.choice(initial)
        wanted = [ply.move for ply in path[: chance.randint(0, len(path))]]
        if chance.random() < 0.4:
            by_side = [wanted[0::2], wanted[1::2]]
            for moves in by_side:
                if len(moves) > 1:
                    i = chance.randrange(len(moves) - 1)
                    moves[i], moves[i + 1] = moves[i + 1], moves[i]
            wanted = [by_side[n % 2][n // 2] for n in range(len(wanted))]
        board, played = chess.Board(), []
        for move in wanted:
            if move not in board.legal_moves:
                break
            board.push(move)
            played.append(move)
        for _ in range(chance.randint(0, 6)):
            legal = list(board.legal_moves)
            if not legal:
                break
            played.append(chance.choice(legal))
            board.push(played[-1])
        if played:
            made.append(played)
    return made


def pgn(moves: list[chess.Move], number: int) -> str:
    """As programs write it, with comments, signs and a variation here and there."""
    game = chess.pgn.Game()
    game.headers["Round"] = str(number)
    node: chess.pgn.GameNode = game
    for index, move in enumerate(moves):
        if index == 2 and number % 3 == 0:
            other = next(one for one in node.board().legal_moves if one != move)
            main = node.add_variation(move)
            node.add_variation(other, comment="(1. e4) not this; [%clk 0:01:00]")
            node = main
        else:
            node = node.add_variation(move)
        if index % 5 == 4:
            node.comment = "a {comment".replace("{", "") + " ; 1-0"
            node.nags.add(6)
    return str(game)


def test_where_games_left_as_a_model_tells_it(browser, course):
    model = Model(course)
    played = games(model, 1000)
    text = "\n\n".join(pgn(moves, number) for number, moves in enumerate(played))
    with visiting(browser, course) as visit:
        page = visit.open("find.html")
        told = page.evaluate(
            """(text) => new Promise((done) => Plyleaf.withIndex((index) =>
                 done(Plyleaf.readGames(text).map((game) => {
                   const left = Plyleaf.whereLeft(index, game);
                   return {last: left.last, played: left.played, next: left.next.map((n) => n.san)};
                 }))))""",
            text,
        )
    expected = [model.answer(moves) for moves in played]
    assert len(told) == len(expected)
    assert told == expected
    assert len({one["last"] for one in expected}) > 8
    assert sum(one["played"] == "" for one in expected) > 5


def test_a_game_by_hand(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("find.html")
        page.get_by_label("Moves or PGN").fill("1.d4 e5 2.e4 exd4 3.Nf3 Nc6 4.Nxd4 d6 5.Nc3")
        page.get_by_role("button", name="Look").click()
        page.locator(".left-result td").first.wait_for()
        cells = page.locator(".left-result tbody tr > *").all_inner_texts()
        assert cells == [
            "Game 1",
            "4.Nxd4",
            "4...d6",
            "4...Nf6, 4...Bc5, 4...Qh4",
            "Chapter 1, The first",
        ]
        assert (
            page.locator(".left-result tbody a").get_attribute("href") == "1.html#line.1.1-main.8"
        )
        assert page.locator(".left-board .board").is_visible()


def test_the_printed_page_is_told(browser, tmp_path):
    folder = small_booklet(tmp_path / "booklet")
    site = write(folder, tmp_path / "site", {"line.1.1-main.8": 12})
    with visiting(browser, site) as visit:
        page = visit.open("find.html")
        page.get_by_label("Moves or PGN").fill("1.e4 e5 2.Nf3 Nc6 3.d4 exd4 4.Nxd4 d6\n\n1.e4 e5 2.f4")
        page.get_by_role("button", name="Look").click()
        page.locator(".left-result td").first.wait_for()
        where = page.locator(".left-result tbody td:last-child").all_inner_texts()
        assert where == ["Chapter 1, The first, page\xa012", "Chapter 1, The first"]


TEXTS = (
    ("bare moves", "e4 e5 Nf3", [["e4", "e5", "Nf3"]]),
    ("numbers in every manner", "1.e4 e5 2. Nf3 2... Nc6 3 . d4", [["e4", "e5", "Nf3", "Nc6", "d4"]]),
    ("two games by their results", "1. e4 1-0 1. d4 *", [["e4"], ["d4"]]),
    ("two games by their numbers", "1. e4 e5\n\n1. d4 d5", [["e4", "e5"], ["d4", "d5"]]),
    ("tags begin a game", '[White "A \\"B\\""]\n1. e4\n[White "C"]\n1. d4', [["e4"], ["d4"]]),
    ("what is passed over", "1. e4! {a (b} $3 (1. d4 {)} (1. c4)) e5 ; 2. a4\n2. Nf3 ?! += 1/2-1/2",
     [["e4!", "e5", "Nf3"]]),
    ("nothing", " ", []),
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "moves"), [one[1:] for one in TEXTS], ids=[one[0] for one in TEXTS]
)
def test_games_are_read(finding, text, moves):
    assert (
        finding.evaluate("(text) => Plyleaf.readGames(text).map((one) => one.moves)", text) == moves
    )


def test_a_game_read_as_the_rules_library_reads_it(finding):
    text = pgn([chess.Move.from_uci(move) for move in "e2e4 e7e5 g1f3 b8c6 d2d4".split()], 3)
    game = chess.pgn.read_game(io.StringIO(text))
    board, sans = chess.Board(), []
    for move in game.mainline_moves():
        sans.append(board.san_and_push(move))
    read = finding.evaluate("(text) => Plyleaf.readGames(text)[0].moves", text)
    assert read == sans
