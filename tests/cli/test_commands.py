"""The command line: exit status, what is said and where, and that no traceback gets out."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from tiny import line_of, write_booklet

from builder import pipeline
from builder.__main__ import main

ROOT = Path(__file__).parent.parent.parent
GOOD = line_of("1. e4 e5 2. Nf3 @knight (D)")
BAD = line_of("1. e4 e5 2. Nf4")
WARNS = line_of("1. e4+ e5")
START = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"


def plyleaf(*arguments: str, **options) -> subprocess.CompletedProcess:
    """The command in a process of its own."""
    return subprocess.run([sys.executable, "-m", "builder", *arguments], cwd=ROOT, text=True,
                          capture_output=True, **options)  # fmt: skip


def command(name: str, tmp_path: Path) -> list[str]:
    """`check good`: the folder's name stands for a booklet of that kind."""
    words = name.split()
    for kind, chapter in (("good", GOOD), ("bad", BAD), ("warns", WARNS)):
        if kind in words:
            write_booklet(tmp_path / kind, chapter)
    (tmp_path / "empty").mkdir(exist_ok=True)
    folders = ("good", "bad", "warns", "empty", "nowhere", "out")
    return [str(tmp_path / word) if word in folders else word for word in words]


STATUS = {
    "check good": (0, "all well: 1 chapter, 3 positions, 0 claims proved", ""),
    "check bad": (1, "chapters/1.md:2:13: error: Nf4 is not legal after 1...e5", ""),
    "check warns": (0, "chapters/1.md:2:4: warning: e4+ gives no check", ""),
    "check warns --strict": (1, "1 warning", ""),
    "check empty": (1, "error: there is no booklet.toml in", ""),
    "check nowhere": (2, "", "plyleaf: there is no folder"),
    "check good/booklet.toml": (2, "", "plyleaf: there is no folder"),
    "check good --format xml": (2, "", "invalid choice: 'xml'"),
    "build good --only pgn --out out": (
        0, "3 positions, 1 diagram, 0 exercises, 0 claims proved", "",
    ),
    "build bad --only pgn --out out": (1, "1 error", ""),
    "build warns --only pgn --out out": (0, "1 warning", ""),
    "build warns --only pgn --out out --strict": (1, "1 warning", ""),
    "build good --only paper": (2, "", "invalid choice: 'paper'"),
    "build good --out good": (1, "error: the outputs can't go into", ""),
    "build nowhere": (2, "", "plyleaf: there is no folder"),
    "new good": (2, "", "is there already and not empty: choose another folder"),
    "new empty": (0, "next: plyleaf preview", ""),
    "guide": (0, "# The author's guide", ""),
    "guide changes": (0, "# Changes", ""),
    "guide nothing": (2, "", "plyleaf: the guide has no part nothing; its parts: guide,"),
    "preview nowhere": (2, "", "plyleaf: there is no folder"),
    "preview good --port 99999": (2, "", "'99999' is not a number from 0 to 65535"),
    "": (2, "", "the following arguments are required: COMMAND"),
    "chekc": (2, "", "there is no command chekc: did you mean check?"),
    "pres good": (2, "", "there is no command pres: did you mean press?"),
    "xyzzy good": (2, "", "there is no command xyzzy: plyleaf --help lists them"),
    "build good --form pdf": (2, "", "plyleaf: build has no use for --form: plyleaf build --help"),
    "--version": (0, "plyleaf 0.", ""),
    "--help": (0, "0 all well, 1 the booklet has errors, 2 the command was misused.", ""),
}  # fmt: skip


@pytest.mark.parametrize("name", STATUS, ids=lambda name: name or "nothing")
def test_status(name, tmp_path, capsys):
    status, said, told = STATUS[name]
    assert main(command(name, tmp_path)) == status
    out, err = capsys.readouterr()
    assert said in out and told in err
    assert "Traceback" not in out + err
    assert bool(err) == bool(told)


@pytest.mark.parametrize("name", ["new", "check", "build", "preview", "diagram", "guide"])
def test_help_tells_every_option(name, capsys):
    assert main([name, "--help"]) == 0
    out, _ = capsys.readouterr()
    assert out.startswith(f"usage: plyleaf {name}")
    # Every option is followed by words of its own.
    for line in out.splitlines():
        if line.startswith("  -") and len(line.split("  ")) < 3:
            following = out.splitlines()[out.splitlines().index(line) + 1]
            assert following.startswith("      "), line


def test_a_folder_within_the_booklet_is_told_the_booklets(tmp_path, capsys):
    folder = write_booklet(tmp_path, GOOD)
    assert main(["check", str(folder / "chapters")]) == 1
    assert f"the booklet's folder is {folder}" in capsys.readouterr().out


def test_faults_as_json(tmp_path, capsys):
    folder = write_booklet(tmp_path, BAD, WARNS)
    assert main(["check", str(folder), "--format", "json"]) == 1
    out, err = capsys.readouterr()
    read = [json.loads(line) for line in out.splitlines()]
    assert [(one["file"], one["severity"], one["code"]) for one in read] == [
        ("chapters/1.md", "error", "move-illegal"),
        ("chapters/2.md", "warning", "move-sign"),
    ]
    assert set(read[0]) == {"file", "line", "column", "end_column", "severity", "code", "message",
                            "hint", "text"}  # fmt: skip
    assert (read[0]["line"], read[0]["column"], read[0]["end_column"]) == (2, 13, 16)
    assert err == ""


def test_json_of_a_good_build_is_empty(tmp_path, capsys):
    folder = write_booklet(tmp_path, GOOD)
    assert main(["build", str(folder), "--only", "pgn", "--format", "json"]) == 0
    assert capsys.readouterr() == ("", "")


def test_the_default_folder_is_here(tmp_path, capsys, monkeypatch):
    write_booklet(tmp_path, GOOD)
    monkeypatch.chdir(tmp_path)
    assert main(["build", "--only", "pgn"]) == 0
    assert (tmp_path / "site" / "booklet.pgn").is_file()
    assert "  site/booklet.pgn\n  site/positions.epd\n" in capsys.readouterr().out


def test_claims_that_want_an_engine_are_never_silently_true(tmp_path, capsys):
    moves = "1. e4 {% eval white >= 0.1 %} e5 {% material even %}"
    folder = write_booklet(tmp_path, line_of(moves))
    assert main(["check", str(folder)]) == 0
    assert "1 claim proved, 1 skipped for want of an engine" in capsys.readouterr().out
    assert main(["build", str(folder), "--only", "pgn"]) == 0
    assert "1 claim proved, 1 skipped for want of an engine" in capsys.readouterr().out


# --- builds ---------------------------------------------------------------------------------------


def test_a_failed_build_leaves_the_last_good_output(tmp_path):
    folder = write_booklet(tmp_path, GOOD)
    assert main(["build", str(folder), "--only", "pgn"]) == 0
    before = (folder / "site" / "booklet.pgn").read_bytes()
    write_booklet(tmp_path, BAD)
    assert main(["build", str(folder), "--only", "pgn"]) == 1
    write_booklet(tmp_path, WARNS)
    assert main(["build", str(folder), "--only", "pgn", "--strict"]) == 1
    assert (folder / "site" / "booklet.pgn").read_bytes() == before
    assert sorted(path.name for path in folder.iterdir()) == ["booklet.toml", "chapters", "site"]


DRAFT = '+++\ntitle = "D"\ndraft = true\n+++\n' + line_of("1. d4 @draft")


def test_drafts(tmp_path, capsys):
    folder = write_booklet(tmp_path, GOOD, DRAFT)
    pgn = folder / "site" / "booklet.pgn"
    assert main(["build", str(folder), "--only", "pgn"]) == 0
    assert "1. d4" not in pgn.read_text()
    assert main(["build", str(folder), "--only", "pgn", "--drafts"]) == 0
    assert "1. d4" in pgn.read_text()
    assert main(["check", str(folder)]) == 0


def test_check_finds_what_is_missing_without_the_drafts(tmp_path, capsys):
    folder = write_booklet(tmp_path, GOOD + "\n[there](@draft)\n", DRAFT)
    assert main(["check", str(folder)]) == 1
    assert "no position is named draft" in capsys.readouterr().out
    assert main(["build", str(folder), "--only", "pgn", "--drafts"]) == 0


def test_the_same_input_gives_the_same_bytes(tmp_path):
    folder = write_booklet(tmp_path / "book", GOOD)
    outputs = []
    for name in ("one", "two"):
        assert main(["build", str(folder), "--only", "pgn", "--out", str(tmp_path / name)]) == 0
        outputs.append({path.name: path.read_bytes() for path in (tmp_path / name).iterdir()})
    assert outputs[0] == outputs[1]


@pytest.mark.parametrize(
    "options, status, written",
    {
        "everything": ((), 0, True),
        "strict": (("--strict",), 1, False),
        "the PDF alone": (("--only", "pdf"), 1, False),
        "the others alone": (("--only", "pgn"), 0, True),
    }.values(),
)
def test_without_what_makes_the_pdf(tmp_path, capsys, monkeypatch, options, status, written):
    from builder.press import workers

    missing = "import pickle, sys; pickle.dump('install it', sys.stdout.buffer)  # {path}"
    monkeypatch.setattr(workers, "_START", missing)
    folder = write_booklet(tmp_path, GOOD)
    assert main(["build", str(folder), *options]) == status
    out = capsys.readouterr().out
    assert ("no PDF was made: install it" in out) == ("pgn" not in options)
    assert (folder / "site" / "booklet.pgn").exists() == written
    assert not (folder / "site" / "booklet.pdf").exists()
    if "index.html" in out:
        assert "booklet.pdf" not in (folder / "site" / "index.html").read_text()


def test_the_site_offers_what_is_there(tmp_path, capsys):
    """Files of other parts, left from an earlier build, are offered too."""
    folder = write_booklet(tmp_path, GOOD)
    index = folder / "site" / "index.html"
    assert main(["build", str(folder), "--only", "site"]) == 0
    assert "booklet.pgn" not in index.read_text()
    assert main(["build", str(folder), "--only", "pgn"]) == 0
    assert main(["build", str(folder), "--only", "site"]) == 0
    assert 'href="booklet.pgn"' in index.read_text() and "booklet.pdf" not in index.read_text()


# --- one diagram ----------------------------------------------------------------------------------


def test_diagram_as_text(capsys):
    assert main(["diagram", START]) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[0] == "8 r n b q k b n r"
    assert out[-1].split() == list("abcdefgh")
    assert main(["diagram", START, "--flip"]) == 0
    assert capsys.readouterr().out.splitlines()[-1].split() == list("hgfedcba")


@pytest.mark.parametrize(
    "name, start", {"x.png": b"\x89PNG\r\n", "x.svg": b"<svg ", "x.txt": b"8 r n"}.items()
)
def test_diagram_files(tmp_path, capsys, name, start):
    out = tmp_path / name
    words = ["--marks", 'plan e2-e4 key d4 label f7 "weak"', "--size", "300"]
    assert main(["diagram", START, "-o", str(out), *words]) == 0
    assert out.read_bytes().startswith(start)
    assert capsys.readouterr() == ("", "")


MISUSED = {
    "not a FEN": (["nonsense"], "FEN:1:1: error: not a FEN"),
    "no king": (["8/8/8/8/8/8/8/8 w - - 0 1"], "FEN:1:1: error: no such position"),
    "a mark that is none": ([START, "--marks", "plan e2"], "--marks:1:6: error: plan goes from"),
    "another suffix": ([START, "-o", "x.jpg"], "x.jpg should end in .png, .svg or .txt"),
    "too small": ([START, "--size", "3"], "'3' is not a number from 100 to 4000"),
}


def test_only_a_booklets_moves_are_replaced(tmp_path, capsys):
    folder = write_booklet(tmp_path / "club", line_of("1. e4 e5"))
    (folder / "games").mkdir()
    own, game = tmp_path / "phone.pgn", folder / "games" / "club.pgn"
    for _ in range(2):
        assert main(["pgn", str(folder), "-o", str(own)]) == 0
    game.write_text('[Event "Club"]\n\n1. d4 *\n')
    assert main(["pgn", str(folder), "-o", str(game)]) == 1
    assert "so it is not replaced" in capsys.readouterr().out
    assert game.read_text() == '[Event "Club"]\n\n1. d4 *\n'


def test_moves_of_cited_games_alone_are_replaced(tmp_path, capsys):
    """Also where the file's own tags are so long that ours stands far behind them."""
    folder = write_booklet(tmp_path / "club", "```game games/club.pgn\n```\n", "Words alone.\n")
    (folder / "games").mkdir()
    tags = "".join(f'[{name} "{"ž" * 250}"]\n' for name in ("Event", "Site", "White", "Black", "A1", "A2"))
    (folder / "games" / "club.pgn").write_text(f"{tags}\n1. d4 *\n", encoding="utf-8")
    own = tmp_path / "phone.pgn"
    for _ in range(2):
        assert main(["pgn", str(folder), "--chapter", "1", "-o", str(own)]) == 0
    assert '\n[CitedIn "Tiny"]\n' in own.read_text(encoding="utf-8")
    capsys.readouterr()
    assert main(["pgn", str(folder), "--chapter", "2", "-o", str(own)]) == 2
    assert "the chapter 2 has no moves to give out" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["x.png", "x.svg", "x.txt"])
def test_only_a_board_of_ours_is_replaced(name, tmp_path, capsys):
    out = tmp_path / name
    for _ in range(2):
        assert main(["diagram", START, "-o", str(out)]) == 0
    out.write_bytes(b"\x89PNG\r\n\x1a\n a photograph")
    assert main(["diagram", START, "-o", str(out)]) == 1
    assert "this is no board that Plyleaf drew" in capsys.readouterr().out
    assert main(["diagram", START, "-o", str(out / "x.svg")]) == 1
    assert "this can't be written: " in capsys.readouterr().out
    assert out.read_bytes().endswith(b"photograph") and [one.name for one in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("arguments, told", MISUSED.values(), ids=MISUSED)
def test_diagram_misused(capsys, arguments, told):
    assert main(["diagram", *arguments]) == 2
    assert told in "".join(capsys.readouterr())


# --- what goes wrong outside ----------------------------------------------------------------------


def test_a_fault_of_ours_is_one_line(tmp_path, capsys, monkeypatch):
    folder = write_booklet(tmp_path, GOOD)

    def broken(*arguments):
        raise ZeroDivisionError("a slip\nof ours")

    monkeypatch.setattr(pipeline, "read_booklet", broken)
    monkeypatch.delenv("PLYLEAF_DEBUG", raising=False)
    assert main(["check", str(folder)]) == 1
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert err.startswith("plyleaf: internal fault (ZeroDivisionError: a slip of ours); please")
    monkeypatch.setenv("PLYLEAF_DEBUG", "1")
    assert main(["check", str(folder)]) == 1
    assert "Traceback" in capsys.readouterr().err


LONG = "a" * 300  # no file can have such a name (POSIX NAME_MAX is 255 here)
REFUSED = (
    ["check", LONG], ["build", ".", "--out", LONG], ["import", LONG], ["handout", LONG, "--summary"],
    ["count", ".", LONG], ["compare", LONG], ["press", LONG], ["preview", LONG],
)  # fmt: skip


@pytest.mark.parametrize("arguments", REFUSED, ids=lambda arguments: arguments[0])
def test_what_the_machine_refuses_is_no_fault_of_ours(arguments, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(write_booklet(tmp_path, GOOD))
    assert main(arguments) == 1
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert err.startswith("plyleaf: ") and err.endswith(f"{LONG}: file name too long\n")


def test_a_disk_without_room_is_told_with_the_place(tmp_path, capsys, monkeypatch):
    """The system tells no file where writing fails, only where opening does."""
    folder = write_booklet(tmp_path / "good", GOOD)
    assert main(["build", str(folder), "--only", "pgn"]) == 0
    before = {path.name: path.read_bytes() for path in (folder / "site").iterdir()}

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    capsys.readouterr()
    assert main(["build", str(folder), "--only", "pgn"]) == 1
    told = capsys.readouterr().out
    assert f"{folder / 'site'}:1:1: error: the outputs can't be made: no space left on device" in told
    assert {path.name: path.read_bytes() for path in (folder / "site").iterdir()} == before


def test_interrupted(tmp_path, capsys, monkeypatch):
    folder = write_booklet(tmp_path, GOOD)

    def interrupted(*arguments):
        raise KeyboardInterrupt

    monkeypatch.setattr(pipeline, "write_outputs", interrupted)
    assert main(["build", str(folder)]) == 130
    assert capsys.readouterr().err == "plyleaf: stopped; the last good output is as it was\n"
    assert sorted(path.name for path in folder.iterdir()) == ["booklet.toml", "chapters"]


def test_a_reader_that_goes_away(tmp_path):
    """`plyleaf check | head -1` with more to say than a pipe holds."""
    folder = write_booklet(tmp_path, "".join(line_of("1. e5", f"line n{n}") for n in range(700)))
    process = subprocess.Popen([sys.executable, "-m", "builder", "check", str(folder)], cwd=ROOT,
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE)  # fmt: skip
    assert b"error" in process.stdout.readline()
    process.stdout.close()
    assert process.stderr.read() == b""
    assert process.wait(60) == 1


def test_a_terminal_that_knows_little(tmp_path):
    folder = write_booklet(tmp_path, line_of("1. e4 {é} Ж"))
    run = plyleaf("check", str(folder), env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert run.returncode == 1
    assert "\\u0416" in run.stdout and run.stderr == ""


def stopped_build(folder: Path, number: int) -> subprocess.CompletedProcess:
    """A build that gets a signal while it writes the outputs."""
    script = (
        "import sys, time; from builder import pipeline; from builder.__main__ import main\n"
        "def write(proved, parts, stage, *rest):\n"
        "    (stage.part('site') / 'index.html').write_text('half')\n"
        "    print('now', flush=True)\n"
        "    time.sleep(60)\n"
        "pipeline.write_outputs = write\n"
        f"sys.exit(main(['build', {str(folder)!r}]))"
    )
    with subprocess.Popen([sys.executable, "-c", script], cwd=ROOT, text=True,
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:  # fmt: skip
        assert process.stdout.readline() == "now\n"
        process.send_signal(number)
        out, err = process.communicate(timeout=60)
    return subprocess.CompletedProcess(script, process.returncode, out, err)


def test_asked_to_end(tmp_path):
    """SIGTERM in the middle of a build: everything half done is taken back."""
    folder = write_booklet(tmp_path / "book", GOOD)
    run = stopped_build(folder, signal.SIGTERM)
    assert run.returncode == 143 and "Traceback" not in run.stderr
    assert sorted(path.name for path in folder.iterdir()) == ["booklet.toml", "chapters"]


def test_killed(tmp_path):
    """SIGKILL in the middle of a build: the last good output is whole, the next build tidies up."""
    folder = write_booklet(tmp_path / "book", GOOD)
    assert main(["build", str(folder), "--only", "pgn"]) == 0
    before = {path.name: path.read_bytes() for path in (folder / "site").iterdir()}
    assert stopped_build(folder, signal.SIGKILL).returncode == -signal.SIGKILL
    assert {path.name: path.read_bytes() for path in (folder / "site").iterdir()} == before
    assert main(["build", str(folder), "--only", "pgn"]) == 0
    assert sorted(path.name for path in folder.iterdir()) == ["booklet.toml", "chapters", "site"]


HEAVY = ("weasyprint", "PIL", "pypdf", "mistune", "jinja2")


NEEDS = {"--help": (("--help",), ()), "check": (("check", "."), ("mistune", "jinja2"))}


@pytest.mark.parametrize("arguments, allowed", NEEDS.values(), ids=NEEDS)
def test_only_what_is_needed_is_imported(tmp_path, arguments, allowed):
    """Starting is quick because the PDF's libraries, above all, wait until they are needed."""
    write_booklet(tmp_path, GOOD)
    script = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r}); from builder.__main__ import main\n"
        f"status = main({list(arguments)!r})\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, capture_output=True,
                         text=True)  # fmt: skip
    loaded = run.stdout.splitlines()[-1]
    assert run.returncode == 0, run.stderr
    assert set(eval(loaded)) <= set(allowed)


def test_the_module_is_the_command():
    assert plyleaf("--version").stdout == "plyleaf 0.1.0\n"


def test_the_command_line_is_there_at_once():
    """What a command needs is imported when it runs: `--help` waits for no library."""
    script = (
        "import sys, builder.__main__ as main; main.parser();"
        "print(sorted({'chess', 'jinja2', 'mistune', 'PIL', 'weasyprint'} & set(sys.modules)))"
    )
    told = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True)
    assert (told.stdout, told.stderr) == ("[]\n", "")
