"""plyleaf proof, from the command line to the sheet, with the scripted engine and a real one."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from proof.engines import fake
from tiny import line_of, write_booklet

from builder.__main__ import main
from builder.proof.store import STORE_FILE

ROOT = Path(__file__).parents[2]
PLAIN = 'title = "Tiny"\nside = "white"\n'
# White gives his queen, and thinks that he is winning.
MOVES = "1. e4 e5 2. Qh5 Nc6 {% best Qf3 %} 3. Qxe5+ Nxe5 {% eval white >= 1 %} 4. d4 Nc6 +-"
# It mates, and so does another move.
EXERCISE = (
    '```exercise e1 from "6k1/5ppp/8/8/8/8/5PPP/RQ4K1 w - - 0 1"\ntask: White mates.\n'
    "solution: 1. Qb8#\n```\n"
)
GOOD = line_of("1. e4 e5 2. Nf3 Nc6 {% eval white >= -0.5 %} 3. Bb5")


def engine(command: str) -> str:
    return f"{PLAIN}\n[proof]\nengine = {json.dumps(command)}\n"


def told(capsys) -> list[dict]:
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_without_an_engine(tmp_path, capsys):
    write_booklet(tmp_path, line_of("1. f3 e5 2. g4 @fool"), settings=PLAIN)
    assert main(["proof", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "chapters/1.md:2:13: warning: the line ends with 2.g4, and Black mates by Qh4#" in said
    assert "1 warning, 1 notice" in said
    sheet = tmp_path / ".plyleaf/proof.html"
    assert said.splitlines()[-1] == f"proof sheet: {sheet}"
    assert "Black mates by Qh4#" in sheet.read_text(encoding="utf-8")
    assert not (tmp_path / STORE_FILE).exists()


def test_a_clean_booklet(tmp_path, capsys):
    write_booklet(tmp_path, line_of("1. e4 e5 2. Nf3"), settings=PLAIN)
    out = tmp_path / "mine.html"
    assert main(["proof", str(tmp_path), "--out", str(out)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "Nothing found: the booklet is clean", f"proof sheet: {out}"]  # fmt: skip
    assert "the booklet is clean" in out.read_text(encoding="utf-8")
    assert not (tmp_path / ".plyleaf").exists()


def test_as_json_and_strict(tmp_path, capsys):
    write_booklet(tmp_path, line_of("1. f3 e5 2. g4"), settings=PLAIN)
    assert main(["proof", str(tmp_path), "--format", "json"]) == 0
    (fault,) = told(capsys)
    assert (fault["code"], fault["severity"], fault["line"]) == ("end-mate", "warning", 2)
    assert main(["proof", str(tmp_path), "--format", "json", "--strict"]) == 1


def test_check_warns_of_contradictions_and_build_does_not(tmp_path, capsys):
    write_booklet(tmp_path, line_of("1. f3 e5 2. g4 @fool"), settings=PLAIN)
    assert main(["check", str(tmp_path), "--format", "json"]) == 0
    assert [fault["code"] for fault in told(capsys)] == ["end-mate"]
    assert main(["build", str(tmp_path), "--only", "pgn", "--format", "json"]) == 0
    assert told(capsys) == []


MISUSED = {
    "--nodes 10": "argument --nodes",
    "--nodes many": "argument --nodes",
    "--engine stockfish x": "plyleaf: proof has no use for stockfish: plyleaf proof --help",
}


@pytest.mark.parametrize("words", MISUSED)
def test_misuse(words, tmp_path, capsys):
    write_booklet(tmp_path, GOOD, settings=PLAIN)
    assert main(["proof", str(tmp_path), *words.split()]) == 2
    assert MISUSED[words] in capsys.readouterr().err


def test_only_a_proof_sheet_is_replaced(tmp_path, capsys):
    write_booklet(tmp_path, GOOD, settings=PLAIN)
    sheet, notes = tmp_path / "sheet.html", tmp_path / "chapters" / "1.md"
    for _ in range(2):
        assert main(["proof", str(tmp_path), "--out", str(sheet)]) == 0
    before = notes.read_text(encoding="utf-8")
    for target, code in ((notes, "out-stranger"), (tmp_path, "out-place"), (notes / "x.html", "out-write")):
        capsys.readouterr()
        assert main(["proof", str(tmp_path), "--out", str(target), "--format", "json"]) == 1
        assert code in [fault["code"] for fault in told(capsys)]
    assert notes.read_text(encoding="utf-8") == before


FAILING = {
    "none named": (PLAIN, "engine-missing", 1),
    "empty": (engine(""), "engine-missing", 5),
    "not there": (engine("no-such-engine"), "engine-missing", 5),
    "a quotation left open": (engine("'x"), "engine-command", 5),
    "ends at once": (engine(fake("die-handshake")), "engine-died", 5),
    "ends in the middle": (engine(fake("die", "--after", "2")), "engine-died", 5),
    "nonsense": (engine(fake("illegal", "--after", "1")), "engine-nonsense", 5),
}


@pytest.mark.parametrize("name", FAILING)
def test_an_engine_that_fails_is_an_error_at_its_key(name, tmp_path, capsys):
    """What it has answered is kept, what the rules find is told all the same."""
    settings, code, line = FAILING[name]
    chapter = GOOD + "\n" + line_of("1. f3? e5 2. g4", "line fool")
    write_booklet(tmp_path, chapter, settings=settings)
    assert main(["proof", str(tmp_path), "--engine", "--format", "json"]) == 1
    faults = {fault["code"]: fault for fault in told(capsys)}
    assert faults[code]["severity"] == "error"
    assert (faults[code]["file"], faults[code]["line"]) == ("booklet.toml", line)
    assert faults[code]["hint"]
    assert "end-mate" in faults
    # The claim's question comes first, and these two answer it before they fail.
    assert ("claim-unproved" in faults) == (name not in ("ends in the middle", "nonsense"))
    assert "The engine failed" in (tmp_path / ".plyleaf/proof.html").read_text(encoding="utf-8")


def test_a_file_that_is_not_ours(tmp_path, capsys):
    """An error where it is to be written, a warning where a claim could have used it."""
    write_booklet(tmp_path, GOOD, settings=engine(fake()))
    (tmp_path / ".plyleaf").mkdir()
    (tmp_path / STORE_FILE).write_text("a letter", encoding="utf-8")
    for words, status, severity in (("proof --engine", 1, "error"), ("check", 0, "warning")):
        command, *options = words.split()
        assert main([command, str(tmp_path), "--format", "json", *options]) == status
        faults = {fault["code"]: fault for fault in told(capsys)}
        assert (faults["engine-file"]["severity"], faults["engine-file"]["line"]) == (severity, 5)
        assert faults["claim-unproved"]["severity"] == "notice"
    assert (tmp_path / STORE_FILE).read_text(encoding="utf-8") == "a letter"


def test_a_build_proves_claims_by_what_is_kept_and_starts_no_engine(tmp_path, capsys):
    log = tmp_path / "log"
    good = line_of("1. e4 e5 {% eval white >= -0.5 %} 2. Nf3")
    write_booklet(tmp_path, good, settings=engine(fake("ok", "--log", log)))
    assert main(["check", str(tmp_path), "--format", "json"]) == 0
    assert [fault["code"] for fault in told(capsys)] == ["claim-unproved"]
    assert not log.exists()
    main(["proof", str(tmp_path), "--engine", "--format", "json"])
    asked = log.read_text()
    capsys.readouterr()
    for command in (["check"], ["build", "--only", "pgn"]):
        assert main([command[0], str(tmp_path), *command[1:], "--format", "json"]) == 0
        assert told(capsys) == []
    write_booklet(tmp_path, good.replace(">= -0.5", ">= 0.5"),
                  settings=engine(fake("ok", "--log", log)))  # fmt: skip
    for command in (["check"], ["build", "--only", "pgn"]):
        assert main([command[0], str(tmp_path), *command[1:], "--format", "json"]) == 1
        (fault,) = told(capsys)
        assert (fault["code"], fault["column"]) == ("claim-false", 10)
        assert fault["message"].startswith("the engine says ")
    assert log.read_text() == asked


def test_entries_for_the_engine_count_where_it_was_asked(tmp_path, capsys):
    settings = engine(fake()) + 'accept = ["move-weak@1/main/9.Qh5: not there"]\n'
    write_booklet(tmp_path, line_of("1. e4 e5 2. Nf3"), settings=settings)
    assert main(["proof", str(tmp_path), "--format", "json"]) == 0
    assert told(capsys) == []
    main(["proof", str(tmp_path), "--engine", "--format", "json"])
    assert [fault["code"] for fault in told(capsys)] == ["accept-unused"]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupted_proof_ends_at_once_and_goes_on_later(number, tmp_path, capsys):
    log = tmp_path / "log"
    command = fake("hang", "--after", "2", "--log", log)
    chapter = line_of("1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4")
    write_booklet(tmp_path, chapter, settings=engine(command))
    run = subprocess.Popen([sys.executable, "-m", "builder", "proof", str(tmp_path), "--engine"],
                           cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)  # fmt: skip
    while not (log.exists() and len(log.read_text().splitlines()) == 3) and run.poll() is None:
        time.sleep(0.05)
    run.send_signal(number)
    _, said = run.communicate(timeout=60)
    assert run.returncode == 128 + number
    assert "Traceback" not in said
    assert not [path for path in Path("/proc").glob("[0-9]*/cmdline") if _mentions(path, log)]
    write_booklet(tmp_path, chapter, settings=engine(fake("ok", "--log", log)))
    main(["proof", str(tmp_path), "--engine"])
    positions = [line.split(" ", 1)[1] for line in log.read_text().splitlines()]
    assert positions[2] in positions[3:]
    assert not set(positions[:2]) & set(positions[3:])


def _mentions(path: Path, log: Path) -> bool:
    try:
        return str(log).encode() in path.read_bytes()
    except OSError:
        return False


def test_a_real_engine_finds_what_is_planted(program, tmp_path, capsys):
    """A queen given away, a sign that isn't so, two claims, an exercise with a second mate."""
    write_booklet(tmp_path, line_of(MOVES) + "\n" + EXERCISE,
                  settings=engine(program("stockfish")))  # fmt: skip
    words = ["proof", str(tmp_path), "--engine", "--nodes", "20000", "--format", "json"]
    assert main(words) == 1
    first = told(capsys)
    found = {(fault["code"], fault["line"], fault["column"]): fault for fault in first}
    at = {words: MOVES.index(words) + 1 for words in ("Qxe5+", "{% best", "{% eval", "Nc6 +-")}
    assert found["move-weak", 2, at["Qxe5+"]]["message"].startswith(
        "3.Qxe5+, which is recommended, is a mistake: it loses ")  # fmt: skip
    assert found["claim-false", 2, at["{% best"]]["message"].startswith("the engine plays 3.")
    assert "the engine says -" in found["claim-false", 2, at["{% eval"]]["message"]
    assert "is judged +-" in found["assessment-off", 2, at["Nc6 +-"]]["message"]
    assert found["answer-second", 5, 4]["message"].startswith("Ra8# (White mates in 1) is as good")
    assert main(words) == 1
    assert told(capsys) == first


def test_a_real_engine_leaves_good_chess_alone(program, tmp_path, capsys):
    write_booklet(tmp_path, GOOD + "\n" + line_of("1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. c3 =", "line b"),
                  settings=engine(program("stockfish")))  # fmt: skip
    assert main(["proof", str(tmp_path), "--engine", "--nodes", "50000", "--format", "json"]) == 0
    assert [fault["code"] for fault in told(capsys)] == ["two-moves"]
    assert sorted(os.listdir(tmp_path / ".plyleaf")) == ["engine.sqlite", "proof.html"]


def test_every_code_is_in_the_guide():
    from builder.proof import consistency, judge

    guide = (ROOT / "builder/guide/proof.md").read_text(encoding="utf-8")
    engine_codes = {
        f"engine-{word}" for word in ("missing", "command", "hangs", "died", "nonsense", "file")
    }
    for code in {*consistency.CODES, *judge.CODES, *engine_codes, "accept-syntax", "accept-unused"}:
        assert f"| `{code}` |" in guide
