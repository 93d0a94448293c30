"""A cold build of a booklet in a process of its own: pages, diagrams, seconds, peak memory.

    .venv/bin/python tests/bench/cold_build.py [FOLDER]

Nothing is kept between builds, so every build is a cold one; the file cache of the operating
system is what it is.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]


def main() -> None:
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "content").resolve()
    with tempfile.TemporaryDirectory() as out:
        started = time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-m", "builder", "build", str(folder), "--out", out],
            cwd=ROOT, capture_output=True, text=True, check=False,
        )  # fmt: skip
        seconds = time.perf_counter() - started
        usage = resource.getrusage(resource.RUSAGE_CHILDREN)
        sizes = {path.name: path.stat().st_size for path in Path(out).iterdir() if path.is_file()}
    print(done.stdout.strip())
    if done.returncode:
        sys.exit(f"the build failed:\n{done.stderr}")
    processor = usage.ru_utime + usage.ru_stime
    print(f"{seconds:.1f} s by the clock, {processor:.1f} s of processor, "
          f"{usage.ru_maxrss / 1024:.0f} MB at most, PDF {sizes.get('booklet.pdf', 0) / 1000:.0f} kB")  # fmt: skip


if __name__ == "__main__":
    main()
