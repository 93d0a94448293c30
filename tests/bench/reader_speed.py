"""What a reader waits for on a slow phone: a chapter opens, the board steps, a search answers.

    .venv/bin/python tests/bench/reader_speed.py [POSITIONS] [SLOWER]

A booklet of that many positions (5000) is made, its site opened from the folder in Chromium at a
phone's size, with the processor slowed so many times (4) by the browser's own means. Each figure
is the middle of the runs and the worst, in milliseconds, as the page's own clock tells it, until
the page was drawn again.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(Path(__file__).parent)]

from browser.pages import PHONE, Site, write
from made import Made

RUNS = 7
# Waits until the browser has drawn what the script before it changed.
DRAWN = "await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));"
STEP = f"""async () => {{
  const times = [];
  for (let i = 0; i < 30; i++) {{
    const begun = performance.now();
    document.dispatchEvent(new KeyboardEvent('keydown', {{key: 'ArrowRight', bubbles: true}}));
    {DRAWN}
    times.push(performance.now() - begun);
  }}
  return times; }}"""
SEARCH = f"""async (text) => {{
  const begun = performance.now();
  document.getElementById('find-words').value = text;
  document.getElementById('find-words').dispatchEvent(
    new KeyboardEvent('keydown', {{key: 'Enter', bubbles: true}}));
  await new Promise((done) => {{
    const wait = () => Plyleaf.data.text && document.getElementById('found-count').textContent
      ? done() : setTimeout(wait);
    wait(); }});
  {DRAWN}
  return performance.now() - begun; }}"""
LEFT = f"""async (text) => {{
  const begun = performance.now();
  document.getElementById('left-games').value = text;
  document.querySelector('#left-games').closest('section').querySelector('button').click();
  {DRAWN}
  return performance.now() - begun; }}"""


def searches(site: Site) -> dict[str, str]:
    """One of each kind, from the middle of the booklet."""
    plies = [ply for line in site.booklet.chapters[6].lines for ply in line.plies()]
    ply = plies[len(plies) // 2]
    path = ply.path()[-3:]
    return {
        "moves": " ".join(one.san for one in path),
        "moves with numbers": " ".join(one.label for one in path),
        "moves from the start": " ".join(one.label for one in ply.path()),
        "a position (FEN)": ply.after.fen,
        "pieces on squares": "Ke1 ?d5 qd8",
        "words": "long diagonal",
        "a code": "C45",
    }


def opened(page: Page, site: Site, file: str) -> float:
    page.goto("about:blank")
    page.goto(site.address(file))
    page.wait_for_function("window.Plyleaf && Plyleaf.readerState && Plyleaf.readerState()")
    return page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd")


def told(what: str, times: list[float]) -> str:
    return f"{what:34} {statistics.median(times):7.0f} {max(times):7.0f}"


def measured(page: Page, site: Site) -> Iterator[str]:
    chapter = f"{site.booklet.chapters[6].slug}.html"
    yield told("a chapter opens", [opened(page, site, chapter) for _ in range(RUNS)])
    page.locator("main a.move").first.click()
    yield told("the board steps", page.evaluate(STEP))
    asked = searches(site)
    first = []
    for _ in range(RUNS):
        page.goto(site.address("index.html"))
        page.goto(site.address("find.html"))
        page.wait_for_load_state()
        first.append(page.evaluate(SEARCH, asked["moves"]))
    yield told("the first search, index loaded", first)
    for what, text in asked.items():
        times = []
        for _ in range(RUNS):
            page.evaluate(SEARCH, "-")
            times.append(page.evaluate(SEARCH, text))
        yield told(f"search: {what}", times)
    plies = [ply for line in site.booklet.chapters[6].lines for ply in line.plies()]
    game = " ".join(one.label for one in plies[-1].path())
    yield told("where one game left", [page.evaluate(LEFT, game) for _ in range(RUNS)])


def main() -> None:
    positions = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    slower = float(sys.argv[2]) if len(sys.argv) > 2 else 4
    with tempfile.TemporaryDirectory() as temporary, sync_playwright() as playwright:
        folder = Path(temporary)
        site = write(Made(positions).write(folder / "booklet"), folder / "site")
        print(f"{len(site.booklet.reached)} positions, processor slowed {slower:g} times")
        print(f"{'milliseconds':34} {'middle':>7} {'worst':>7}")
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", "--disable-gpu", "--disable-quic"],
        )
        page = browser.new_context(viewport=PHONE).new_page()
        slow = page.context.new_cdp_session(page)
        slow.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        for line in measured(page, site):
            print(line)
        browser.close()


if __name__ == "__main__":
    main()
