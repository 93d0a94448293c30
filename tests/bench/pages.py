"""Every page of the torture booklet and of the course, in both themes, on three sizes of paper and
in three languages: what is wrong with them, and how full they are. Takes its time:

    python -m tests.bench.pages                       # everything
    python -m tests.bench.pages book A5 en            # as much of it as these words leave
    python -m tests.bench.pages --pictures OUT …      # and contact sheets to look at

The words are themes, sizes, languages, and `torture` or `content`.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from itertools import product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from PIL import Image
from press.page_boxes import PAPERS, THEMES, faults_of, lay_out, print_to, shortness
from press.torture import LANGUAGES, write_torture

ROOT = Path(__file__).parents[2]
_MOST = 8  # faults that are told
_COLUMNS = 6  # pages across a contact sheet


def main(arguments: list[str]) -> int:
    pictures = None
    if arguments[:1] == ["--pictures"]:
        pictures, arguments = Path(arguments[1]), arguments[2:]
    with tempfile.TemporaryDirectory() as temporary:
        folders = {"torture": write_torture(Path(temporary) / "torture"), "content": ROOT / "content"}
        wrong = 0
        for case in product(folders, THEMES, PAPERS, LANGUAGES):
            if not all(set(arguments) & set(kind) <= {one} for kind, one in zip(
                    (folders, THEMES, PAPERS, LANGUAGES), case, strict=True)):  # fmt: skip
                continue
            name, theme, page, language = case
            parts = lay_out(folders[name], theme, page, language)
            faults, (ends, short, most) = faults_of(parts), shortness(parts)
            wrong += len(faults)
            print(f"{' '.join(case)}: {len(faults)} faults; {ends} ends of pages or columns, "
                  f"{short:.1%} short on average, {most} by more than a quarter")  # fmt: skip
            for fault in faults[:_MOST]:
                print(f"  {fault}")
            print(end="", flush=True)
            if pictures:
                pdf = pictures / f"{'-'.join(case)}.pdf"
                print_to(folders[name], theme, page, language, pdf)
                contact_sheet(pdf)
    return min(wrong, 1)


def contact_sheet(pdf: Path) -> None:
    with tempfile.TemporaryDirectory() as temporary:
        subprocess.run(["pdftoppm", "-r", "50", "-png", pdf, f"{temporary}/p"], check=True)
        pages = [Image.open(path) for path in sorted(Path(temporary).glob("*.png"))]
        width, height = pages[0].width + 6, pages[0].height + 6
        sheet = Image.new("RGB", (_COLUMNS * width, -(-len(pages) // _COLUMNS) * height), "grey")
        for number, page in enumerate(pages):
            sheet.paste(page, (number % _COLUMNS * width + 3, number // _COLUMNS * height + 3))
        sheet.save(pdf.with_suffix(".png"))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
