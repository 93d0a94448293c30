"""An engine at work: it repeats itself, and every way to fail has its own words."""

from __future__ import annotations

import logging
import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import chess
import pytest
from proof.engines import fake

from builder.proof.engine import Engine, Limits
from builder.proof.engine_answers import EngineFault, Question, line_text

QUICK = Limits(nodes=5_000, handshake=10.0, trial=5.0, base=10.0)
HASTY = Limits(nodes=1_000, handshake=2.0, trial=2.0, base=1.0)
START = Question(chess.Board().epd(), 2)
MATE = Question("r1bqkbnr/pppp1ppp/2n5/4p3/2B1P3/5Q2/PPPP1PPP/RNB1K1NR w KQkq -", 3)
# White's king alone on the edge against queen and rook.
LOST = Question("7k/8/8/8/1q6/r7/8/7K w - -")


def stockfish(program) -> str:
    return program("stockfish")


def test_a_verdict_repeats(program, tmp_path):
    """In one run, in another run, and whatever was asked in between."""
    with Engine(stockfish(program), tmp_path, QUICK) as engine:
        first = engine.answer(START)
        engine.answer(MATE)
        assert engine.answer(START) == first
    with Engine(stockfish(program), tmp_path, QUICK) as engine:
        assert engine.answer(MATE).best.score.mate_in == 1
        assert engine.answer(START) == first
    assert len(first.lines) == 2
    assert first.depth > 3


def test_what_a_real_engine_says(program, tmp_path):
    with Engine(stockfish(program), tmp_path, QUICK) as engine:
        assert "Stockfish" in engine.name
        assert engine.options == "Hash=16 Threads=1"
        mate = engine.answer(MATE)
        assert line_text(MATE.board(), mate.best.moves) == "1.Qxf7#"
        assert [line.score.pawns(white=True) for line in mate.lines] == sorted(
            (line.score.pawns(white=True) for line in mate.lines), reverse=True
        )
        lost = engine.answer(LOST).best.score
        assert lost.mate_in and lost.pawns(white=True) < -90 and lost.pawns(white=False) > 90


@pytest.mark.parametrize("command", ["glaurung", "ethereal-chess"])
def test_other_engines_of_debian(command, tmp_path):
    """One stops after a number of nodes; one doesn't know them and is asked for a depth."""
    path = shutil.which(command, path=f"{os.environ['PATH']}:/usr/games")
    if path is None:
        pytest.skip(f"no {command} here; tests/run doesn't install it")
    with Engine(path, tmp_path, QUICK) as engine:
        answer = engine.answer(START)
        assert engine.answer(MATE).best.score.mate_in == 1
        assert engine.answer(START) == answer
        assert len(answer.lines) == 2


def test_the_path_of_debians_games(program, tmp_path, monkeypatch):
    if not Path("/usr/games/stockfish").exists():
        pytest.skip("no /usr/games/stockfish")
    monkeypatch.setenv("PATH", "/usr/bin:/bin")
    with Engine("stockfish", tmp_path, QUICK) as engine:
        assert "Stockfish" in engine.name


def test_bounds_are_no_scores(tmp_path):
    """The scripted engine says an upper bound before and behind each score."""
    with Engine(fake(), tmp_path, QUICK) as engine:
        answer = engine.answer(START)
        assert all(abs(line.score.centipawns) <= 20 for line in answer.lines)
        assert answer.best.score.centipawns >= answer.lines[1].score.centipawns
        assert answer.depth == 9


def test_an_engine_without_multipv_gives_one_line(tmp_path):
    with Engine(fake("no-multipv"), tmp_path, QUICK) as engine:
        assert len(engine.answer(START).lines) == 1


def test_an_engine_that_knows_no_nodes_is_asked_for_a_depth(tmp_path):
    limits = Limits(nodes=1_000, trial=1.0)
    with Engine(fake("no-nodes"), tmp_path, limits) as engine:
        assert engine.options == "Hash=16 Threads=1 depth=12"
        assert len(engine.answer(START).lines) == 2


def test_a_relative_command_counts_from_the_booklet(tmp_path):
    script = tmp_path / "engine"
    script.write_text(f"#!/bin/sh\nexec {fake()}\n", encoding="utf-8")
    script.chmod(0o755)
    with Engine("./engine", tmp_path, QUICK) as engine:
        assert engine.name == "Fake 1"


def test_no_shell_reads_the_command(tmp_path):
    with pytest.raises(EngineFault) as caught:
        Engine(f"no-such-engine; touch {tmp_path}/touched", tmp_path, QUICK)
    assert caught.value.code == "engine-missing"
    assert list(tmp_path.iterdir()) == []


def test_an_engines_name_is_made_plain(tmp_path):
    with Engine(fake("ok", "--name", "\x1b[31mRed\x07 engine " + "x" * 300), tmp_path, QUICK) as engine:
        assert engine.name.startswith("[31mRed engine xxx")
        assert len(engine.name) == 80


@dataclass(frozen=True)
class Failure:
    name: str
    command: str
    code: str
    message: str
    limits: Limits = QUICK


FAILURES = (
    Failure("none named", "", "engine-missing", "the booklet names no engine"),
    Failure("blank", "  ", "engine-missing", "the booklet names no engine"),
    Failure("not there", "no-such-engine", "engine-missing", "there is no engine no-such-engine"),
    Failure("not at that path", "/no/such/engine", "engine-missing", "there is no engine /no/such"),
    Failure("not a program", "/etc/passwd", "engine-missing", "there is no engine /etc/passwd"),
    Failure("a folder", "/etc/", "engine-missing", "there is no engine /etc/"),
    Failure("a quotation left open", "stockfish 'x", "engine-command", "No closing quotation"),
    Failure("another program", "true", "engine-died", "ended before it had answered"),
    Failure("a program that fails", "false", "engine-died", "ended with status 1"),
    Failure("ends at once", fake("die-handshake"), "engine-died",
            "ended with status 3 before it had answered; its last words: 'no licence found'"),
    Failure("says nothing", fake("mute"), "engine-hangs", "gave no answer within 2 s", HASTY),
    Failure("speaks another language", fake("no-uciok"), "engine-nonsense",
            "it never said uciok, but 'Illegal move: uci'", HASTY),
    Failure("an option of a wrong kind", fake("odd-option"), "engine-nonsense",
            "expected integer for spin option 'Odd'"),
    Failure("never answers", fake("hang"), "engine-hangs", "gave no answer within 1 s", HASTY),
    Failure("never answers, nor ends", fake("stubborn"), "engine-hangs", "gave no answer", HASTY),
    Failure("ends in the middle", fake("die"), "engine-died",
            "ended by signal 6 before it had answered; its last words: 'out of luck'"),
    Failure("an illegal move", fake("illegal"), "engine-nonsense", "a1a1"),
    Failure("no move", fake("no-move"), "engine-nonsense", "it knows no move"),
    Failure("no score", fake("no-score"), "engine-nonsense", "without a line and a score"),
    Failure("a score in words", fake("bad-score"), "engine-nonsense", "without a line and a score"),
    Failure("a score beyond all", fake("huge-score"), "engine-nonsense",
            "a score of 123456789 centipawns"),
    Failure("a mate that is none", fake("false-mate"), "engine-nonsense", "a mate in 1 that is none"),
    Failure("a flood", fake("flood"), "engine-hangs", "gave no answer", HASTY),
    Failure("a line without an end", fake("endless-line"), "engine-nonsense", "a line without an end"),
)  # fmt: skip


@pytest.mark.parametrize("failure", FAILURES, ids=lambda failure: failure.name)
def test_each_failure_has_its_own_words(failure, tmp_path, capfd):
    with pytest.raises(EngineFault) as caught:
        with Engine(failure.command, tmp_path, failure.limits) as engine:
            engine.answer(START)
    assert caught.value.code == failure.code
    assert failure.message in caught.value.message
    assert caught.value.hint
    # Nothing gets past: no warning of a library, no traceback.
    assert capfd.readouterr() == ("", "")
    assert not logging.getLogger("chess.engine").handlers


def test_an_engine_of_another_kind_of_processor(tmp_path):
    program = tmp_path / "engine"
    program.write_bytes(b"\x7fELF nonsense")
    program.chmod(0o755)
    with pytest.raises(EngineFault) as caught:
        Engine("./engine", tmp_path, QUICK)
    assert caught.value.code == "engine-missing"
    assert "can't be started" in caught.value.message


def test_what_an_engine_started_ends_with_it(tmp_path):
    """One that doesn't end when asked is ended by force, and so are its own processes."""
    pid = tmp_path / "pid"
    with Engine(fake("child", "--pid", pid), tmp_path, QUICK) as engine:
        engine.answer(START)
        child = int(pid.read_text())
        assert _runs(child)
    for _ in range(100):
        if not _runs(child):
            break
        time.sleep(0.05)
    assert not _runs(child)


def _runs(pid: int) -> bool:
    state = Path(f"/proc/{pid}/stat")
    return state.exists() and state.read_text().rsplit(")", 1)[1].split()[0] != "Z"


def test_an_interrupted_run_leaves_no_engine(tmp_path):
    """Ctrl-C is for us: the engine is in a group of its own, and ended by us."""
    log = tmp_path / "log"
    code = (
        "import sys, pathlib\n"
        "from builder.proof.engine import Engine, Limits\n"
        "from builder.proof.engine_answers import Question\n"
        f"with Engine({fake('hang', '--log', log)!r}, pathlib.Path('.'), Limits(1000)) as engine:\n"
        f"    engine.answer(Question({START.epd!r}))\n"
    )
    run = subprocess.Popen([sys.executable, "-c", code], cwd=Path(__file__).parents[2],
                           stderr=subprocess.PIPE, text=True)  # fmt: skip
    for _ in range(400):
        if log.exists():
            break
        time.sleep(0.05)
    engines = [int(path.name) for path in Path("/proc").glob("[0-9]*") if _is_engine(path, log)]
    assert len(engines) == 1
    run.send_signal(signal.SIGINT)
    _, said = run.communicate(timeout=30)
    assert "KeyboardInterrupt" in said
    assert not _runs(engines[0])


def _is_engine(path: Path, log: Path) -> bool:
    try:
        words = (path / "cmdline").read_bytes().split(b"\0")
    except OSError:
        return False
    return str(log).encode() in words and b"-c" not in words
