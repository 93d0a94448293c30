"""A built site in Chromium, opened from its folder: what the tests of the pages share."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from built_site import build_site
from playwright.sync_api import Browser, BrowserContext, Page

from builder.model import Booklet

PHONE = {"width": 360, "height": 740}
TABLET = {"width": 820, "height": 1180}
LAPTOP = {"width": 1440, "height": 900}


@dataclass(frozen=True)
class Site:
    """A booklet and the folder that its site was written to."""

    booklet: Booklet
    folder: Path

    def address(self, page: str) -> str:
        file, _, fragment = page.partition("#")
        return (self.folder / file).as_uri() + (f"#{fragment}" if fragment else "")


def write(folder: Path, target: Path, page_of: Mapping[str, int] | None = None) -> Site:
    built = build_site(folder, target, page_of=page_of, counted=True)
    assert not built.faults.has_errors, built.told()
    return Site(built.booklet, target)


@dataclass
class Visit:
    """A page with all that it asked for and complained of."""

    page: Page
    site: Site
    asked: list[str] = field(default_factory=list)
    told: list[str] = field(default_factory=list)

    def open(self, page: str) -> Page:
        self.page.goto(self.site.address(page))
        return self.page

    def settle(self) -> None:
        """Waits until fonts are there and the page's scripts have nothing left to do. The driver's own
        sign of a quiet network is sometimes missed on pages from a folder."""
        self.page.evaluate(
            "document.fonts.ready.then(() => new Promise((done) => requestIdleCallback(() => done())))"
        )

    def state(self) -> dict[str, str]:
        """The FEN on the board, and the anchor of its move."""
        return self.page.evaluate(
            "(() => { const s = Plyleaf.readerState();"
            " return {fen: s.fen, anchor: s.node.anchor || '', flip: s.flip}; })()"
        )


@contextmanager
def visiting(browser: Browser, site: Site, size: dict[str, int] = LAPTOP,
             **options) -> Iterator[Visit]:  # fmt: skip
    """A visit that ends with the check that nothing left the folder and nothing went wrong."""
    context: BrowserContext = browser.new_context(viewport=size, **options)
    context.set_default_timeout(20_000)  # a laden machine is slow, not wrong
    visit = Visit(context.new_page(), site)
    visit.page.on("request", lambda request: visit.asked.append(request.url))
    visit.page.on("console", lambda message: visit.told.append(message.text))
    visit.page.on("pageerror", lambda error: visit.told.append(str(error)))
    yield visit
    home = site.folder.as_uri()
    outside = [url for url in visit.asked if not url.startswith((home, "data:", "blob:"))]
    assert outside == []
    assert visit.told == []
    context.close()
