"""Broken and hostile files: placed faults, bounded work, nothing written where it may not be."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest
from intake.reading_back import bring_in

ROOT = Path(__file__).parents[2]
MEGABYTE = 1 << 20

FILES = {
    "nothing": b"",
    "binary": bytes(range(256)) * 400,
    "zeros": b"\0" * MEGABYTE,
    "truncated in a comment": b"[Event \"x\"]\n\n1. e4 {never ends",
    "truncated in a tag": b"[Event \"x",
    "endless comment": b"1. e4 {" + b"word " * (2 * MEGABYTE // 5),
    "nested variations": b"1. e4 " + b"(1. d4 " * (10 * MEGABYTE // 7),
    "closed brackets": b"1. e4 " + b") " * MEGABYTE,
    "one long line": b"1. e4 e5 " * (MEGABYTE // 9),
    "many bad tags": b"[Bad tag]\n" * 20000,
    "UTF-16": "1. e4 e5 *".encode("utf-16"),
}


@pytest.mark.parametrize("data", FILES.values(), ids=FILES)
def test_bounded(data, tmp_path):
    """In a process of its own, with 1 GB of memory and a minute of processor."""
    file = tmp_path / "bad.pgn"
    file.write_bytes(data)

    def limits() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (1 << 30, 1 << 30))
        resource.setrlimit(resource.RLIMIT_CPU, (60, 60))

    done = subprocess.run(
        [sys.executable, "-m", "builder", "import", str(file), "--into", str(tmp_path / "new")],
        capture_output=True, text=True, preexec_fn=limits, check=False, timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip
    told = done.stdout + done.stderr
    assert done.returncode in (0, 1), told[-500:]
    assert "Traceback" not in told and "internal fault" not in told
    assert len(told) < 200_000


@pytest.mark.parametrize("tag", ["../../../etc/passwd", "/etc/passwd", "..\\..\\x", "a\tb", "x" * 5000, "con"])
def test_tags_are_no_paths(tag, tmp_path):
    text = f'[Event "{tag}"]\n[White "{tag}"]\n[Black "{tag}"]\n\n1. e4 e5 *\n'
    into = tmp_path / "a" / "b" / "booklet"
    bring_in(text, into)
    written = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert written and all(path.is_relative_to(into) for path in written)
    assert all(len(path.name) < 120 for path in written)


def test_no_file_is_replaced(tmp_path):
    into = tmp_path / "booklet"
    bring_in('[Event "One"]\n\n1. e4 *\n', into)
    before = {path: path.read_bytes() for path in into.rglob("*") if path.is_file()}
    bring_in('[Event "One"]\n\n1. d4 *\n', into)
    assert {path: path.read_bytes() for path in before} == before
    assert len(list((into / "chapters").iterdir())) == 2
