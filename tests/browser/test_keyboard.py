"""The keyboard alone, and what a screen reader is told: they suffice for reading, exercises and
search. What is told is Chromium's own accessibility tree."""

from __future__ import annotations

import pytest
from browser.pages import PHONE, visiting


def tab_to(page, what: str, most: int = 150) -> None:
    """Presses Tab until the element is reached, as somebody without a mouse has to."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("(what) => !!document.activeElement?.matches(what)", what):
            return
    raise AssertionError(f"Tab never reaches {what}")


def told(page) -> list[tuple[str, str, str]]:
    """(role, name, description) of all that a screen reader meets on the page."""
    session = page.context.new_cdp_session(page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    return [
        tuple(str(node.get(key, {}).get("value", "")) for key in ("role", "name", "description"))
        for node in nodes
        if not node.get("ignored")
    ]


def test_reading_by_keyboard(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("1.html")
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.getAttribute('href')") == "#companion"
        page.keyboard.press("Enter")
        page.keyboard.press("Home")
        for expected in ("1.e4. Black to move", "1...e5. White to move", "2.Nf3. Black to move"):
            page.keyboard.press("ArrowRight")
            assert page.locator("#companion [role=status].unseen").text_content() == expected
        tab_to(page, ".tools .on")
        page.keyboard.press("Enter")
        assert visit.state()["anchor"] == "line.1.1-main.4"
        tab_to(page, ".choice")
        page.keyboard.press("Enter")
        assert visit.state()["anchor"] == "line.1.1-main.5"
        page.keyboard.press("Shift+Tab")
        visit.open("1.html")
        tab_to(page, "#line\\.1\\.1-main\\.7")
        page.keyboard.press("Enter")
        assert visit.state()["anchor"] == "line.1.1-main.7"


def test_an_exercise_by_keyboard(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("1.html#exercise-1")
        tab_to(page, ".exercise .field")
        page.keyboard.type("a3")
        page.keyboard.press("Enter")
        said = page.locator(".exercise [role=status]")
        assert said.inner_text() == "7.a3 is not the move."
        tab_to(page, ".exercise button")
        page.keyboard.press("Enter")
        tab_to(page, ".exercise .field", 300)
        page.keyboard.type("Qe2")
        page.keyboard.press("Enter")
        assert said.inner_text().startswith("7.Qe2 is right.")


def test_a_search_by_keyboard(browser, small):
    with visiting(browser, small) as visit:
        page = visit.open("find.html")
        tab_to(page, "#find-words")
        page.keyboard.type("Nxc6 bxc6 e5")
        page.keyboard.press("Enter")
        page.locator("#found li").first.wait_for()
        assert page.locator("#found-count[role=status]").inner_text() == "Found: 1"
        tab_to(page, "#found a")
        page.keyboard.press("Enter")
        page.locator(".companion").wait_for()
        assert visit.state()["anchor"] == "line.1.1-main.19"
        page = visit.open("find.html")
        tab_to(page, "#left-games")
        page.keyboard.type("1.e4 e5 2.f4")
        tab_to(page, "button")
        page.keyboard.press("Enter")
        page.locator(".left-result td").first.wait_for()
        cells = [name for role, name, _ in told(page) if role in ("rowheader", "cell")]
        assert cells[:4] == ["Game 1", "1...e5", "2.f4", "2.Nf3"]


PAGES = ("1.html", "solutions.html", "find.html", "practice.html", "index.html")
NAMED = {"link", "button", "textbox", "searchbox", "checkbox", "radio", "combobox", "image"}


@pytest.mark.parametrize("file", PAGES)
def test_a_screen_reader_is_told_all(browser, small, file):
    """Every link, field, button and picture has a name; boards have a short one, and describe
    their position; there are landmarks and one first heading."""
    with visiting(browser, small, PHONE) as visit:
        page = visit.open(file)
        visit.settle()
        met = told(page)
        assert [one for one in met if one[0] in NAMED and not one[1].strip()] == []
        roles = [role for role, *_ in met]
        assert roles.count("main") == 1 and "navigation" in roles
        assert page.locator("h1").count() == 1
        if file == "1.html":
            boards = [one[1:] for one in met if one[0] == "image"]
            assert len(boards) == page.locator("main svg[role=img]").count() == 3
            assert all("White: king" in told and "Black: king" in told for _, told in boards)
            names = [name for name, _ in boards]
            assert names[0].startswith("Diagram 1. After ") and max(map(len, names)) < 40, names
