"""Codes on paper that lead to the site: read back from the rendered page by another's reader.

The reader is ZXing-C++ (PyPI zxing-cpp), which shares nothing with what draws the codes.
"""

from __future__ import annotations

import re
import subprocess

import pytest
from tiny import tiny, write_booklet

from builder.draw.qr import MODULE, QUIET, qr_code
from builder.faults import Faults
from builder.press.pdf import write_pdf
from builder.settings import read_settings
from builder.source.files import BookletFiles

ADDRESS = "https://club.example.org/a%20b/"
CHAPTER = """
    +++
    title = "A long title that needs the width of a line and some of the next"
    +++

    ```line main
    1. e4 e5 2. Nf3 (D)
    ```

    ```exercise e1 from "6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1"
    task: Mate.
    solution: 1. Ra8#
    ```
"""


def settings_text(theme: str, places: str, page: str = "A5") -> str:
    return (f'title = "T"\ndate = 2026-01-02\n[print]\ntheme = "{theme}"\npage = "{page}"\n'
            f'qr = [{places}]\n[site]\naddress = "{ADDRESS}"\n')  # fmt: skip


def made(folder, text: str):
    """The PDF of a booklet with these settings."""
    booklet = tiny(folder, CHAPTER, settings=text)
    assert not booklet.faults, booklet.told()
    faults = Faults()
    source = BookletFiles.at(folder).read("booklet.toml", faults)
    settings = read_settings(source, faults)
    target = folder / "out.pdf"
    facts = write_pdf(booklet.booklet, settings, folder, target, faults)
    assert facts and not faults.sorted(), [fault.as_text() for fault in faults.sorted()]
    return target


def read_codes(pdf, program) -> list[str]:
    """The codes of all pages, as they come out of a printer with 300 dots to the inch."""
    zxingcpp = pytest.importorskip("zxingcpp")
    from PIL import Image

    subprocess.run([program("pdftoppm"), "-gray", "-r", "300", str(pdf), str(pdf.with_suffix(""))],
                   check=True)  # fmt: skip
    pages = sorted(pdf.parent.glob(f"{pdf.stem}-*.pgm"))
    return [code.text for page in pages for code in zxingcpp.read_barcodes(Image.open(page))]


@pytest.mark.parametrize(
    ("theme", "page"), [("book", "A5"), ("handout", "105mm x 148mm")]
)
def test_codes_lead_to_the_sites_pages(tmp_path, program, theme, page):
    pdf = made(tmp_path, settings_text(theme, '"chapters", "exercises"', page))
    assert sorted(read_codes(pdf, program)) == [
        f"{ADDRESS}1.html", f"{ADDRESS}1.html#exercise-1"]  # fmt: skip
    text = subprocess.run([program("pdftotext"), str(pdf), "-"], capture_output=True, text=True)
    written = re.sub(r"\s", "", text.stdout)  # the written-out link may go over several lines
    assert "club.example.org/a%20b/1.html#exercise-1" in written


def test_only_where_they_are_wanted(tmp_path, program):
    pdf = made(tmp_path, settings_text("handout", '"exercises"', "105mm x 148mm"))
    assert read_codes(pdf, program) == [f"{ADDRESS}1.html#exercise-1"]


def test_a_codes_picture():
    """Four white modules all round, and each module as large as it should be."""
    code = qr_code("https://example.org/", "an & b")
    side = int(re.search(r'viewBox="0 0 (\d+)', code.svg)[1])
    starts = [(int(x), int(y), int(length))
              for x, y, length in re.findall(r"M(\d+) (\d+)h(\d+)", code.svg)]  # fmt: skip
    assert min(x for x, _, _ in starts) == QUIET == min(y for _, y, _ in starts)
    assert max(x + length for x, _, length in starts) == side - QUIET
    assert code.side == pytest.approx(side * MODULE)
    assert "<title>an &amp; b</title>" in code.svg


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[print]\nqr = ["chapters"]\n', "qr needs the address"),
        ('[print]\nqr = ["chapter"]\n[site]\naddress = "https://a.org"\n', "qr can't hold 'chapter'"),
        ('[print]\nqr = "chapters"\n', "qr must be a list"),
    ],
)
def test_faults_of_the_key(tmp_path, text, message):
    write_booklet(tmp_path, CHAPTER, settings='title = "T"\n' + text)
    faults = Faults()
    read_settings(BookletFiles.at(tmp_path).read("booklet.toml", faults), faults)
    found = faults.sorted()
    assert [(fault.code.split("-")[0], fault.place.line) for fault in found] == [("settings", 3)]
    assert message in found[0].message
