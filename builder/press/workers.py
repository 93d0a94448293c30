"""Parts laid out in several processes at once.

This process lays out parts itself; where there is enough to do, more processes help it. Each is
a Python of its own that is told over a pipe what to do (`serve`), and ends when the pipe ends, so
that none is left behind, however this process goes. Only our own processes read the pickles. Where
the setting has bounds (`builder.press.bounds`), those processes do all of it, and also where somebody
who has other things to do lends `Helpers`: this process then only waits for them, in a thread.
"""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import IO, Any, TypeAlias

from builder.faults import Fault, Faults
from builder.press.bounds import Bounds
from builder.press.joined_fonts import subset
from builder.press.weasy import (
    Layout, Made, PressFailed, PressMissing, Setting, Sheaf, Spot, pango_version,
)  # fmt: skip

# Characters of HTML that are worth another process: it takes as long to start as to lay these out
# (measured: about 0.9 s and 60,000 a second).
_WORTH = 60_000
_LAST_SECONDS = 5  # for a process that ends to be gone


@dataclass(frozen=True, slots=True)
class Done:
    """A part that was laid out, and what was told meanwhile or when the style sheets were read."""

    made: Made
    told: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Measured:
    """Where a document's anchors stand, and what was told meanwhile."""

    spots: Mapping[str, Spot]
    told: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Glyphs:
    """What is wanted of a font's file."""

    file: bytes
    numbers: tuple[int, ...]


_Asked: TypeAlias = Sheaf | str | Glyphs  # to be laid out; a document to be measured; to be cut down
_Answer: TypeAlias = Done | Measured | bytes


class Helpers:
    """Processes that get ready before it is known what there is to lay out. Use it as a context: when
    it ends they do, under the hands of a thread that still waits for one, too. `at_work` is set when
    there is something for them to do, or nothing at all."""

    def __init__(self) -> None:
        self.at_work = threading.Event()
        self._lock = threading.Lock()
        self._first: _Helper | None = None
        self._waiting: list[_Helper] = []
        self._taken: list[_Helper] = []
        self._over = False

    def __enter__(self) -> Helpers:
        return self

    def __exit__(self, *_: object) -> None:
        with self._lock:
            self._over = True
        for helper in (*self._waiting, *self._taken):
            helper.end()

    def prepare(self) -> None:
        """Starts the first; it loads what takes long to load."""
        self._first = _Helper()
        self._waiting.append(self._first)

    def check(self) -> None:
        """Waits until the first is ready, whoever has taken it. Raises PressMissing."""
        if self._first:
            with suppress(*_ENDED):  # whoever gives it something to lay out hears of it
                self._first.pango_version()

    def take(self) -> _Helper:
        """One for a `Workers`. Raises PressFailed when they have ended."""
        with self._lock:
            self.go_on()
            helper = self._waiting.pop() if self._waiting else _Helper()
            self._taken.append(helper)
            return helper

    def go_on(self) -> None:
        """Raises PressFailed when they have ended."""
        if self._over:
            raise PressFailed("it was stopped")


class Workers:
    """Processes that lay out parts with one setting. Use it as a context."""

    def __init__(self, setting: Setting, most: int | None = None,
                 lent: Helpers | None = None) -> None:  # fmt: skip
        """`most` is the greatest number of processes, this one too; as many as the computer has
        processors where it is None. Where `lent` ones are given they do all of it."""
        self._setting = setting
        self._most = most or _processors()
        self._away = lent is not None or setting.bounds is not None
        self._source = lent or Helpers()
        self._bench: _Bench | None = None
        self._helpers: list[_Helper] = []

    def __enter__(self) -> Workers:
        return self

    def __exit__(self, *_: object) -> None:
        for helper in self._helpers:
            helper.end()

    def pango_version(self) -> int:
        """Of the library that shapes text. Raises PressMissing, PressFailed."""
        if self._away:
            with suppress(*_ENDED):
                return self._help(1)[0].pango_version()
        return pango_version()

    def lay_out(self, sheaves: Sequence[Sheaf]) -> list[Done]:
        """Lays out all. Raises PressMissing, PressFailed."""
        done: dict[int, Done] = {}
        # The largest first, so that no process is left with a large one at the end.
        waiting = deque(sorted(range(len(sheaves)), key=lambda at: -len(sheaves[at].html)))
        size = sum(len(sheaf.html) for sheaf in sheaves)
        wanted = min(self._most, len(sheaves), 1 + size // (2 * _WORTH))
        helpers = self._help(wanted if self._away else wanted - 1)
        threads = [
            threading.Thread(target=helper.work, args=(waiting, sheaves, done), daemon=True)
            for helper in helpers
        ]
        for thread in threads:
            thread.start()
        self._source.at_work.set()
        if not self._away:
            self._work(waiting, sheaves, done)
        for thread in threads:
            thread.join()
        for failure in (helper.failure for helper in helpers if helper.failure):
            raise PressFailed(failure)
        self._source.go_on()
        self._work(waiting, sheaves, done)  # what a helper that died has left
        return [done[at] for at in range(len(sheaves))]

    def measure(self, html: str) -> Measured:
        """Where the anchors of a document stand. Raises PressMissing, PressFailed."""
        answer = self._asked(html)
        if isinstance(answer, Measured):
            return answer
        self._bench = self._bench or _Bench(self._setting)
        return self._bench.measure(html)

    def subset(self, wanted: Glyphs) -> bytes:
        """The font's file with those glyphs alone. Raises PressFailed."""
        answer = self._asked(wanted)
        return answer if isinstance(answer, bytes) else subset(wanted.file, wanted.numbers)

    def _asked(self, asked: _Asked) -> _Answer | None:
        """A helper's answer; None where this process is to do it itself. Raises PressFailed."""
        if not self._away:
            return None
        helper, = self._help(1)
        answer = helper.ask(asked)
        if helper.failure:
            raise PressFailed(helper.failure)
        self._source.go_on()
        return answer

    def _help(self, count: int) -> list[_Helper]:
        while len(self._helpers) < count:
            helper = self._source.take()
            self._helpers.append(helper)
            helper.begin(self._setting)
        return self._helpers[: max(count, 0)]

    def _work(self, waiting: deque[int], sheaves: Sequence[Sheaf], done: dict[int, Done]) -> None:
        while waiting:
            with suppress(IndexError):
                at = waiting.popleft()
                self._bench = self._bench or _Bench(self._setting)
                done[at] = self._bench.lay_out(sheaves[at])


class _Bench:
    """Where one process lays out parts."""

    def __init__(self, setting: Setting) -> None:
        self._faults = Faults()
        self._layout = Layout(setting, self._faults)
        self._at_first = self._faults.sorted()

    def lay_out(self, sheaf: Sheaf) -> Done:
        self._faults.forget()
        made = self._layout.lay_out(sheaf)
        return Done(made, (*self._at_first, *self._faults.sorted()))

    def measure(self, html: str) -> Measured:
        self._faults.forget()
        spots = self._layout.measure(html)
        return Measured(spots, (*self._at_first, *self._faults.sorted()))


# --- other processes ------------------------------------------------------------------------------

# What asking a process that is gone raises, the last of them where its pipes are closed already.
_ENDED = (OSError, EOFError, pickle.UnpicklingError, ValueError)
_START = "import sys; sys.path[:] = {path!r}; from builder.press.workers import serve; serve()"


class _Helper:
    """Another process, seen from this one. `failure` tells why it gave something up; it is empty where
    one without bounds has died."""

    def __init__(self) -> None:
        self.failure = ""
        self._bounds: Bounds | None = None
        self._greeting: int | str | None = None
        self._asking = threading.Lock()
        self._process = subprocess.Popen(
            [sys.executable, "-c", _START.format(path=sys.path)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        assert self._process.stdin and self._process.stdout
        self._to: IO[bytes] = self._process.stdin
        self._from: IO[bytes] = self._process.stdout

    def begin(self, setting: Setting) -> None:
        """What it is to lay out with; once."""
        self._bounds = setting.bounds
        with suppress(OSError):
            self._say(setting)

    def pango_version(self) -> int:
        """Of its library that shapes text. Raises PressMissing, and one of `_ENDED`."""
        if self._greeting is None:
            with self._asking:  # one thread hears it, and no thread waits for another's answer
                self._greeting = pickle.load(self._from) if self._greeting is None else self._greeting
        if isinstance(self._greeting, int):
            return self._greeting
        raise PressMissing(self._greeting)

    def work(self, waiting: deque[int], sheaves: Sequence[Sheaf], done: dict[int, Done]) -> None:
        """Takes what is waiting until nothing is, or until the process has died."""
        while True:
            try:
                at = waiting.popleft()
            except IndexError:
                return
            answer = self.ask(sheaves[at])
            if isinstance(answer, Done):
                done[at] = answer
                continue
            if self.failure:
                waiting.clear()  # nothing comes of it any more
            else:
                waiting.append(at)  # it is told when the first process comes to it
            return

    def ask(self, asked: _Asked) -> _Answer | None:
        """None where there is no answer."""
        try:
            self.pango_version()
            with self._asking:
                self._say(asked)
                answer = pickle.load(self._from)
        except PressMissing as error:
            answer = str(error)
        except _ENDED:
            answer = self.why_it_ended(_html(asked))
        if isinstance(answer, str):
            self.failure = answer
            return None
        found: _Answer = answer
        return found

    def why_it_ended(self, html: str = "") -> str:
        """Over which document; empty without bounds."""
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(_LAST_SECONDS)
        return self._bounds.end_words(self._process.returncode, html) if self._bounds else ""

    def end(self) -> None:
        self._process.kill()
        self._process.wait()
        with self._asking:  # whoever still waits for an answer gets none now
            for pipe in (self._to, self._from):
                with suppress(OSError):
                    pipe.close()

    def _say(self, message: Any) -> None:
        pickle.dump(message, self._to)
        self._to.flush()


def serve() -> None:
    """The other process: tells its library's version, or why it has none; then it reads a setting and
    parts, and answers each until there is no more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process tells when to stop
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints is no answer
    questions = sys.stdin.buffer
    with suppress(EOFError, OSError):
        pickle.dump(_greeting(), answers)
        answers.flush()
        setting = pickle.load(questions)
        bench: _Bench | None = None
        if setting.bounds:
            setting.bounds.bound_memory()
        else:
            with suppress(PressFailed, PressMissing):  # whoever asks for something is told
                bench = _Bench(setting)
        while True:
            asked = pickle.load(questions)
            if setting.bounds:
                setting.bounds.bound_time(_html(asked))
            try:
                if isinstance(asked, Glyphs):
                    answer: _Answer | str = _cut_down(asked)
                else:
                    bench = bench or _Bench(setting)
                    answer = bench.measure(asked) if isinstance(asked, str) else bench.lay_out(asked)
            except (PressFailed, PressMissing) as error:
                answer = str(error)
            except MemoryError:
                if setting.bounds is None:
                    raise
                answer = setting.bounds.memory_words
            pickle.dump(answer, answers)
            answers.flush()


def _greeting() -> int | str:
    try:
        return pango_version()
    except PressMissing as error:
        return str(error)


def _cut_down(wanted: Glyphs) -> bytes:
    """A font of somebody else's may hold anything. Raises PressFailed."""
    try:
        return subset(wanted.file, wanted.numbers)
    except MemoryError:
        raise
    except Exception as error:
        raise PressFailed(f"a font that it brings along is broken: {error}") from error


def _html(asked: _Asked) -> str:
    """What an asked thing takes is counted by its letters; a font has none."""
    return asked if isinstance(asked, str) else asked.html if isinstance(asked, Sheaf) else ""


def _processors() -> int:
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1
