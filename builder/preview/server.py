"""The preview's HTTP server.

It answers only on 127.0.0.1 and only to requests for that host, so that neither the network nor
another site that a browser has open (by DNS rebinding) can read an author's draft. It serves the
files of the built site by their exact names and nothing else.
"""

from __future__ import annotations

import shutil
import threading
from dataclasses import dataclass
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote, urlsplit
from uuid import uuid4

from builder import names
from builder.faults import Fault
from builder.preview import pages

HOST = "127.0.0.1"
_TYPES = {
    ".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8", ".png": "image/png", ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg", ".gif": "image/gif", ".webp": "image/webp", ".svg": "image/svg+xml",
    ".woff2": "font/woff2", ".ttf": "font/ttf",
}  # fmt: skip
# For what an author's picture might try when it is opened by itself.
_STRICT = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
_HEARTBEAT = 15.0  # seconds between signs of life to a waiting page


@dataclass(frozen=True, slots=True)
class Shown:
    """What the server shows: a folder of files, or (None) the faults that prevent it."""

    version: str
    folder: Path | None
    files: frozenset[str]
    faults: tuple[Fault, ...]
    trouble: str = ""

    @staticmethod
    def of(folder: Path | None, faults: tuple[Fault, ...], trouble: str = "") -> Shown:
        files = frozenset(
            path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()
        ) if folder else frozenset()  # fmt: skip
        return Shown(uuid4().hex, folder, files, faults, trouble)


class ShownNow:
    """The version that is shown now; pages wait here for the next one."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._now: Shown | None = None
        self._before: Shown | None = None
        self.closed = False

    def show(self, shown: Shown) -> None:
        """Shows a new version. The files of the last but one are removed: nobody reads them."""
        with self._changed:
            outdated, self._before, self._now = self._before, self._now, shown
            self._changed.notify_all()
        if outdated is not None and outdated.folder is not None:
            shutil.rmtree(outdated.folder, ignore_errors=True)

    def now(self) -> Shown:
        """What is shown; waits for the first build."""
        with self._changed:
            self._changed.wait_for(lambda: self._now is not None or self.closed)
            return self._now or Shown.of(None, ())

    def wait(self, version: str) -> str:
        """The version that is shown once it isn't `version` any more, or after a while."""
        with self._changed:
            self._changed.wait_for(
                lambda: self.closed or (self._now is not None and self._now.version != version),
                timeout=_HEARTBEAT,
            )
            return self._now.version if self._now else version

    def close(self) -> None:
        with self._changed:
            self.closed = True
            self._changed.notify_all()


class PreviewServer(ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self, port: int) -> None:
        super().__init__((HOST, port), _Handler)
        self.shown = ShownNow()

    @property
    def address(self) -> str:
        return f"http://{HOST}:{self.server_port}/"

    def handle_error(self, request: object, client_address: object) -> None:
        pass  # a browser that hung up


class _Handler(BaseHTTPRequestHandler):
    server: PreviewServer
    server_version = "plyleaf"
    sys_version = ""

    def do_GET(self) -> None:
        port = self.server.server_port
        if self.headers.get("Host", "") not in (f"{HOST}:{port}", f"localhost:{port}"):
            self.send_error(HTTPStatus.FORBIDDEN, "This server is for this computer only")
            return
        name = unquote(urlsplit(self.path).path).removeprefix("/") or names.CONTENTS_PAGE
        if name == pages.EVENTS:
            self._events()
        elif name == pages.FOLLOW:
            self._send(pages.FOLLOW_SCRIPT.encode(), ".js")
        else:
            self._file(name, self.server.shown.now())

    do_HEAD = do_GET

    def _file(self, name: str, shown: Shown) -> None:
        suffix = Path(name).suffix
        if shown.folder is None:
            if suffix in ("", ".html"):
                page = pages.fault_page(shown.faults, shown.trouble, shown.version)
                self._send(page.encode(), ".html")
            else:
                self.send_error(HTTPStatus.NOT_FOUND)
        elif name in shown.files:
            body = (shown.folder / name).read_bytes()
            if suffix == ".html":
                body = pages.following(body.decode(), shown.version).encode()
            self._send(body, suffix)
        else:
            self.send_error(HTTPStatus.NOT_FOUND)

    def _send(self, body: bytes, suffix: str) -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", _TYPES.get(suffix, "application/octet-stream"))
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Cross-Origin-Resource-Policy", "same-origin")
        if suffix != ".html":
            self.send_header("Content-Security-Policy", _STRICT)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def _events(self) -> None:
        """Server-sent events (HTML standard, section 9.2): the version, and each new one."""
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        version = ""
        while self.command != "HEAD" and not self.server.shown.closed:
            latest = self.server.shown.wait(version)
            self.wfile.write(f"data: {latest}\n\n".encode() if latest != version else b":\n\n")
            version = latest

    def log_message(self, format: str, *arguments: object) -> None:
        pass  # the author's terminal is for faults
