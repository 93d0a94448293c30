"""The preview: what is served and to whom, and that open pages hear of changes."""

from __future__ import annotations

import http.client
import io
import os
import threading
from contextlib import contextmanager

import pytest
from tiny import line_of, write_booklet

from builder import preview
from builder.preview.pages import fault_page, following
from builder.preview.server import PreviewServer
from builder.preview.watch import snapshot
from builder.terminal import Terminal
from builder.write.stage import MANIFEST

GOOD = line_of("1. e4 e5 @open (D)")
BAD = line_of('1. e4 e5 2. Nf4 {<script>alert("x")</script>}')
DRAFT = '+++\ntitle = "A draft"\ndraft = true\n+++\n' + line_of("1. d4")


class Browser:
    """Requests to a preview of a tiny booklet."""

    def __init__(self, folder, server: PreviewServer) -> None:
        self.folder, self.server = folder, server
        self.said = io.StringIO()
        self.builds = 0

    def build(self, *chapters: str) -> None:
        write_booklet(self.folder / "book", *chapters)
        self.builds += 1
        terminal = Terminal(self.said, io.StringIO(), {})
        target = self.folder / f"built-{self.builds}"
        self.server.shown.show(preview.build_once(self.folder / "book", target, terminal))

    def ask(self, path: str, method: str = "GET", host: str | None = "127.0.0.1:{port}"):
        """Status, headers and body of the answer."""
        connection = http.client.HTTPConnection("127.0.0.1", self.server.server_port, timeout=30)
        connection.putrequest(method, path, skip_host=True)
        if host is not None:
            connection.putheader("Host", host.format(port=self.server.server_port))
        connection.endheaders()
        answer = connection.getresponse()
        body = answer.read().decode("utf-8", "replace")
        connection.close()
        return answer.status, answer.headers, body


@contextmanager
def open_browser(folder):
    server = preview.open_server(0)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield Browser(folder, server)
    server.shown.close()
    server.shutdown()
    server.server_close()


@pytest.fixture
def browser(tmp_path):
    with open_browser(tmp_path) as browser:
        yield browser


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    """A good booklet, built once for the tests that only read it."""
    with open_browser(tmp_path_factory.mktemp("good")) as browser:
        browser.build(GOOD)
        yield browser


def test_only_this_computer_can_connect(browser):
    assert browser.server.server_address[0] == "127.0.0.1"


HOSTS = {
    "127.0.0.1:{port}": 200,
    "localhost:{port}": 200,
    "127.0.0.1": 403,
    "localhost": 403,
    "example.org": 403,
    "example.org:{port}": 403,
    "127.0.0.1.example.org:{port}": 403,
    None: 403,
}


@pytest.mark.parametrize("host, status", HOSTS.items(), ids=map(str, HOSTS))
def test_dns_rebinding(good, host, status):
    """A page that has its own name point to 127.0.0.1 sends its own name as the host."""
    for path in ("/", "/1.html", "/-/events" if status != 200 else "/-/follow.js"):
        assert good.ask(path, host=host)[0] == status


PATHS = {
    "/": 200,
    "/index.html": 200,
    "/1.html": 200,
    "/1.html?a=b": 200,
    "/assets/booklet.css": 200,
    "/%31.html": 200,
    "//1.html": 200,  # the same, for the HTTP library
    "/assets": 404,
    "/assets/": 404,
    "/nothing.html": 404,
    "/../book/booklet.toml": 404,
    "/%2e%2e/book/booklet.toml": 404,
    "/..%2fbook%2fbooklet.toml": 404,
    "/assets/../1.html": 404,
    "/./1.html": 404,
    "/etc/passwd": 404,
    "//etc/passwd": 404,
    "/1.html%00": 404,
    "/..\\book\\booklet.toml": 404,
}


@pytest.mark.parametrize("path, status", PATHS.items())
def test_only_built_files_are_served(good, path, status):
    got, headers, body = good.ask(path)
    assert got == status
    assert "title =" not in body and "root:" not in body
    assert "Directory" not in body


METHODS = {"HEAD": 200, "POST": 501, "PUT": 501, "DELETE": 501}


@pytest.mark.parametrize("method, status", METHODS.items())
def test_methods(good, method, status):
    got, _, body = good.ask("/1.html", method)
    assert got == status
    assert body == "" or status != 200


def test_headers(good):
    for path in ("/1.html", "/assets/booklet.css"):
        _, headers, _ = good.ask(path)
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Cache-Control"] == "no-store"
        assert "Access-Control-Allow-Origin" not in headers
    assert headers["Content-Type"] == "text/css; charset=utf-8"


def test_the_script_is_served_and_not_built(good):
    _, _, page = good.ask("/1.html")
    built = (good.folder / "built-1" / "1.html").read_text()
    assert '<script src="/-/follow.js"' in page
    assert "follow.js" not in built
    # The page's own policy lets our scripts run, and here this one ask the server.
    assert "default-src 'none'; connect-src 'self'; script-src 'self';" in page
    assert "connect-src" not in built
    assert "EventSource" in good.ask("/-/follow.js")[2]


def test_drafts_are_shown(browser):
    browser.build(GOOD, DRAFT)
    assert "A draft" in browser.ask("/")[2]


def test_faults_are_shown_in_the_page(browser):
    browser.build(BAD)
    for path in ("/", "/1.html", "/anything.html"):
        status, _, page = browser.ask(path)
        assert status == 200
        assert "chapters/1.md:2:13: error: Nf4 is not legal after 1...e5" in page
        assert "^^^" in page and "<script>alert" not in page
        assert "&lt;script&gt;" in page
        assert '<script src="/-/follow.js"' in page
    assert browser.ask("/assets/booklet.css")[0] == 404
    assert "Nf4 is not legal" in browser.said.getvalue()


def test_good_again(browser):
    browser.build(BAD)
    browser.build(GOOD)
    browser.build(GOOD)
    assert "error" not in browser.ask("/1.html")[2]
    # Older builds don't pile up.
    assert not (browser.folder / "built-1" / "1.html").exists()
    assert (browser.folder / "built-2" / "1.html").exists()


def test_an_internal_fault_does_not_end_it(browser, monkeypatch):
    def broken(*arguments):
        raise ZeroDivisionError("a slip")

    monkeypatch.setattr(preview.pipeline, "preview", broken)
    browser.build(GOOD)
    assert "internal fault (ZeroDivisionError: a slip)" in browser.ask("/")[2]


def test_open_pages_hear_of_changes(browser):
    browser.build(GOOD)
    connection = http.client.HTTPConnection("127.0.0.1", browser.server.server_port, timeout=30)
    connection.request("GET", "/-/events")
    events = connection.getresponse()
    assert events.headers["Content-Type"] == "text/event-stream"
    first = events.readline()
    assert first.startswith(b"data: ") and events.readline() == b"\n"
    version = first.removeprefix(b"data: ").decode().strip()
    assert f'data-version="{version}"' in browser.ask("/1.html")[2]
    browser.build(BAD)
    second = events.readline()
    assert second.startswith(b"data: ") and second != first
    connection.close()


# --- what counts as a change ----------------------------------------------------------------------


def test_snapshot(tmp_path):
    folder = write_booklet(tmp_path, GOOD)
    before = snapshot(folder)
    assert snapshot(folder) == before

    chapter = folder / "chapters" / "1.md"
    os.utime(chapter, ns=(1, 1))
    changed = snapshot(folder)
    assert changed != before

    # Outputs, hidden files and what a link leads to are nobody's change.
    (folder / "site").mkdir()
    (folder / "site" / MANIFEST).write_text("")
    (folder / "site" / "index.html").write_text("x")
    (folder / ".1.md.swp").write_text("x")
    (folder / "round").symlink_to(folder)
    assert {entry for entry in snapshot(folder) if "round" not in entry[0]} == changed

    (folder / "theme").mkdir()
    (folder / "theme" / "style.css").write_text("x")
    assert snapshot(folder) != changed
    chapter.unlink()
    assert len(snapshot(folder)) == len(changed) + 1


def test_a_folder_that_is_gone(tmp_path):
    assert snapshot(tmp_path / "nowhere") == frozenset()


SCRIPT = '<script src="/-/follow.js" data-version="v"></script>'


@pytest.mark.parametrize(
    "page, expected",
    {"<body>x</body></html>": f"<body>x{SCRIPT}\n</body></html>", "x": f"x{SCRIPT}"}.items(),
)
def test_following(page, expected):
    assert following(page, "v") == expected


def test_a_page_for_no_fault_at_all():
    assert "The booklet can't be shown" in fault_page((), "why", "v")


def test_the_whole_loop(tmp_path, monkeypatch):
    """`preview.run` builds, sees a change, builds again, and ends with Ctrl-C."""
    folder = write_booklet(tmp_path / "book", GOOD)
    server = preview.open_server(0)
    said = io.StringIO()
    sleeps = []

    def sleep(seconds):
        sleeps.append(seconds)
        if len(sleeps) == 1:
            write_booklet(folder, BAD)
        elif len(sleeps) > 4:
            raise KeyboardInterrupt

    monkeypatch.setattr(preview, "sleep", sleep)
    preview.run(folder, server, Terminal(said, io.StringIO(), {}))
    assert said.getvalue().startswith(f"http://127.0.0.1:{server.server_port}/")
    assert "built in" in said.getvalue() and "Nf4 is not legal" in said.getvalue()
