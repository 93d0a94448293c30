"""Asks the engine what isn't kept yet, and keeps each answer at once.

In: the booklet's files, the author's command, questions. Out: a lookup.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from builder.proof.engine import Engine, Limits
from builder.proof.engine_answers import Answer, Progress, Question
from builder.proof.engine_kept import store_fault
from builder.proof.store import Store, StoreFault
from builder.source.files import BookletFiles


@dataclass(slots=True)
class Tally:
    """What a run did: answers that were there, and that the engine gave now."""

    kept: int = 0
    asked: int = 0


class Clock:
    """How many of the positions are behind, and how long the rest will take."""

    def __init__(self, total: int, now: Callable[[], float] = time.monotonic) -> None:
        self._total = total
        self._now = now
        self._started = now()

    def words(self, done: int) -> str:
        """`12 of 80 positions`, and once it can be told `…, 3 min left`."""
        words = f"{done} of {self._total} position{'' if self._total == 1 else 's'}"
        if done < 3:
            return words
        left = (self._now() - self._started) / done * (self._total - done)
        return f"{words}, {duration(left)} left"


def duration(seconds: float) -> str:
    """`40 s`, `3 min`, `2 h 10 min`: as exact as a guess should sound."""
    if seconds < 55:
        return f"{max(5, 5 * round(seconds / 5))} s"
    minutes = max(1, round(seconds / 60))
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60 // 10 * 10} min"


class Asking:
    """A running engine beside the kept answers. Use it as a context.

    Every method may raise EngineFault; what has been kept until then is kept.
    """

    def __init__(self, files: BookletFiles, command: str, limits: Limits) -> None:
        self._limits = limits
        self._store = _open(files, writing=True)
        try:
            self._engine = Engine(command, files.folder, limits)
        except BaseException:
            self._store.__exit__()
            raise
        self.name = self._engine.name
        self.tally = Tally()
        self._answers: dict[Question, Answer] = {}
        try:
            with _engine_faults():
                self._key = self._store.engine(command, self.name, self._engine.options)
        except BaseException:
            self.__exit__()
            raise

    def __enter__(self) -> Asking:
        return self

    def __exit__(self, *_: object) -> None:
        try:
            self._engine.close()
        finally:
            self._store.__exit__()

    def lookup(self, question: Question) -> Answer | None:
        """The answer kept in this run's terms (this engine, these nodes)."""
        if question not in self._answers:
            with _engine_faults():
                kept = self._store.answer(self._key, self._limits.nodes, question)
            if kept is None:
                return None
            self.tally.kept += 1
            self._answers[question] = kept
        return self._answers[question]

    def answered(self, question: Question) -> Answer | None:
        """What `lookup` has given or the engine has said so far; never fails."""
        return self._answers.get(question)

    def ask(self, questions: Iterable[Question], progress: Progress) -> None:
        """Asks those of the questions that no answer is kept for."""
        waiting = [one for one in dict.fromkeys(questions) if self.lookup(one) is None]
        clock = Clock(len(waiting))
        for done, question in enumerate(waiting):
            progress(f"asking {self.name}: {clock.words(done)}", done / len(waiting))
            answer = self._engine.answer(question)
            with _engine_faults():
                self._store.keep(self._key, self._limits.nodes, question, answer)
            self._answers[question] = answer
            self.tally.asked += 1


@contextmanager
def _engine_faults() -> Iterator[None]:
    """Makes what goes wrong with the kept answers an EngineFault."""
    try:
        yield
    except StoreFault as fault:
        raise store_fault(fault) from None


def _open(files: BookletFiles, writing: bool) -> Store:
    with _engine_faults():
        store = Store.open(files, writing)
    assert store is not None
    return store
