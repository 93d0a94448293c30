"""What the PDF costs: seconds, bytes and memory, as ratios of one run.

    .venv/bin/python tests/bench/press_cost.py [diagrams] [growth] [change]

`diagrams`: the course in content/ and a made booklet of about 400 diagrams and 200 pages, against
the same pages with blank boxes for diagrams (the floor), and against the plain way: the same text
and theme in one WeasyPrint document, with the rules library's `chess.svg` inline for each board.
Page numbers in the plain way's references are zeros, and its boards have no annotations: both
favour it.
`growth`: seconds and the largest process for about 100, 200, 400 and 800 pages.
`change`: a whole `plyleaf build` of content/ after a word of one chapter was changed, against a
build from nothing, and whether the PDFs are the same.
Without a word, all three. Every figure is of a process of its own; nothing is kept between them.
"""

from __future__ import annotations

import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

import chess  # noqa: E402
import chess.svg  # noqa: E402
from made import Made  # noqa: E402
from markupsafe import Markup  # noqa: E402

from builder.book.make import make_booklet  # noqa: E402
from builder.draw.board import BoardView  # noqa: E402
from builder.faults import Faults  # noqa: E402
from builder.press import pdf  # noqa: E402
from builder.press.kept import Kept  # noqa: E402
from builder.press.paginate import Copy  # noqa: E402
from builder.press.themed import themed  # noqa: E402
from builder.render.page_numbers import MARKED  # noqa: E402
from builder.render.print_document import print_booklet  # noqa: E402
from builder.render.print_medium import PrintMedium  # noqa: E402
from builder.source.booklet import read_booklet  # noqa: E402

FLOOR, OURS, PLAIN = "floor", "ours", "plain"


# --- one arm, in a process of its own -------------------------------------------------------------


def blank(medium: PrintMedium, view: BoardView) -> Markup:
    bare = "" if view.coordinates else " pboard-bare"
    return Markup(f'<div class="pboard{bare}" style="border: none; outline: none"></div>')


def inline_svg(medium: PrintMedium, view: BoardView) -> Markup:
    board = chess.BaseBoard(view.placement)
    drawn = chess.svg.board(board, orientation=not view.flip, coordinates=view.coordinates)
    bare = "" if view.coordinates else " pboard-bare"
    own = "border: none; outline: none; white-space: normal"
    sized = drawn.replace("<svg ", '<svg style="position: static; margin: 0" ', 1)
    return Markup(f'<div class="pboard{bare}" style="{own}">{sized}</div>')


def arm(kind: str, folder: Path, target: Path) -> None:
    """Reads a booklet and writes its PDF; prints what the PDF alone took."""
    if kind != OURS:
        PrintMedium._drawn = blank if kind == FLOOR else inline_svg
    faults = Faults()
    source = read_booklet(folder, faults)
    booklet = make_booklet(source, faults)
    theme = pdf.print_theme(source.settings.print.theme, folder, faults)
    started = time.perf_counter()
    printed = print_booklet(booklet, theme)
    main, frame = printed.main(), printed.frame()
    press = themed(theme, source.settings.print, booklet, folder)
    if kind == PLAIN:
        pages = plain_pdf(main, frame, press, faults, target)
    else:
        pages = press.print_copy(Copy(main, frame), target, faults, Kept(None)).pages
    seconds = time.perf_counter() - started
    own, others = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    print(json.dumps({
        "seconds": seconds, "pages": pages, "bytes": target.stat().st_size,
        "memory": max(own.ru_maxrss, others.ru_maxrss) / 1024, "diagrams": len(booklet.diagrams),
        "processor": sum(one.ru_utime + one.ru_stime for one in (own, others)),
    }))  # fmt: skip


def plain_pdf(main: str, frame: str, press, faults: Faults, target: Path) -> int:
    """One document, as one who has only WeasyPrint would make it."""
    from builder.press.weasy import Layout

    layout = Layout(press.setting(faults), faults)
    body = main.replace("</body>", "").replace("</html>", "") + frame.partition("<body>")[2]
    document = layout._render(layout._read_html(MARKED.sub("00", body)), None, None)
    document.write_pdf(target, pdf_tags=True)
    return len(document.pages)


# --- the measurements -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Cost:
    seconds: float
    pages: int
    bytes: int
    memory: float
    diagrams: int
    processor: float

    def row(self, name: str, floor: Cost) -> str:
        return (f"  {name:6} {self.seconds:7.1f} s {self.seconds / floor.seconds:5.2f} x floor   "
                f"{self.processor:6.1f} s of processor  {self.bytes / 1000:7.0f} kB  "
                f"{self.memory:5.0f} MB at most  {self.pages} pages")  # fmt: skip


def measured(kind: str, folder: Path) -> Cost:
    with tempfile.TemporaryDirectory() as out:
        done = subprocess.run([sys.executable, __file__, "--arm", kind, folder, Path(out, "x.pdf")],
                              capture_output=True, text=True, check=True)  # fmt: skip
    return Cost(**json.loads(done.stdout))


def diagrams(folder: Path, name: str) -> None:
    costs = {kind: measured(kind, folder) for kind in (FLOOR, OURS, PLAIN)}
    floor, ours, plain = costs.values()
    print(f"{name}: {ours.diagrams} diagrams")
    for kind, cost in costs.items():
        print(cost.row(kind, floor))
    print(f"  plain / ours: {plain.seconds / ours.seconds:.1f} in seconds, "
          f"{plain.processor / ours.processor:.1f} in processor, {plain.bytes / ours.bytes:.1f} in bytes, "
          f"{plain.memory / ours.memory:.1f} in memory", flush=True)  # fmt: skip


def growth(temporary: Path) -> None:
    print("growth, PDF alone:")
    first: Cost | None = None
    for size in (0.5, 1, 2, 4):
        cost = measured(OURS, sized(temporary, size))
        first = first or cost
        print(f"  {cost.pages:4} pages  {cost.seconds:6.1f} s ({cost.seconds / first.seconds:4.1f})  "
              f"{1000 * cost.seconds / cost.pages:4.0f} ms a page  {cost.memory:5.0f} MB in the largest "
              "process", flush=True)  # fmt: skip


def sized(temporary: Path, size: float) -> Path:
    """A booklet of about 200 pages and 200 diagrams times `size`."""
    folder = temporary / f"made-{size}"
    if not folder.exists():
        Made(round(600 * size), chapters=round(5 * size), diagrams=round(200 * size)).write(folder)
    return folder


def change(temporary: Path) -> None:
    folder = Path(shutil.copytree(ROOT / "content", temporary / "content",
                                  ignore=shutil.ignore_patterns("site", "pages")))  # fmt: skip
    cold = build(folder, temporary / "cold")
    chapter = sorted(folder.glob("chapters/*.md"))[3]
    text = chapter.read_text(encoding="utf-8")
    changed = text.replace(" the ", " each ", 1) if text.count(" the ") else text
    chapter.write_text(changed, encoding="utf-8")
    warm = build(folder, temporary / "warm")
    again = build(folder, temporary / "again", "--fresh")
    same = all(
        (temporary / "warm" / file.relative_to(temporary / "again")).read_bytes() == file.read_bytes()
        for file in (temporary / "again").rglob("*") if file.is_file()
    )  # fmt: skip
    print(f"a word of one chapter: {warm:.1f} s against {cold:.1f} s and {again:.1f} s from nothing: "
          f"{warm / cold:.2f} and {warm / again:.2f}; outputs {'the same' if same else 'DIFFER'}",
          flush=True)  # fmt: skip


def build(folder: Path, out: Path, *options: str) -> float:
    started = time.perf_counter()
    subprocess.run([sys.executable, "-m", "builder", "build", folder, "--out", out, *options],
                   cwd=ROOT, check=True, capture_output=True)  # fmt: skip
    return time.perf_counter() - started


def main() -> None:
    if sys.argv[1:2] == ["--arm"]:
        arm(sys.argv[2], Path(sys.argv[3]), Path(sys.argv[4]))
        return
    wanted = sys.argv[1:] or ["diagrams", "growth", "change"]
    with tempfile.TemporaryDirectory() as name:
        temporary = Path(name)
        os.environ["XDG_STATE_HOME"] = str(temporary / "state")
        if "diagrams" in wanted:
            diagrams(ROOT / "content", "content/")
            diagrams(sized(temporary, 2), "made")
        if "growth" in wanted:
            growth(temporary)
        if "change" in wanted:
            change(temporary)


if __name__ == "__main__":
    main()
