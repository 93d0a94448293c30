"""One Chromium for all tests of the pages, and the sites that they visit."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

pytest.register_assert_rewrite("browser.pages")

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def browser(program):
    """A browser for one module: while the driver runs, no other event loop can in this process,
    and the tests of the engine need one."""
    sync_api = pytest.importorskip("playwright.sync_api") if not os.environ.get("CI") else None
    if sync_api is None:
        import playwright.sync_api as sync_api
    with sync_api.sync_playwright() as playwright:
        launched = playwright.chromium.launch(
            executable_path=program("chromium"),
            args=["--no-sandbox", "--disable-gpu", "--disable-quic"],
        )
        yield launched
        launched.close()


@pytest.fixture(scope="session")
def course(tmp_path_factory):
    """The project's own course."""
    from browser.pages import write

    return write(ROOT / "content", tmp_path_factory.mktemp("course") / "site")


@pytest.fixture(scope="session")
def small(tmp_path_factory):
    from browser.booklets import small_booklet
    from browser.pages import write

    root = tmp_path_factory.mktemp("small")
    return write(small_booklet(root / "booklet"), root / "site")
