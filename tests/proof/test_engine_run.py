"""Asking many questions: what has been answered is kept, whatever happens then."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from proof.engines import fake, random_questions

from builder.proof.engine import Limits
from builder.proof.engine_answers import EngineFault
from builder.proof.engine_run import Asking, Clock, duration
from builder.proof.store import Store
from builder.source.files import BookletFiles

QUICK = Limits(nodes=1_000, handshake=10.0, trial=5.0, base=3.0)
ROOT = Path(__file__).parents[2]


def asked(log: Path) -> list[str]:
    """The positions that the engine was asked about, in order."""
    text = log.read_text(encoding="utf-8") if log.exists() else ""
    return [line.split(" ", 1)[1] for line in text.splitlines()]


def run(folder: Path, command: str, questions, progress=lambda words, share: None) -> Asking:
    with Asking(BookletFiles.at(folder), command, QUICK) as asking:
        asking.ask(questions, progress)
    return asking


def kept(folder: Path) -> int:
    store = Store.open(BookletFiles.at(folder), writing=False)
    with store:
        return store.count()


@pytest.fixture
def quick_folder(tmp_path):
    """In memory where the machine has such a place: each answer is synced to the disk."""
    if not os.access("/dev/shm", os.W_OK):
        yield tmp_path
        return
    with TemporaryDirectory(dir="/dev/shm", prefix="plyleaf-test-") as folder:
        yield Path(folder)


def test_two_thousand_positions_and_a_run_that_is_killed(quick_folder):
    """The run after the kill asks none that was kept; the verdicts are those of one run."""
    tmp_path = quick_folder
    log, questions = tmp_path / "log", random_questions(2_000)
    command = fake("ok", "--log", log)
    code = (
        "import sys; sys.path[:0] = ['.', 'tests']\n"
        "from pathlib import Path\n"
        "from proof.engines import random_questions\n"
        "from proof.test_engine_run import run\n"
        f"run(Path({str(tmp_path)!r}), {command!r}, random_questions(2_000))\n"
    )
    first = subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stderr=subprocess.PIPE)
    deadline = time.monotonic() + 120
    while len(asked(log)) < 700 and first.poll() is None and time.monotonic() < deadline:
        time.sleep(0.05)
    first.kill()
    said = first.communicate()[1].decode()
    assert first.returncode == -signal.SIGKILL, said
    before, known = asked(log), kept(tmp_path)
    # All but the one that was being thought about, or whose answer had not been kept yet.
    assert 699 <= len(before) - 1 <= known <= len(before) < 2_000

    asking = run(tmp_path, command, questions)
    again = asked(log)[len(before) :]
    assert asking.tally.kept == known
    assert asking.tally.asked == len(again) == 2_000 - known
    assert not set(again) & set(before[:known])
    assert set(before) | set(again) == {question.epd for question in questions}
    assert kept(tmp_path) == 2_000

    third = run(tmp_path, command, questions)
    assert (third.tally.kept, third.tally.asked) == (2_000, 0)
    assert len(asked(log)) == len(before) + len(again)
    with Asking(BookletFiles.at(tmp_path), command, QUICK) as engine:
        fresh = {question: engine._engine.answer(question) for question in questions[::200]}
        assert all(engine.lookup(question) == answer for question, answer in fresh.items())


FAILING = {"die": "engine-died", "hang": "engine-hangs", "illegal": "engine-nonsense",
           "bad-score": "engine-nonsense", "false-mate": "engine-nonsense"}  # fmt: skip


@pytest.mark.parametrize("mode", FAILING)
def test_an_engine_that_fails_half_way_loses_nothing(mode, tmp_path):
    questions = random_questions(20)
    with pytest.raises(EngineFault) as caught:
        run(tmp_path, fake(mode, "--after", 12), questions)
    assert caught.value.code == FAILING[mode]
    assert kept(tmp_path) == 12
    asking = run(tmp_path, fake("ok"), questions)
    assert (asking.tally.kept, asking.tally.asked) == (12, 8)


def test_a_question_is_asked_once(tmp_path):
    log, questions = tmp_path / "log", random_questions(5)
    asking = run(tmp_path, fake("ok", "--log", log), questions * 3)
    assert asking.tally.asked == len(asked(log)) == 5


def test_another_engine_is_asked_anew(tmp_path):
    questions = random_questions(5)
    run(tmp_path, fake("ok"), questions)
    assert run(tmp_path, fake("ok", "--name", "Fake 2"), questions).tally.asked == 5
    assert run(tmp_path, fake("ok", "--name", "Fake 1"), questions).tally.asked == 0
    assert kept(tmp_path) == 10


def test_a_file_that_is_not_ours_stops_before_the_engine_starts(tmp_path):
    (tmp_path / ".plyleaf").mkdir()
    (tmp_path / ".plyleaf/engine.sqlite").write_text("a letter")
    with pytest.raises(EngineFault) as caught:
        run(tmp_path, fake("ok", "--log", tmp_path / "log"), random_questions(1))
    assert caught.value.code == "engine-file"
    assert caught.value.hint == "move it away, and the engine is asked again"
    assert (tmp_path / ".plyleaf/engine.sqlite").read_text() == "a letter"


def test_progress_tells_how_far_and_how_long(tmp_path):
    told: list[tuple[str, float]] = []
    run(tmp_path, fake("ok"), random_questions(8), lambda words, share: told.append((words, share)))
    assert [share for _, share in told] == [number / 8 for number in range(8)]
    assert told[0][0] == "asking Fake 1: 0 of 8 positions"
    assert told[-1][0].startswith("asking Fake 1: 7 of 8 positions, ")
    assert told[-1][0].endswith(" left")


def test_the_clock_counts_on():
    times = iter([100.0, 112.0, 160.0])
    clock = Clock(90, lambda: next(times))
    assert clock.words(2) == "2 of 90 positions"
    assert clock.words(6) == "6 of 90 positions, 3 min left"
    assert clock.words(60) == "60 of 90 positions, 30 s left"


@pytest.mark.parametrize(("seconds", "words"), [
    (0, "5 s"), (7, "5 s"), (52, "50 s"), (55, "1 min"), (100, "2 min"), (3540, "59 min"),
    (3600, "1 h 0 min"), (7900, "2 h 10 min"),
])  # fmt: skip
def test_durations(seconds, words):
    assert duration(seconds) == words
