"""The booklet as a PDF: page sizes, numbers, links, fonts, boards, the same bytes.

What the PDF holds is read by qpdf and Poppler, which had no part in making it.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import unicodedata
from dataclasses import dataclass, replace
from pathlib import Path

import pypdf
import pytest
from board_text import placement_of
from tiny import tiny, write_booklet

from builder.draw import glyphs
from builder.faults import Fault, Faults
from builder.model import Booklet
from builder.press.pdf import PdfFacts, write_pdf
from builder.settings import PAGE_SIZES, read_settings
from builder.source.files import BookletFiles

SETTINGS = """\
title = "Two \\"Knights\\" & a Bishop"
subtitle = "For Black"
author = "A. Nobody"
edition = "3rd edition"
date = 2026-01-02
side = "black"
"""
FIRST = """\
# The first part

Words before the moves. The bishop comes to c5, and [@italian] tells why. Unquestionably the
counterattacking possibilities notwithstanding, uncompromising simplification characteristically
disappoints: international correspondence championships demonstrate misunderstandings.

## Quiet moves

```line main
1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 @italian (D "Both bishops look at f-pawns" plan c4-f7 key f7)
4. c3 (4. b4 Bxb4 5. c3 Ba5 (5... Bc5 6. d4 exd4) 6. d4 {White plays for time.}) Nf6
5. d3 O-O
```

A note.[^n] Then [4...Qe7].

[^n]: The note itself.

```exercise e1 from @italian
task: White to move. What is natural?
solution: 4. c3 Nf6
```
"""
SECOND = """\
# The second part

```line other from @italian
4. d3 d6 @slow (D "Slow" flip small)
```

![a standing board](@slow)
"""


@dataclass(frozen=True)
class Made:
    """A PDF that was made, with what was told on the way."""

    booklet: Booklet
    path: Path
    facts: PdfFacts | None
    faults: tuple[Fault, ...]

    def pages(self) -> list[str]:
        """The text of each page, as Poppler reads it."""
        out = subprocess.run(["pdftotext", "-layout", self.path, "-"], check=True,
                             capture_output=True, encoding="utf-8").stdout  # fmt: skip
        return out.split("\f")[:-1]


def made(folder: Path, *chapters: str, settings: str = SETTINGS, name: str = "out.pdf",
         **printed) -> Made:  # fmt: skip
    """`printed` changes the print settings."""
    booklet = tiny(folder, *chapters, settings=settings)
    assert not [fault for fault in booklet.faults if fault.severity > 1], booklet.told()
    faults = Faults()
    source = BookletFiles.at(folder).read("booklet.toml", faults)
    given = read_settings(source, faults)
    assert given is not None
    given = replace(given, print=replace(given.print, **printed))
    target = folder / name
    facts = write_pdf(booklet.booklet, given, folder, target, faults)
    return Made(booklet.booklet, target, facts, faults.sorted())


@pytest.fixture(scope="module")
def book(tmp_path_factory) -> Made:
    return made(tmp_path_factory.mktemp("book"), FIRST, SECOND)


def info(path: Path, *options: str) -> str:
    return subprocess.run(["pdfinfo", *options, path], check=True, capture_output=True,
                          encoding="utf-8").stdout  # fmt: skip


def test_nothing_is_told(book):
    """A plain booklet in our themes: no warning of WeasyPrint's, no letter without a font."""
    assert [fault.as_text() for fault in book.faults] == []


# --- pages ------------------------------------------------------------------------------------

# Millimetres. A4, A5, B5: ISO 216:2007, tables 1 and 2. Letter: ANSI/ASME Y14.1, size A, 8.5 by
# 11 inches; Half-Letter is that sheet folded once (its name: common practice, no source).
SHEETS = {
    "A4": (210, 297),
    "A5": (148, 210),
    "B5": (176, 250),
    "Letter": (8.5 * 25.4, 11 * 25.4),
    "Half-Letter": (5.5 * 25.4, 8.5 * 25.4),
}


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("theme", ["book", "handout"])
def test_page_sizes(tmp_path, program, name, theme):
    program("pdfinfo")
    width, height = PAGE_SIZES[name]
    one = made(tmp_path, SECOND.split("```line")[0] + "Words.\n", theme=theme, width=width,
               height=height)  # fmt: skip
    found = re.findall(r"^Page +\d+ size: +([\d.]+) x ([\d.]+) pts", info(one.path, "-l", "99"), re.M)
    assert found
    for size in found:
        points = [float(side) for side in size]
        assert points == pytest.approx([side / 25.4 * 72 for side in SHEETS[name]], abs=0.01)


def test_a_free_size_with_bleed(tmp_path, program):
    program("pdfinfo")
    one = made(tmp_path, "# A\n\nWords.\n", width=120.0, height=180.0, bleed=3.0)
    boxes = info(one.path, "-box", "-f", "1", "-l", "1")
    trim = [float(side) for side in re.search(r"TrimBox: +(.*)", boxes).group(1).split()]
    media = [float(side) for side in re.search(r"MediaBox: +(.*)", boxes).group(1).split()]
    points = 72 / 25.4
    assert trim[2] - trim[0] == pytest.approx(120 * points, abs=0.01)
    assert media[2] - media[0] == pytest.approx(126 * points, abs=0.01)
    assert media[3] - media[1] == pytest.approx(186 * points, abs=0.01)


def test_chapters_open_on_right_hand_pages_and_count_from_one(book):
    reader = pypdf.PdfReader(book.path)
    labels = reader.page_labels
    front = book.facts.front_pages
    assert front % 2 == 0
    assert labels[: front + 2] == ["i", "ii", "iii", "iv"][:front] + ["1", "2"]
    assert len(labels) == book.facts.pages
    for chapter in ("chapter.1", "chapter.2"):
        assert book.facts.page_of[chapter] % 2 == 1


def test_the_text_stands_further_from_the_outer_edge_than_from_the_inner(book, program):
    program("pdftotext")
    out = subprocess.run(["pdftotext", "-bbox", book.path, "-"], check=True, capture_output=True,
                         encoding="utf-8").stdout  # fmt: skip
    for number, page in enumerate(out.split("<page ")[1:], start=1):
        lefts = [float(x) for x in re.findall(r'xMin="([\d.]+)"', page)]
        rights = [float(x) for x in re.findall(r'xMax="([\d.]+)"', page)]
        width = float(re.search(r'width="([\d.]+)"', page).group(1))
        inner, outer = width / 12, width / 6
        left, right = (inner, outer) if number % 2 else (outer, inner)
        hanging = 12  # points: coordinates hang outside the text block
        for one, other in zip(lefts, rights, strict=True):
            assert one >= left - hanging and other <= width - right + 1, (number, one, other)


def test_running_heads_and_numbers(book, program):
    program("pdftotext")
    pages = book.pages()
    front = book.facts.front_pages
    chapter_two = pages[front + book.facts.page_of["chapter.2"] - 1]
    assert "The second part" in chapter_two
    assert chapter_two.count("The second part") == 1  # no running head where it opens
    second = pages[front + 1]
    assert second.lstrip().startswith("The first part")
    assert re.search(r"^ *2 *$", second, re.M)
    assert re.search(r"^ *iii *$", pages[2], re.M)


def test_running_heads_give_chapter_and_section(tmp_path, program):
    """The chapter on the left; on the right the section that is going on where the page ends."""
    program("pdftotext")
    words = "Words that fill a line or two of a page of this size, and then some more. " * 8
    long = f"{words}\n\n" * 9
    text = f"# The chapter\n\n{long}{long}## Early\n\n{long}## Late\n\n{long}{long}"
    one = made(tmp_path, text, width=148.0, height=210.0)
    heads = [page.strip().split("\n")[0].strip() for page in one.pages()[one.facts.front_pages :]]
    assert heads[:7] == ["Chapter 1", "The chapter", "The chapter", "The chapter", "Early",
                         "The chapter", "Late"]  # fmt: skip


# --- the parts --------------------------------------------------------------------------------


def test_the_parts_stand_in_order(book, program):
    program("pdftotext")
    text = "\f".join(book.pages())
    order = ["For Black", "3rd edition, 2 January 2026", "Contents", "The first part",
             "Quiet moves", "1.e4 e5", "Exercise 1", "The note itself", "a standing board",
             "Solution 1", "Index of positions", "Index of variations",
             "Index of named positions"]  # fmt: skip
    at = 0
    for words in order:
        found = text.find(words, at)
        assert found >= 0, f"{words} is not behind what stands before it"
        at = found


def test_page_references_tell_the_page_where_the_thing_stands(book, program):
    program("pdftotext")
    pages = book.pages()
    front, page_of = book.facts.front_pages, book.facts.page_of
    text = " ".join(" ".join(pages).split())
    assert f"and Diagram 1, page {page_of['diagram-1']} tells why" in text
    for number in (1, 2, 3):
        page = page_of[f"diagram-{number}"]
        assert f"Diagram {number}" in pages[front + page - 1]
        assert f"Diagram {number}, page {page}" in text
    contents = pages[2]
    for title, anchor in (("The second part", "chapter.2"), ("Solutions", "solutions"),
                          ("Index of positions", "positions")):  # fmt: skip
        assert re.search(rf"{title} +{page_of[anchor]}$", contents, re.M)
        assert title in pages[front + page_of[anchor] - 1]


def test_every_move_has_its_page(book):
    page_of = book.facts.page_of
    plies = [ply for chapter in book.booklet.chapters for line in chapter.lines
             for ply in line.plies()]  # fmt: skip
    assert len(plies) > 20
    assert [ply for ply in plies if ply.anchor not in page_of] == []
    assert page_of[plies[0].anchor] == page_of["chapter.1"]
    assert {"solution-1", "exercise-1"} <= set(page_of)


def test_bookmarks_lead_through_the_parts(book):
    reader = pypdf.PdfReader(book.path)

    def titles(items, depth=0):
        for item in items:
            if isinstance(item, list):
                yield from titles(item, depth + 1)
            else:
                yield depth, item.title, reader.get_destination_page_number(item)

    found = list(titles(reader.outline))
    front = book.facts.front_pages
    assert [title for depth, title, _ in found if depth == 0] == [
        "Two “Knights” & a Bishop", "Contents", "The first part", "The second part", "Solutions",
        "Index of positions", "Index of variations", "Index of named positions",
    ]  # fmt: skip
    assert (1, "Quiet moves", front) in found
    assert (0, "The second part", front + book.facts.page_of["chapter.2"] - 1) in found


def test_every_link_leads_somewhere(book):
    reader = pypdf.PdfReader(book.path)
    known = set(reader.named_destinations)
    goals = []
    for page in reader.pages:
        for reference in page.get("/Annots", []):
            goals.append(str(reference.get_object()["/Dest"]))
    assert {"diagram-1", "chapter.2", "solution-1", "exercise-1", "positions"} <= set(goals)
    assert set(goals) <= known


def test_the_description_of_the_document(book, program):
    program("pdfinfo")
    told = info(book.path)
    assert re.search(r'^Title: +Two “Knights” & a Bishop: For Black$', told, re.M)
    assert re.search(r"^Author: +A\. Nobody$", told, re.M)
    assert re.search(r"^CreationDate: +Fri Jan +2 00:00:00 2026", told, re.M)
    assert re.search(r"^Tagged: +yes$", told, re.M)
    assert re.search(r"^JavaScript: +no$", told, re.M)
    assert pypdf.PdfReader(book.path).root_object["/Lang"] == "en"


# --- soundness --------------------------------------------------------------------------------


def test_qpdf_finds_nothing(book, program):
    """qpdf checks the cross-reference table, the streams and the objects' syntax."""
    done = subprocess.run([program("qpdf"), "--check", book.path], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout


def test_all_fonts_are_ours_and_embedded(book, program):
    done = subprocess.run([program("pdffonts"), book.path], check=True, capture_output=True,
                          text=True)  # fmt: skip
    rows = done.stdout.splitlines()[2:]
    assert rows
    for row in rows:
        name, (embedded, subset, unicode_map) = row.split()[0], row.split()[-5:-2]
        assert (embedded, subset, unicode_map) == ("yes", "yes", "yes"), row
        assert name.split("+")[1].startswith(("Source-S", "Plyleaf-")), row


def test_boards_are_read_back(book, program):
    """The text of a board is its position, square by square."""
    program("pdftotext")
    read = [line for page in book.pages() for line in page.splitlines()]
    squares = [
        "".join(letter for letter in line if letter in glyphs.GLYPH_TO_PIECE)
        for line in read
    ]
    marks = re.compile("[\u2460-\u2467]")  # the ranks' digits stand in front of a board's rows
    rows = [row for row, line in zip(squares, read, strict=True) if marks.search(line)]
    boards = [placement_of([row[:8] for row in rows[at : at + 8]])
              for at in range(0, len(rows), 8)]  # fmt: skip
    italian = "r1bqk1nr/pppp1ppp/2n5/2b1p3/2B1P3/5N2/PPPP1PPP/RNBQK2R"
    assert boards[:2] == [italian, italian]  # the diagram and the exercise


def test_moves_are_text_in_standard_letters(book, program):
    """Figurines are a matter of the font: what is copied is SAN."""
    program("pdftotext")
    text = " ".join(" ".join(book.pages()).split())
    assert "1.e4 e5 2.Nf3 Nc6 3.Bc4 Bc5" in text
    assert "5.d3 0-0" in text
    assert "\u2010" not in text  # a hyphen at a line's end has the glyph of the one in 0-0
    assert unicodedata.normalize("NFC", text) == text


def test_no_line_ends_between_a_number_and_its_move(tmp_path, program):
    program("pdftotext")
    knights = " ".join(f"{n}. N{a} N{b}" for n, (a, b) in enumerate(
        [("f3", "f6"), ("g1", "g8"), ("c3", "c6"), ("b1", "b8")] * 20, start=1))  # fmt: skip
    one = made(tmp_path, f"# A\n\n```line main\n{knights}\n```\n", theme="handout")
    lines = "\n".join(one.pages()).splitlines()
    assert sum(line.count("N") for line in lines) > 100
    assert not [line for line in lines if re.search(r"\d+\.+$", line.strip())]


def test_same_bytes_in_another_process_at_another_time(tmp_path):
    """`PYTHONHASHSEED` and the clock differ; SOURCE_DATE_EPOCH is the same."""
    folder = write_booklet(tmp_path / "one", FIRST, SECOND, settings=SETTINGS)
    script = (
        "import sys, time, json\n"
        "from pathlib import Path\n"
        "time.time = (lambda then: lambda: then)(float(sys.argv[2]))\n"
        "from builder.book.make import make_booklet\n"
        "from builder.faults import Faults\n"
        "from builder.press.pdf import write_pdf\n"
        "from builder.source.booklet import read_booklet\n"
        "faults = Faults()\n"
        "folder = Path(sys.argv[1])\n"
        "source = read_booklet(folder, faults)\n"
        "booklet = make_booklet(source, faults)\n"
        "write_pdf(booklet, source.settings, folder, Path(sys.argv[3]), faults)\n"
        "print(json.dumps([fault.as_text() for fault in faults.sorted()]))\n"
    )
    made_pdfs = []
    for seed, now in (("1", "1700000000"), ("2", "1800000000")):
        target = tmp_path / f"{seed}.pdf"
        done = subprocess.run(
            [sys.executable, "-c", script, folder, now, target], check=True, text=True,
            capture_output=True, cwd=Path(__file__).parents[2],
            env={"PATH": "/usr/bin:/bin", "PYTHONHASHSEED": seed, "SOURCE_DATE_EPOCH": "1767312000",
                 "PYTHONPATH": str(Path(__file__).parents[2])},
        )  # fmt: skip
        assert json.loads(done.stdout) == []
        made_pdfs.append(target.read_bytes())
    assert made_pdfs[0] == made_pdfs[1]


# --- languages, themes ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("language", "words"),
    [("de", ("Inhalt", "Diagramm 1, Seite", "2.Sf3")), ("fr", ("Diagramme 1", "2.Cf3"))],
)
def test_the_language_of_the_booklet(tmp_path, program, language, words):
    program("pdftotext")
    settings = f'{SETTINGS}language = "{language}"\nnotation = "letters"\n'
    one = made(tmp_path, FIRST, settings=settings)
    text = " ".join(" ".join(one.pages()).split())
    for word in words:
        assert word in text
    assert [fault.as_text() for fault in one.faults] == []


def test_a_handout_has_neither_front_nor_indexes(tmp_path, program):
    program("pdftotext")
    one = made(tmp_path, FIRST, theme="handout")
    assert [fault.as_text() for fault in one.faults] == []
    assert one.facts.front_pages == 0
    pages = one.pages()
    assert pages[0].lstrip().startswith("Two “Knights” & a Bishop")
    assert "Index" not in "".join(pages)
    assert f"1\u2009/\u2009{len(pages)}" in pages[0] or f"1/{len(pages)}" in pages[0]
