"""What a command says: plain where nobody looks on; colour and a progress line on a terminal.

Colour is for terminals only and never where NO_COLOR is set (no-color.org). The progress line
shows up on the error stream, when that is a terminal and the work has taken a second.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Mapping
from types import TracebackType
from typing import Literal, TextIO, TypeAlias

Style: TypeAlias = Literal["error", "warning", "notice", "good", "strong", "quiet"]

# SGR parameters of ECMA-48; on terminals in either brightness these can be read.
_CODES: Mapping[Style, str] = {
    "error": "1;31", "warning": "1;33", "notice": "1;36", "good": "1;32", "strong": "1",
    "quiet": "2",
}  # fmt: skip
PATIENCE = 1.0  # seconds of silence before there is a progress line
_BEAT = 0.1  # seconds


class Terminal:
    """Two streams. A reader who goes away (`plyleaf check | head`) stops no work."""

    def __init__(self, out: TextIO, err: TextIO, environ: Mapping[str, str] = os.environ) -> None:
        self._out = out
        self._err = err
        self._gone: set[int] = set()
        dumb = bool(environ.get("NO_COLOR")) or environ.get("TERM") == "dumb"
        self.colour = out.isatty() and not dumb
        self.progress_wanted = err.isatty() and environ.get("TERM") != "dumb"

    def say(self, text: str) -> None:
        """A line of what was asked for."""
        self._write(self._out, text + "\n")

    def tell(self, text: str) -> None:
        """A line beside it: what went wrong with the command itself."""
        self._write(self._err, text + "\n")

    def raw(self, text: str) -> None:
        """Text for the error stream as it is, at once."""
        self._write(self._err, text)

    def paint(self, text: str, style: Style) -> str:
        return f"\x1b[{_CODES[style]}m{text}\x1b[0m" if self.colour else text

    def _write(self, stream: TextIO, text: str) -> None:
        if id(stream) in self._gone:
            return
        try:
            try:
                stream.write(text)
            except UnicodeEncodeError:
                encoding = stream.encoding or "ascii"
                stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
            stream.flush()
        except BrokenPipeError:
            self._gone.add(id(stream))
            _forget(stream)


def _forget(stream: TextIO) -> None:
    """Leads a stream with no reader to nowhere, so that Python's exit doesn't stumble on it."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    except (OSError, ValueError):
        pass  # not a file at all


class Progress:
    """The stages of some work on one line, as `[####....] setting the pages`.

    Use it as a context; call it at the start of each stage with the stage's words and its share:
    how much of the work is behind, from 0 to 1.
    """

    def __init__(self, terminal: Terminal, clock: Callable[[], float] = time.monotonic) -> None:
        self._terminal = terminal
        self._clock = clock
        self._words = ""
        self._done = 0.0
        self._shown = ""
        self._ended = threading.Event()
        self._thread: threading.Thread | None = None

    def __call__(self, words: str, done: float) -> None:
        self._words, self._done = words, done

    def __enter__(self) -> Progress:
        if self._terminal.progress_wanted:
            self._thread = threading.Thread(target=self._beat, daemon=True)
            self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:  # fmt: skip
        self._ended.set()
        if self._thread is not None:
            self._thread.join()
        if self._shown:
            self._terminal.raw("\r\x1b[K")

    def _beat(self) -> None:
        start = self._clock()
        while not self._ended.wait(_BEAT):
            line = bar(self._words, self._done)
            if self._clock() - start >= PATIENCE and line != self._shown:
                self._terminal.raw(f"\r{line}\x1b[K")
                self._shown = line


def bar(words: str, done: float, width: int = 20) -> str:
    """The progress line itself; `done` from 0 to 1."""
    full = round(width * min(1.0, max(0.0, done)))
    return f"[{'#' * full}{'.' * (width - full)}] {words}"
