"""Colour and the progress line: on terminals only, and only where they are welcome."""

from __future__ import annotations

import io
import threading

import pytest

from builder import terminal as room
from builder.terminal import Progress, Terminal, bar


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


COLOUR = {
    "a terminal": (Screen(), {}, True),
    "a file": (io.StringIO(), {}, False),
    "NO_COLOR": (Screen(), {"NO_COLOR": "1"}, False),
    "NO_COLOR, empty, does not count (no-color.org)": (Screen(), {"NO_COLOR": ""}, True),
    "a dumb terminal": (Screen(), {"TERM": "dumb"}, False),
}


@pytest.mark.parametrize("out, environ, colour", COLOUR.values(), ids=COLOUR)
def test_colour(out, environ, colour):
    terminal = Terminal(out, io.StringIO(), environ)
    assert terminal.paint("x", "error") == ("\x1b[1;31mx\x1b[0m" if colour else "x")


@pytest.mark.parametrize(
    "done, line",
    {0.0: "[....] x", 0.5: "[##..] x", 1.0: "[####] x", 7.0: "[####] x", -1.0: "[....] x"}.items(),
)
def test_bar(done, line):
    assert bar("x", done, width=4) == line


class Clock:
    """A clock that a test sets; `seen` tells when the progress line has looked at it often."""

    def __init__(self) -> None:
        self.now = 0.0
        self.looks = 0
        self.seen = threading.Event()

    def __call__(self) -> float:
        self.looks += 1
        if self.looks > 4:
            self.seen.set()
        return self.now

    def set(self, now: float) -> None:
        self.now = now
        self.looks = 0
        self.seen.clear()
        assert self.seen.wait(30)


def test_progress_waits_a_second_and_leaves_nothing(monkeypatch):
    monkeypatch.setattr(room, "_BEAT", 0.001)
    err, clock = Screen(), Clock()
    with Progress(Terminal(io.StringIO(), err, {}), clock) as progress:
        progress("reading", 0.0)
        clock.set(0.9)
        assert err.getvalue() == ""
        progress("setting the pages", 0.5)
        clock.set(1.1)
        assert err.getvalue() == "\r[##########..........] setting the pages\x1b[K"
    assert err.getvalue().endswith("\r\x1b[K")


@pytest.mark.parametrize("err", [io.StringIO(), Screen()], ids=["a file", "quick work"])
def test_no_progress(err):
    with Progress(Terminal(io.StringIO(), err, {})) as progress:
        progress("reading", 0.0)
    assert err.getvalue() == ""


def test_a_closed_pipe_is_forgotten():
    class Pipe(io.StringIO):
        writes = 0

        def write(self, text: str) -> int:
            self.writes += 1
            raise BrokenPipeError

    out = Pipe()
    terminal = Terminal(out, io.StringIO(), {})
    terminal.say("one")
    terminal.say("two")
    assert out.writes == 1
