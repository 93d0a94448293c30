"""What holds for every page: links, sizes, accessibility, and that nothing hostile runs."""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import pytest
from browser.booklets import hostile_booklet
from browser.pages import LAPTOP, PHONE, TABLET, visiting, write

PAGES = ("index.html", "1.html", "1.boards.html", "solutions.html", "positions.html", "names.html",
         "variations.html", "practice.html", "find.html")  # fmt: skip


def test_every_link_and_fragment_is_followed(browser, small):
    """Each leads to a page of the folder and to something on it."""
    with visiting(browser, small) as visit:
        links: set[str] = set()
        seen: set[str] = set()
        waiting = ["index.html"]
        while waiting:
            file = waiting.pop()
            seen.add(file)
            page = visit.open(file)
            found = page.evaluate(
                "Array.from(document.querySelectorAll('a[href]')).map((a) => a.href)"
            )
            for link in found:
                target, _, fragment = link.partition("#")
                assert target.startswith(small.folder.as_uri()), link
                name = target.rpartition("/")[2]
                links.add(f"{name}#{fragment}")
                if name not in seen and name not in waiting:
                    waiting.append(name)
        assert seen == {path.name for path in small.folder.glob("*.html")}
        for file in seen:
            page = visit.open(file)
            ids = set(
                page.evaluate("Array.from(document.querySelectorAll('[id]')).map((n) => n.id)")
            )
            wanted = {link.partition("#")[2] for link in links if link.startswith(f"{file}#")} - {
                ""
            }
            assert wanted - ids == set(), file


def test_a_first_view_is_small(browser, course):
    """Everything that a chapter loads, compressed, in kB of 1000 bytes; fonts are already."""
    with visiting(browser, course) as visit:
        sizes = {}
        for chapter in course.booklet.chapters:
            del visit.asked[:]
            page = visit.open(f"{chapter.slug}.html")
            visit.settle()
            fonts = page.evaluate(
                "Array.from(document.fonts).filter((f) => f.status === 'loaded').length"
            )
            assert fonts >= 3
            files = {
                Path(url.removeprefix("file://")) for url in visit.asked if url.startswith("file:")
            }
            sizes[chapter.slug] = sum(
                file.stat().st_size if file.suffix == ".woff2" else len(gzip.compress(file.read_bytes(), 9))
                for file in files
            )  # fmt: skip
        assert max(sizes.values()) < 150_000, sizes


@pytest.mark.parametrize(("scheme", "size", "files"), (
    ("light", LAPTOP, PAGES),
    ("dark", PHONE, ("1.html", "index.html", "practice.html", "find.html")),
), ids=("laptop by day", "phone by night"))  # fmt: skip
def test_no_violation_of_accessibility_rules(browser, small, node_package, scheme, size, files):
    """By axe-core, with its rules for WCAG 2.0 to 2.2, A and AA, and its best practices."""
    axe = (node_package("axe-core") / "axe.min.js").read_text(encoding="utf-8")
    problems = []
    with visiting(browser, small, size, color_scheme=scheme, bypass_csp=True) as visit:
        for file in files:
            page = visit.open(file)
            if file == "find.html":
                page.locator(".setting > summary").click()
                page.get_by_label("Words, moves").fill("e5")
                page.keyboard.press("Enter")
                page.get_by_label("Moves or PGN").fill("1.e4 e5 2.f4")
                page.get_by_role("button", name="Look").click()
                page.locator(".left-result td").first.wait_for()
            if file == "practice.html":
                page.locator("#practice-drill").get_by_role("button", name="Begin").click()
                page.locator("#practice-drill .said").wait_for()
            if file == "1.html":
                page.evaluate("document.getElementById('line.1.1-main.19').click()")
                page.locator(".exercise .field").fill("a3")
                page.keyboard.press("Enter")
                if size is LAPTOP:
                    page.evaluate(
                        "document.querySelectorAll('.companion details').forEach((d) => d.open = true)"
                    )
            page.evaluate(axe)
            found = page.evaluate("axe.run({preload: false}).then((r) => r.violations.map((v) =>"
                                  " [v.id, v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160))]))")  # fmt: skip
            problems += [(file, size["width"], *one) for one in found]
    assert problems == []


def test_the_settings(browser, small):
    """Light, size and signs are chosen, kept, and there at once on the next page."""
    with visiting(browser, small) as visit:
        page = visit.open("1.html")
        paper = "getComputedStyle(document.body).backgroundColor"
        size = "parseFloat(getComputedStyle(document.body).fontSize)"
        before, small_letters = page.evaluate(paper), page.evaluate(size)
        page.locator(".parts .to-settings").click()
        page.get_by_role("radio", name="Night", exact=True).check()
        page.get_by_role("radio", name="Larger", exact=True).check()
        page.get_by_role("radio", name="Letters", exact=True).check()
        page.keyboard.press("Escape")
        visit.open("2.html")
        assert page.evaluate(paper) != before
        assert page.evaluate(size) > small_letters * 1.2
        assert not page.evaluate("document.documentElement.classList.contains('figurine')")
        page = visit.open("1.html")
        page.locator(".parts .to-settings").click()
        page.get_by_role("radio", name="Figurines", exact=True).check()
        assert page.evaluate("document.documentElement.classList.contains('figurine')")


def test_letters_of_the_language(browser, tmp_path):
    """A German booklet changes between figurines, which are standard letters, and S, L, T, D, K."""
    from browser.booklets import small_booklet

    folder = small_booklet(tmp_path / "booklet")
    with (folder / "booklet.toml").open("a", encoding="utf-8") as settings:
        settings.write('language = "de"\n')
    site = write(folder, tmp_path / "site")
    with visiting(browser, site) as visit:
        page = visit.open("1.html#line.1.1-main.3")
        assert page.locator("#line\\.1\\.1-main\\.3").inner_text() == "2.Nf3"
        page.locator(".parts .to-settings").click()
        page.get_by_role("radio", name="Buchstaben", exact=True).check()
        page.keyboard.press("Escape")
        assert page.locator("#line\\.1\\.1-main\\.3").inner_text() == "2.Sf3"
        page.locator(".exercise .field").fill("Le3")
        page.keyboard.press("Enter")
        assert "7.Le3" in page.locator(".exercise .said").inner_text()
        page.reload()
        assert page.locator("#line\\.1\\.1-main\\.3").inner_text() == "2.Sf3"
        assert page.locator(".companion-now .move").inner_text() == "2.Sf3"


@pytest.mark.parametrize("size", (PHONE, TABLET, LAPTOP), ids=("phone", "tablet", "laptop"))
def test_no_page_is_wider_than_its_window(browser, small, size):
    with visiting(browser, small, size) as visit:
        for file in PAGES:
            page = visit.open(file)
            wide = page.evaluate(
                "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            )
            assert wide <= 0, file


def test_nothing_hostile_runs(browser, tmp_path):
    """Scripts in words, captions, comments, games, names, pictures and a theme's data stay what
    they are: words. What a style sheet smuggles past the builder is stopped by the pages' policy."""
    site = write(hostile_booklet(tmp_path / "booklet"), tmp_path / "site")
    failures = []
    with visiting(browser, site) as visit:
        visit.page.on("requestfailed", lambda one: failures.append((one.url, one.failure)))
        visit.page.on("dialog", lambda dialog: visit.told.append(f"dialog: {dialog.message}"))
        for path in sorted(site.folder.glob("*.html")):
            page = visit.open(path.name)
            assert page.evaluate("window.ran") is None, path.name
            if path.name == "find.html":
                for text in ("alert", "<img", "e4", "x"):
                    page.get_by_label("Words, moves").fill(text)
                    page.keyboard.press("Enter")
                    page.locator("#found-count").get_by_text(re.compile("found|Found")).wait_for()
                page.get_by_label("Moves or PGN").fill(
                    '[White "<img src=x onerror=ran=1>"]\n1. e4 <script>ran=1</script>'
                )
                page.get_by_role("button", name="Look").click()
                page.locator(".left-result td").first.wait_for()
            for move in page.locator("main a.move").all()[:12]:
                if path.name in ("1.html", "solutions.html"):
                    move.click()
            assert page.evaluate("window.ran") is None, path.name
            assert (
                page.evaluate(
                    "document.querySelectorAll('main script, main iframe, [onerror], [onload]').length"
                )
                == 0
            )
        assert set(failures) == {("https://evil.invalid/a.png", "csp")}
        visit.asked[:] = [url for url in visit.asked if "evil.invalid" not in url]
        assert [told for told in visit.told if "Content Security Policy" not in told] == []
        del visit.told[:]
        data = "".join(path.read_text(encoding="utf-8") for path in site.folder.glob("assets/**/*.js"))
        core = (site.folder / "assets" / "scripts" / "core.js").read_text(encoding="utf-8")
        assert core != "window.ran=1"
        assert "</script" not in data.lower() and "<img" not in data


def test_the_policy_holds(browser, small):
    """A page into which a script or a request were brought would not run it."""
    with visiting(browser, small) as visit:
        page = visit.open("1.html")
        blocked = page.evaluate(
            """() => new Promise((done) => {
              const seen = [];
              document.addEventListener('securitypolicyviolation',
                (e) => seen.push(e.effectiveDirective));
              const inline = document.createElement('script');
              inline.textContent = 'window.ran = 1';
              document.body.append(inline);
              document.body.insertAdjacentHTML('beforeend', '<img src=x onerror="window.ran = 2">');
              // What a debugger evaluates may use eval; what the page does later may not.
              setTimeout(() => {
                try { window.eval('window.ran = 3'); } catch (error) { seen.push('eval'); }
              });
              fetch('https://example.invalid/').catch(() => seen.push('fetch'));
              setTimeout(() => done([seen, window.ran || null]), 400);
            })"""
        )
        del visit.told[:]
        visit.asked[:] = [url for url in visit.asked if "example.invalid" not in url]
        assert blocked[1] is None
        assert {"script-src-elem", "script-src-attr", "connect-src", "eval"} <= set(blocked[0])
