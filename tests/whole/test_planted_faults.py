"""A booklet full of slips: each is told at its line, all in one run, and nothing is lost."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

FAULTY = Path(__file__).parent / "faulty"
ROOT = Path(__file__).parent.parent.parent


def planted(folder: Path) -> Counter:
    """What the files say of themselves: `! code code` at the end of a faulty line, or in a
    comment `below ! code` on the line before it."""
    found: Counter = Counter()
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            name = path.relative_to(folder).as_posix()
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
                mark = re.search(r"! ([a-z -]+?)(?: -->)?$", line)
                below = line.startswith("<!-- below !")
                for code in mark.group(1).split() if mark else ():
                    found[name, number + below, code] += 1
    return found


def run(*words: str) -> subprocess.CompletedProcess:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "SOURCE_DATE_EPOCH": "1700000000"}
    return subprocess.run([sys.executable, "-m", "builder", *words], capture_output=True,
                          text=True, env=environment, timeout=120)  # fmt: skip


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes()
            for path in sorted(folder.rglob("*")) if path.is_file()}  # fmt: skip


def test_every_slip_is_told_and_nothing_else(tmp_path):
    booklet = tmp_path / "booklet"
    shutil.copytree(FAULTY, booklet)
    expected = planted(booklet)
    assert len({code for _, _, code in expected}) >= 30
    done = run("check", str(booklet), "--format", "json")
    assert done.returncode == 1, done.stderr
    assert "Traceback" not in done.stdout + done.stderr
    faults = [json.loads(line) for line in done.stdout.splitlines()]
    told = Counter((f["file"], f["line"], f["code"]) for f in faults if f["severity"] == "error")
    assert told == expected
    for fault in faults:
        assert fault["message"] and 1 <= fault["column"] < fault["end_column"]
    places = [(f["file"], f["line"], f["column"]) for f in faults]
    assert places == sorted(places)


def test_the_last_good_output_stays(tmp_path):
    booklet, out = tmp_path / "booklet", tmp_path / "out"
    assert run("new", str(booklet)).returncode == 0
    assert run("build", str(booklet), "--out", str(out), "--only", "site").returncode == 0
    before = contents(out)
    assert "index.html" in before
    shutil.copytree(FAULTY, booklet, dirs_exist_ok=True)
    done = run("build", str(booklet), "--out", str(out))
    assert done.returncode == 1
    assert "Traceback" not in done.stdout + done.stderr
    assert contents(out) == before
