"""The booklet in a browser: served to this computer alone, built again at every change."""

from __future__ import annotations

import threading
from pathlib import Path
from tempfile import TemporaryDirectory
from time import monotonic, sleep

from builder import pipeline
from builder.faults import Faults
from builder.preview.server import PreviewServer, Shown
from builder.preview.watch import snapshot
from builder.terminal import Terminal

POLL = 0.25  # seconds


def open_server(port: int) -> PreviewServer:
    """A server on 127.0.0.1, not serving yet; port 0 takes any. Raises OSError."""
    return PreviewServer(port)


def run(folder: Path, server: PreviewServer, terminal: Terminal) -> None:
    """Serves until Ctrl-C."""
    threading.Thread(target=server.serve_forever, daemon=True).start()
    terminal.say(f"{terminal.paint(server.address, 'strong')}   Ctrl-C ends it")
    try:
        with TemporaryDirectory(prefix="plyleaf-preview-") as temporary:
            _follow(folder, Path(temporary), server, terminal)
    except KeyboardInterrupt:
        terminal.say("")
    finally:
        server.shown.close()
        server.shutdown()
        server.server_close()


def _follow(folder: Path, temporary: Path, server: PreviewServer, terminal: Terminal) -> None:
    """Builds now and after every change; a change is over when a poll finds no further one."""
    built = None
    number = 0
    while True:
        now = snapshot(folder)
        if now != built:
            number += 1
            built = now
            server.shown.show(build_once(folder, temporary / str(number), terminal))
        sleep(POLL)
        while (later := snapshot(folder)) != now:
            now = later
            sleep(POLL)


def build_once(folder: Path, target: Path, terminal: Terminal) -> Shown:
    """The site in `target`, and what is wrong with the booklet."""
    faults = Faults()
    started = monotonic()
    target.mkdir()
    trouble = ""
    try:
        whole = pipeline.preview(folder, target, faults)
    except Exception as error:  # the preview goes on; the command `check` tells more
        whole = False
        trouble = f"internal fault ({type(error).__name__}: {error}); please report it"
        terminal.tell(f"plyleaf: {trouble}")
    for fault in faults.sorted():
        terminal.say(fault.as_text())
    if whole:
        good = terminal.paint("built", "good")
        terminal.say(f"{good} in {monotonic() - started:.1f} s")
    return Shown.of(target if whole else None, faults.sorted(), trouble)
