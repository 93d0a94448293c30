"""A chapter as one file: it works by itself, asks for nothing, and lets nothing else run."""

from __future__ import annotations

import pytest
from browser.booklets import small_booklet
from browser.pages import LAPTOP, PHONE, Site, visiting
from tiny import read_and_make

from builder.write.single_page import page_text


@pytest.fixture(scope="module")
def sent(tmp_path_factory) -> Site:
    """Each chapter of the small booklet as a file, in a folder that holds nothing else."""
    root = tmp_path_factory.mktemp("sent")
    source, booklet, faults = read_and_make(small_booklet(root / "booklet"))
    target = root / "mail"
    target.mkdir()
    for chapter in booklet.chapters:
        text = page_text(booklet, source.settings, source.files, chapter.slug, faults)
        assert text is not None, [fault.as_text() for fault in faults.sorted()]
        # A file is called what its reader likes.
        file = target / f"chapter {chapter.slug}.html"
        file.write_bytes(text.encode("utf-8"))
    return Site(booklet, target)


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_the_board_follows_the_text(browser, sent, size):
    with visiting(browser, sent, size) as visit:
        page = visit.open("chapter 1.html")
        page.locator("main a.move", has_text="4...Bc5").first.click()
        assert visit.state()["fen"].startswith("r1bqk1nr/pppp1ppp/2n5/2b5/3NP3/")
        assert page.evaluate("location.hash") == "#" + visit.state()["anchor"]
        page.keyboard.press("ArrowRight")
        assert visit.state()["fen"].split(" ")[0].endswith("/2b5/3NP3/4B3/PPP2PPP/RN1QKB1R")
        assert page.locator(".companion .board.live [href='#pb-wk']").count() == 1
        assert visit.asked == [sent.address("chapter 1.html").replace(" ", "%20")]


def test_an_address_leads_to_its_move(browser, sent):
    anchor = sent.booklet.chapters[0].lines[0].main_plies()[5].anchor
    with visiting(browser, sent) as visit:
        visit.open(f"chapter 1.html#{anchor}")
        assert visit.state()["anchor"] == anchor


def test_an_exercise_is_answered(browser, sent):
    """And its solution stands on the same page."""
    with visiting(browser, sent) as visit:
        page = visit.open("chapter 1.html")
        box = page.locator(".exercise input").first
        for move in ("Qe2", "c4"):
            box.fill(move)
            box.press("Enter")
        link = page.locator(".exercise a", has_text="Solution").first
        assert link.get_attribute("href") == "#solution-1"
        assert page.locator("#solution-1").count() == 1


def test_what_stands_elsewhere_is_no_link(browser, sent):
    """The second chapter goes on from the first: one can step back, and is sent nowhere."""
    with visiting(browser, sent) as visit:
        page = visit.open("chapter 2.html")
        page.locator("main a.move").first.click()
        for _ in range(3):
            page.keyboard.press("ArrowLeft")
        assert visit.state()["anchor"].startswith("line.1.")
        hrefs = page.evaluate(
            "Array.from(document.querySelectorAll('a[href]')).map((a) => a.getAttribute('href'))"
        )
        assert hrefs and all(href.startswith("#") for href in hrefs), hrefs
        missing = page.evaluate("hrefs => hrefs.filter((h) => !document.getElementById(h.slice(1)))", hrefs)
        assert missing == []


def test_nothing_but_its_own_scripts_run(browser, sent, tmp_path):
    """A script that somebody puts into the file is refused, and so is a request."""
    text = (sent.folder / "chapter 1.html").read_text(encoding="utf-8")
    extra = "<script>window.ran = 1</script><img src='https://example.org/a.png'>"
    (tmp_path / "a.html").write_text(text.replace("</main>", extra + "</main>"), encoding="utf-8")
    context = browser.new_context()
    page, told = context.new_page(), []
    page.on("console", lambda message: told.append(message.text))
    page.goto((tmp_path / "a.html").as_uri())
    assert page.evaluate("window.ran === undefined && typeof Plyleaf.readerState === 'function'")
    assert len([line for line in told if "Content Security Policy" in line]) == 2, told
    context.close()


def test_without_scripts_it_is_whole(browser, sent):
    with visiting(browser, sent, java_script_enabled=False) as visit:
        page = visit.open("chapter 1.html")
        # A move leads to its own place, and that is there.
        href = page.locator("main a.move").first.get_attribute("href")
        assert page.locator(f"[id='{href[1:]}']").count() == 1
        assert page.locator("main .diagram .board").count() == 3
        assert page.locator("#solution-1").is_visible()


def test_accessibility(browser, sent, node_package):
    """By axe-core, with its rules for WCAG 2.0 to 2.2, A and AA, and its best practices."""
    axe = (node_package("axe-core") / "axe.min.js").read_text(encoding="utf-8")
    for scheme, size in (("light", LAPTOP), ("dark", PHONE)):
        with visiting(browser, sent, size, color_scheme=scheme, bypass_csp=True) as visit:
            page = visit.open("chapter 1.html")
            page.evaluate(axe)
            found = page.evaluate(
                "axe.run({preload: false}).then((r) => r.violations.map((v) => v.id + ' ' +"
                " v.nodes.map((n) => n.target).join(' ')))"
            )
            assert found == [], scheme
