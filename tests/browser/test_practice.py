"""Exercises on the board, the drill, and the reader's own record."""

from __future__ import annotations

import json

import pytest
from browser.booklets import small_booklet
from browser.hands import drag, touch
from browser.pages import LAPTOP, PHONE, visiting, write


ID = "1:e1"
SAID = ".exercise .said"


def kept(page) -> dict:
    return page.evaluate("JSON.parse(localStorage.getItem('plyleaf:record:small-scotch'))")["items"]


def written(page, move: str) -> None:
    page.locator(".exercise .field").fill(move)
    page.keyboard.press("Enter")


WAYS = (
    ("dragged", LAPTOP, lambda page: drag(page, page.locator(".exercise .board"), "d1e2")),
    ("touched", PHONE, lambda page: touch(page, page.locator(".exercise .board"), "d1e2")),
    ("written", LAPTOP, lambda page: written(page, "Qe2")),
    ("with its number", LAPTOP, lambda page: written(page, "7. Qe2!")),
    ("from square to square", LAPTOP, lambda page: written(page, "d1e2")),
    ("in small letters", LAPTOP, lambda page: written(page, "qe2")),
)


@pytest.mark.parametrize(("size", "answer"), [way[1:] for way in WAYS], ids=[w[0] for w in WAYS])
def test_a_right_answer(browser, small, size, answer):
    with visiting(browser, small, size, has_touch=True) as visit:
        page = visit.open("1.html#exercise-1")
        answer(page)
        assert page.locator(SAID).inner_text() == "7.Qe2 is right. The booklet goes on 7...Nd5."
        one = kept(page)[ID]
        assert (one["right"], one["wrong"], one["step"], len(one["log"])) == (1, 0, 0, 1)
        written(page, "Nd2")  # the other move that its author lets pass; it is not counted again
        assert "8.Nd2 is right." in page.locator(SAID).inner_text()
        assert kept(page)[ID]["right"] == 1
        assert page.locator(f"{SAID} a").get_attribute("href") == "solutions.html#solution-1"


def test_wrong_answers(browser, small):
    """One that the booklet answers is met with its reply; another only refused; an impossible one
    is no answer."""
    with visiting(browser, small) as visit:
        page = visit.open("1.html#exercise-1")
        written(page, "Qe9")
        assert "can’t be played" in page.locator(SAID).inner_text()
        assert page.evaluate("localStorage.getItem('plyleaf:record:small-scotch')") is None
        written(page, "Bf4")
        assert page.locator(SAID).inner_text() == "7.Bf4 is met by 7...Qb4+."
        assert (
            page.locator(
                '.exercise .men [href="#pb-bq"], .exercise .pb-men [href="#pb-bq"]'
            ).get_attribute("y")
            == "400"
        )
        assert (kept(page)[ID]["right"], kept(page)[ID]["wrong"]) == (0, 1)
        page.locator(".exercise").get_by_role("button", name="Try again").click()
        written(page, "a3")
        assert page.locator(SAID).inner_text() == "7.a3 is not the move."


def test_help_comes_in_steps(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("1.html#exercise-1")
        more = page.locator(".exercise").get_by_role("button", name="Help")
        told = []
        for _ in range(4):
            more.click()
            told.append(page.locator(SAID).inner_text())
        assert told == ["Hint: Which piece is pinned?", "Look at the piece on d1.", "It goes to e2.",
                        "The booklet plays 7.Qe2."]  # fmt: skip
        assert kept(page)[ID]["wrong"] == 1  # told is not found


def test_promotion_is_asked_for(browser, tmp_path_factory):
    from browser.pages import write
    from tiny import write_booklet

    chapter = ('```exercise e1 from "8/P6k/8/8/8/8/8/K7 w - - 0 1"\ntask: White to move.\n'
               "solution: 1. a8=N\n```\n")  # fmt: skip
    root = tmp_path_factory.mktemp("promotion")
    site = write(write_booklet(root / "booklet", chapter), root / "site")
    with visiting(browser, site) as visit:
        page = visit.open("1.html#exercise-1")
        drag(page, page.locator(".exercise .board"), "a7a8")
        page.locator(".promotion").get_by_role("button", name="N").click()
        assert "1.a8=N is right." in page.locator(SAID).inner_text()


def test_growing_intervals(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("practice.html")
        days = page.evaluate(
            """() => { const DAY = 864e5; let now = 0; Plyleaf.record.now = () => now;
              const out = [];
              for (let i = 0; i < 8; i++) {
                Plyleaf.record.note('x', true);
                const due = Plyleaf.record.get('x').due;
                out.push((due - now) / DAY);
                now = due;
              }
              Plyleaf.record.note('x', false); out.push(Plyleaf.record.isDue('x'));
              Plyleaf.record.note('x', true, true);
              out.push((Plyleaf.record.get('x').due - now) / DAY);
              return out; }"""
        )
        assert days == [1, 3, 7, 16, 35, 80, 180, 180, True, 1]


def test_the_record_travels_as_a_file(browser, small, tmp_path):
    with visiting(browser, small) as visit:
        page = visit.open("practice.html")
        page.locator("#practice-exercises .field").fill("Qe2")
        page.keyboard.press("Enter")
        with page.expect_download() as download:
            page.get_by_role("button", name="Save the record").click()
        file = tmp_path / download.value.suggested_filename
        download.value.save_as(file)
        assert json.loads(file.read_text())["items"][ID]["right"] == 1
    with visiting(browser, small) as visit:
        page = visit.open("practice.html")
        assert "Due now: 1" in page.locator("#practice-exercises").inner_text()
        page.locator("#record-file").set_input_files(file)
        page.get_by_text("Entries taken in: 1.").wait_for()
        assert "Nothing is due" in page.locator("#practice-exercises").inner_text()
        page.get_by_role("button", name="Forget everything").click()
        page.get_by_role("button", name="for good").click()
        assert page.evaluate("localStorage.getItem('plyleaf:record:small-scotch')") is None


NO_RECORDS = (
    ("no JSON", "nothing"),
    ("another booklet's", '{"record": "plyleaf", "version": 1, "booklet": "other", "items": {}}'),
    ("a list", "[]"),
    ("without items", '{"record": "plyleaf", "version": 1, "booklet": "small-scotch"}'),
)


@pytest.fixture(scope="module")
def practice(browser, small):
    with visiting(browser, small) as visit:
        yield visit.open("practice.html")


@pytest.mark.parametrize(
    "text", [text for _, text in NO_RECORDS], ids=[name for name, _ in NO_RECORDS]
)
def test_what_is_no_record_is_refused(practice, text):
    assert practice.evaluate("(text) => Plyleaf.record.take(text)", text) == -1


def test_a_hostile_record_becomes_numbers(practice):
    evil = {"record": "plyleaf", "version": 1, "booklet": "small-scotch", "items": {
        "a": {"right": "<img>", "wrong": -3, "due": None, "step": 99, "log": [["x", 1], [5, "y"], 3]},
        "__proto__": {"right": 1}, "b": "text"}}  # fmt: skip
    text = json.dumps(evil)
    assert practice.evaluate("(text) => Plyleaf.record.take(text)", text) >= 1
    one = practice.evaluate("Plyleaf.record.get('a')")
    assert one == {"right": 0, "wrong": 0, "due": 0, "step": 6, "log": [[5, 1]]}
    assert practice.evaluate("({}).right === undefined")


def test_a_browser_that_keeps_nothing(browser, small):
    """Then the record lives as long as the page, and the page says so."""
    with visiting(browser, small) as visit:
        visit.page.add_init_script("Object.defineProperty(window, 'localStorage',"
                                   " {get() { throw new DOMException('no', 'SecurityError'); }})")  # fmt: skip
        page = visit.open("practice.html")
        assert "keeps nothing" in page.locator(".warning").inner_text()
        page.locator("#practice-exercises .field").fill("Qe2")
        page.keyboard.press("Enter")
        assert "Right: 1." in page.locator("#practice-exercises .record").inner_text()
        page = visit.open("1.html")
        page.keyboard.press("ArrowRight")
        assert visit.state()["anchor"]


# A generator of 32 bits in place of the browser's own chance (constants by Numerical Recipes).
CHANCE = """(() => { let seed = 7; Math.random = () =>
  (seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0) / 4294967296; })()"""


def test_the_drill(browser, small):
    """White plays the booklet's moves; Black's come from the page, all of them in the end."""
    with visiting(browser, small) as visit:
        visit.page.add_init_script(CHANCE)
        page = visit.open("practice.html")
        page.select_option("#drill-chapter", "1")
        replies = set()
        for _ in range(6):
            page.locator("#practice-drill").get_by_role("button", name="Begin").click()
            said = page.locator("#practice-drill .said")
            field = page.locator("#practice-drill .field[type=text]")
            said.wait_for()
            for move in ("e4", "Nf3", "d4", "Nxd4"):
                field.fill(move)
                field.press("Enter")
                assert f"{move} is right." in said.inner_text()
            reply = said.inner_text().partition("Answered: ")[2].partition(".  ")[0]
            replies.add(reply.split(".")[3])
            move = {"Nf6": "Nxc6", "Bc5": "Be3", "Qh4": "Nc3"}[reply.split(".")[3]]
            field.fill("a3")
            field.press("Enter")
            assert "5.a3 is not the move." in said.inner_text()
            field.fill(move)
            field.press("Enter")
            assert f"5.{move} is right." in said.inner_text()
        assert replies == {"Nf6", "Bc5", "Qh4"}
        entries = page.evaluate("JSON.parse(Plyleaf.record.text()).items")
        assert sum(one["wrong"] for key, one in entries.items() if key.startswith("move:")) == 6


def test_the_drill_answers_as_games_do(browser, tmp_path):
    """Black's replies come about as often as in the booklet's games, and the rarest comes too."""
    folder = small_booklet(tmp_path / "booklet")
    (folder / "games").mkdir()
    (folder / "games" / "club.pgn").write_text("".join(
        f"1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 {reply} *\n\n"
        for reply, number in (("Nf6", 60), ("Bc5", 30)) for _ in range(number)
    ))  # fmt: skip
    site = write(folder, tmp_path / "site")
    with visiting(browser, site) as visit:
        visit.page.add_init_script(CHANCE)
        page = visit.open("practice.html")
        answered = page.evaluate(
            """(moves) => new Promise((done) => Plyleaf.withIndex((index) => {
              const drill = new Plyleaf.Drill(index, '1', 'w', document.createElement('div'));
              for (const san of moves) drill.at = drill._moves().find((one) => one.san === san);
              const counted = {};
              for (let i = 0; i < 182; i++) {
                const san = drill._reply().san;
                counted[san] = (counted[san] || 0) + 1;
              }
              done(counted); }))""",
            ["e4", "e5", "Nf3", "Nc6", "d4", "exd4", "Nxd4"],
        )
    assert answered == {"Nf6": pytest.approx(182 * 61 / 93, abs=3), "Bc5": pytest.approx(182 * 31 / 93, abs=3),
                        "Qh4": pytest.approx(182 * 1 / 93, abs=2)}  # fmt: skip
    assert answered["Qh4"] > 0
