"""What `check` costs over reading and playing the moves alone, as a ratio in one run.

    .venv/bin/python tests/bench/check_cost.py [FOLDER] [ROUNDS]

Both are measured in turns, so that a busy machine weighs on both; the best of each counts.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from builder import pipeline
from builder.book.make import make_booklet
from builder.faults import Faults
from builder.source.booklet import read_booklet


def moves_alone(folder: Path) -> None:
    """Reading the chapters and playing every move, and nothing more."""
    faults = Faults()
    source = read_booklet(folder, faults)
    assert source is not None
    make_booklet(source, faults)


def whole_check(folder: Path) -> None:
    faults = Faults()
    pipeline.check(folder, faults)


def seconds(work: Callable[[Path], None], folder: Path) -> float:
    started = time.perf_counter()
    work(folder)
    return time.perf_counter() - started


def main() -> None:
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "content")
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 7
    whole_check(folder)  # Imports and caches are not what is measured.
    pairs = [(seconds(moves_alone, folder), seconds(whole_check, folder)) for _ in range(rounds)]
    alone, whole = min(pair[0] for pair in pairs), min(pair[1] for pair in pairs)
    print(f"moves alone {alone:.3f} s, check {whole:.3f} s: {whole / alone:.2f} times")


if __name__ == "__main__":
    main()
