"""Preflight: every planted fault is caught by its own check, and a clean document passes."""

from __future__ import annotations

import json
import random
import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from press.pdfs import A4, A5, CLEAN_PAGE, MM, Document, dictionary, document
from pypdf import PdfReader
from pypdf.generic import ArrayObject, NameObject, NumberObject, TextStringObject
from tiny import write_booklet

from builder.errands import press
from builder.faults import Faults
from builder.press.geometry import page_shape
from builder.press.job import Job, Layout
from builder.press.pdf_files import PdfFile
from builder.press.preflight import Preflight, preflight
from builder.press.preflight_ink import Image, Text
from builder.press.preflight_walk import Budget, page_ink


def look(path: Path, job: Job | None = None) -> Preflight:
    faults = Faults()
    found = preflight(PdfFile(path), job, faults)
    assert found is not None, [fault.as_text() for fault in faults.sorted()]
    return found


def failed(found: Preflight) -> dict[str, list[str]]:
    return {row.check: [one.words for one in row.findings] for row in found.rows if not row.passed}


def test_a_clean_document_passes(tmp_path):
    found = look(document().write(tmp_path / "clean.pdf"))
    assert failed(found) == {} and found.passed
    assert {row.check: row.looked_at for row in found.rows} == {
        "page size": "148 × 210 mm",
        "page boxes": "no bleed",
        "page count": "8 pages, folded as a booklet",
        "fonts": "1 embedded",
        "text size": "the smallest is 9.0 pt, wanted 6.5 pt",
        "pictures": "8, the coarsest has 300 dpi, wanted 300 dpi",
        "margins": "21.2 mm are kept clear, wanted 5 mm",
        "greys and hairlines":
            "wanted: text from 40 %, the rest from 10 % grey, lines from 0.25 pt",
        "annotations": "0 boards, 0 with annotations",
        "links": "3 links and bookmarks",
        "claims": "says to be neither PDF/A nor PDF/UA",
    }


# --- planted faults -----------------------------------------------------------------------------


def font_left_out(pdf: Document) -> None:
    pdf.embedded = False


def coarse_picture(pdf: Document) -> None:
    pdf.pixels = 72


def coarse_inline_picture(pdf: Document) -> None:
    pdf.pages[2] += "q 72 0 0 72 60 100 cm BI /W 2 /H 2 /CS /G /BPC 8 ID \x00\xff\x00\xff EI Q"


def small_text(pdf: Document) -> None:
    pdf.pages[3] += "BT /F1 5 Tf 60 100 Td (fine print) Tj ET"


def small_text_by_its_matrix(pdf: Document) -> None:
    pdf.pages[3] += "BT /F1 10 Tf 0.5 0 0 0.5 60 100 Tm (fine print) Tj ET"


def small_text_in_a_form(pdf: Document) -> None:
    pdf.form = "BT /F1 10 Tf 60 100 Td (fine print) Tj ET"
    pdf.pages[3] += "q 0.5 0 0 0.5 40 40 cm /X1 Do Q"


def text_in_margin(pdf: Document) -> None:
    pdf.pages[4] += "BT /F1 9 Tf 4 100 Td (lost) Tj ET"


def text_running_out(pdf: Document) -> None:
    pdf.pages[4] += "BT /F1 9 Tf 400 100 Td (runs over the edge) Tj ET"


def text_in_margin_of_a_turned_page(pdf: Document) -> None:
    pdf.sizes[4], pdf.rotations[4] = A5[::-1], 90
    pdf.pages[4] = f"BT /F1 9 Tf 100 {A5[0] - 8:.0f} Td (lost) Tj ET"


def area_over_the_edge(pdf: Document) -> None:
    pdf.pages[4] += "0.5 g 0 100 60 40 re f"


def short_bleed(pdf: Document) -> None:
    """There is a bleed, but the area ends at the trimmed edge."""
    width, height = A5[0] + 6 * MM, A5[1] + 6 * MM
    pdf.sizes[4] = (width, height)
    pdf.trims[4] = (3 * MM, 3 * MM, width - 3 * MM, height - 3 * MM)
    pdf.bleeds[4] = (0, 0, width, height)
    pdf.pages[4] += f"0.5 g {3 * MM:.2f} 100 60 40 re f"


def one_page_short(pdf: Document) -> None:
    del pdf.pages[-1], pdf.sizes[-1]


def another_size(pdf: Document) -> None:
    pdf.sizes[5] = (A5[0] + 20, A5[1])


def hairline(pdf: Document) -> None:
    pdf.pages[6] += "0 w 0 G 60 90 m 200 90 l S"


def hairline_by_its_matrix(pdf: Document) -> None:
    pdf.pages[6] += "q 0.1 0 0 0.1 0 0 cm 1 w 0 G 600 900 m 2000 900 l S Q"


def thin_area(pdf: Document) -> None:
    pdf.pages[6] += "0 g 60 90 200 0.1 re f"


def pale_text(pdf: Document) -> None:
    pdf.pages[6] += "0.85 0.85 0.85 rg BT /F1 9 Tf 60 100 Td (pale) Tj ET"


def pale_yellow_text(pdf: Document) -> None:
    """Dark enough in colour, light on a printer with one ink."""
    pdf.pages[6] += "0 0 1 0 k BT /F1 9 Tf 60 100 Td (yellow) Tj ET"


def pale_area(pdf: Document) -> None:
    pdf.pages[6] += "0.96 g 60 90 200 20 re f"


def white_text(pdf: Document) -> None:
    pdf.pages[6] += "1 g BT /F1 9 Tf 60 100 Td (gone) Tj ET"


def unknown_place(pdf: Document) -> None:
    pdf.links.append(dictionary(S="/GoTo", D=TextStringObject("nowhere")))


def page_that_is_not_there(pdf: Document) -> None:
    target = ArrayObject([NumberObject(99), NameObject("/Fit")])
    pdf.links.append(dictionary(S="/GoTo", D=target))


def half_an_address(pdf: Document) -> None:
    pdf.links.append(dictionary(S="/URI", URI=TextStringObject("https:///page")))


def file_address(pdf: Document) -> None:
    pdf.links.append(dictionary(S="/URI", URI=TextStringObject("file:///etc/passwd")))


def program_link(pdf: Document) -> None:
    pdf.links.append(dictionary(S="/JavaScript", JS=TextStringObject("app.alert(1)")))


def bad_bookmark(pdf: Document) -> None:
    pdf.bookmark = TextStringObject("nowhere")


def opening_program(pdf: Document) -> None:
    pdf.actions = dictionary(S="/JavaScript", JS=TextStringObject("app.alert(1)"))


@pytest.mark.parametrize(
    ("plant", "check", "words"),
    [
        (font_left_out, "fonts", "Source-Sans-3 is not in the file"),
        (coarse_picture, "pictures", "72 dpi: a picture of 72 × 72 pixels"),
        (coarse_inline_picture, "pictures", "2 dpi: a picture of 2 × 2 pixels"),
        (small_text, "text size", "5.0 pt: “fine print”"),
        (small_text_by_its_matrix, "text size", "5.0 pt: “fine print”"),
        (small_text_in_a_form, "text size", "5.0 pt: “fine print”"),
        (text_in_margin, "margins", "“lost” is 1.4 mm from the edge"),
        (text_running_out, "margins", "“runs over the edge” is 0.0 mm from the edge"),
        (text_in_margin_of_a_turned_page, "margins", "“lost” is 0.3 mm from the edge"),
        (area_over_the_edge, "margins", "a line or area is 0.0 mm from the edge"),
        (short_bleed, "margins", "a line or area is 0.0 mm from the edge"),
        (one_page_short, "page count", "a folded booklet has four pages to a sheet: 1 too few; binding = \"stapled\" adds them"),
        (another_size, "page size", "155 × 210 mm, the first page is 148 × 210 mm"),
        (hairline, "greys and hairlines", "a line of 0.00 pt"),
        (hairline_by_its_matrix, "greys and hairlines", "a line of 0.10 pt"),
        (thin_area, "greys and hairlines", "a line of 0.10 pt"),
        (pale_text, "greys and hairlines", "text in 15 % grey: “pale”"),
        (pale_yellow_text, "greys and hairlines", "text in 11 % grey: “yellow”"),
        (pale_area, "greys and hairlines", "a line or area in 4 % grey"),
        (white_text, "greys and hairlines", "white text on paper: “gone”"),
        (unknown_place, "links", "there is no place called nowhere"),
        (page_that_is_not_there, "links", "it leads to a page that is not there"),
        (half_an_address, "links", "https:///page is not whole"),
        (file_address, "links", "file:///etc/passwd is no address of the web"),
        (program_link, "links", "it does something else than lead to a place (JavaScript)"),
        (bad_bookmark, "links", "the bookmark 'The end': there is no place called nowhere"),
        (opening_program, "links", "it does something when it is opened (JavaScript)"),
    ],
    ids=lambda value: value.__name__ if callable(value) else "",
)
def test_a_planted_fault_is_caught(tmp_path, plant: Callable[[Document], None], check, words):
    pdf = document()
    plant(pdf)
    told = failed(look(pdf.write(tmp_path / "planted.pdf")))
    assert list(told) == [check]
    assert told[check][0].startswith(words), told


def test_findings_name_their_page(tmp_path):
    pdf = document()
    small_text(pdf)
    found = look(pdf.write(tmp_path / "planted.pdf"))
    assert [one.page for row in found.rows for one in row.findings] == ["4"]


# --- what is no fault ---------------------------------------------------------------------------


def whole_bleed(pdf: Document) -> None:
    width, height = A5[0] + 6 * MM, A5[1] + 6 * MM
    for number in range(len(pdf.pages)):
        pdf.sizes[number] = (width, height)
        pdf.trims[number] = (3 * MM, 3 * MM, width - 3 * MM, height - 3 * MM)
        pdf.bleeds[number] = (0, 0, width, height)
    pdf.pages[4] += f"0.5 g 0 {height - 100:.2f} 60 100 re f"


def marks_outside(pdf: Document) -> None:
    whole_bleed(pdf)
    pdf.pages[4] += "\n0.5 w 0 G 0 20 m 5 20 l S"


def unseen_text(pdf: Document) -> None:
    pdf.pages[4] += "BT 3 Tr /F1 2 Tf 4 100 Td (for a search) Tj ET"


def spaces_in_margin(pdf: Document) -> None:
    pdf.pages[4] += "BT /F1 9 Tf 60 100 Td (short line                                            "
    pdf.pages[4] += "                                                        ) Tj ET"


def clipped_away(pdf: Document) -> None:
    pdf.pages[4] += "q 60 60 100 100 re W n BT /F1 9 Tf 4 20 Td (cut) Tj ET 0 0 900 900 re f Q"


def white_on_black(pdf: Document) -> None:
    pdf.pages[4] += "0 g 50 90 200 40 re f 1 g BT /F1 9 Tf 60 100 Td (white on black) Tj ET"


def paper_on_paper(pdf: Document) -> None:
    pdf.pages[4] += "1 g 0 0 900 900 re f 0 w 1 G 0 0 m 400 400 l S"


@pytest.mark.parametrize(
    "harmless",
    [whole_bleed, marks_outside, unseen_text, spaces_in_margin, clipped_away, white_on_black,
     paper_on_paper],
    ids=lambda value: value.__name__,
)  # fmt: skip
def test_what_is_no_fault_passes(tmp_path, harmless):
    pdf = document()
    harmless(pdf)
    assert failed(look(pdf.write(tmp_path / "harmless.pdf"))) == {}


# --- the job ------------------------------------------------------------------------------------


def test_sizes_are_those_on_paper(tmp_path):
    """A4 pages folded on A4 are 71 % of their size: 9 pt text is 6.4 pt then."""
    pdf = document()
    pdf.sizes = [A4] * 8
    path = pdf.write(tmp_path / "a4.pdf")
    assert failed(look(path)) == {}
    told = failed(look(path, Job(sheet="A4")))
    assert list(told) == ["text size"] and told["text size"][0] == "6.4 pt: “Text of a page”"
    assert failed(look(path, Job(sheet="A3"))) == {}


def test_page_counts_by_layout(tmp_path):
    pdf = document(7)
    path = pdf.write(tmp_path / "seven.pdf")
    assert list(failed(look(path, Job(Layout.BOOKLET)))) == ["page count"]
    assert failed(look(path, Job(Layout.STACK))) == {}
    thick = document(84).write(tmp_path / "thick.pdf")
    assert list(failed(look(thick))) == ["page count"]
    assert failed(look(thick, Job(signature=7))) == {}


# --- boards -------------------------------------------------------------------------------------

ROWS = ("rnbqkbnr", "pppppppp", *("........",) * 4, "PPPPPPPP", "RNBQKBNR")


def board_page(first: str, second: str) -> str:
    """A board of 160 points with two arrows in these colours."""
    lines = " 0 -20 Td ".join(f"({row}) Tj" for row in ROWS)
    return (
        f"BT /F1 20 Tf 60 300 Td {lines} ET\n"
        f"2 w {first} RG 100 200 m 140 260 l S {second} RG 120 200 m 150 240 l S\n"
    )


@pytest.mark.parametrize(
    ("first", "second", "told"),
    [
        ("0.8 0 0", "0 0.41 0", True), ("0.8 0 0", "0.8 0 0", False),
        ("0 0 0", "0.5 0.5 0.5", False), ("0.24 0.24 0.24", "0.24 0.24 0.24", False),
    ],
    ids=["red and green of one grey", "one colour", "black and grey", "one grey"],
)  # fmt: skip
def test_annotations_told_apart_in_grey(tmp_path, first, second, told):
    pdf = document(4)
    pdf.base_font = "/Plyleaf-Board"
    pdf.pages = [board_page(first, second)] * 4
    found = look(pdf.write(tmp_path / "boards.pdf"))
    assert ("annotations" in failed(found)) == told
    (row,) = [row for row in found.rows if row.check == "annotations"]
    assert row.looked_at == "4 boards, 4 with annotations"


CHAPTER = """\
    # One

    ```line main
    1. e4 (D "All of them" plan g1-f3 threat e4-e5 guard f1-c4 key d4 d5 weak f7) e5
    (D "From the other side" flip plan b8-c6-d4)
    ```
    """


@pytest.fixture(scope="module")
def booklet(tmp_path_factory) -> Path:
    return write_booklet(tmp_path_factory.mktemp("booklet"), CHAPTER)


def look_at_folder(folder: Path) -> Preflight:
    faults = Faults()
    found = press.preflight(folder, Job(Layout.ONE), faults)
    assert found is not None, [fault.as_text() for fault in faults.sorted()]
    return found


def test_a_booklet_passes_as_it_is_made(booklet):
    found = look_at_folder(booklet)
    assert failed(found) == {}
    (row,) = [row for row in found.rows if row.check == "annotations"]
    assert row.looked_at.endswith("2 with annotations")


@pytest.mark.parametrize(
    ("style", "check", "words"),
    [
        (".pboard svg { visibility: hidden }", "annotations",
         "diagram 1: 7 of its annotations' shapes are missing or too light"),
        (".pboard svg { opacity: 0.3 }", "annotations", "diagram 1: "),
        ("body { color: #ddd }", "greys and hairlines", "text in 13 % grey"),
        ("p, figcaption { font-size: 5pt }", "text size", "5.0 pt"),
    ],
    ids=["hidden annotations", "pale annotations", "pale text", "small text"],
)  # fmt: skip
def test_a_theme_of_ones_own_is_found_out(tmp_path, style, check, words):
    folder = write_booklet(tmp_path, CHAPTER)
    (folder / "theme" / "print").mkdir(parents=True)
    (folder / "theme" / "print" / "zz.css").write_text(style)
    told = failed(look_at_folder(folder))
    assert check in told and any(one.startswith(words) for one in told[check]), told


# --- against other programs ---------------------------------------------------------------------


def inks(path: Path) -> list[list]:
    reader = PdfReader(path)
    budget = Budget(reader)
    return [page_ink(page, page_shape(page), budget) for page in reader.pages]


def test_places_and_words_of_text_as_another_program_reads_them(booklet, tmp_path, program):
    """poppler's pdftotext: every word that it finds lies in a text of ours that has it."""
    with press._finished(booklet, Faults(), press.no_progress) as finished:
        assert finished is not None
        path = tmp_path / "booklet.pdf"
        path.write_bytes(finished.pdf.path.read_bytes())
    told = subprocess.run([program("pdftotext"), "-bbox", path, "-"], check=True,
                          capture_output=True, text=True).stdout  # fmt: skip
    pages = told.split("<page ")[1:]
    compared = 0
    for page, ours in zip(pages, inks(path), strict=True):
        height = float(re.search(r'height="([\d.]+)"', page)[1])
        texts = [ink for ink in ours if isinstance(ink, Text)]
        for match in re.finditer(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" '
                                 r'yMax="([\d.-]+)">([A-Za-z]{3,})</word>', page):  # fmt: skip
            left, top, right, bottom = map(float, match.groups()[:4])
            middle = height - (top + bottom) / 2
            assert any(
                match[5] in ink.text and ink.box.left - 0.6 <= left and right <= ink.box.right + 0.6
                and ink.box.bottom - 2 <= middle <= ink.box.top + 2 for ink in texts
            ), match[0]  # fmt: skip
            compared += 1
    assert compared > 10


def test_resolutions_as_another_program_reads_them(tmp_path, program):
    """poppler's pdfimages tells the pixels an inch of each picture as it is placed."""
    pdf = document(4)
    for number, size in enumerate((72, 50.5, 144, 200)):
        pdf.pages[number] = f"q {size} 0 0 {size} 60 100 cm /I1 Do Q"
    path = pdf.write(tmp_path / "pictures.pdf")
    told = subprocess.run([program("pdfimages"), "-list", path], check=True, capture_output=True,
                          text=True).stdout  # fmt: skip
    theirs = [int(line.split()[12]) for line in told.splitlines()[2:]]
    ours = [round(ink.dpi) for page in inks(path) for ink in page if isinstance(ink, Image)]
    assert ours == theirs


@pytest.mark.parametrize("embedded", [True, False])
def test_embedding_as_another_program_reads_it(tmp_path, program, embedded):
    pdf = document()
    pdf.embedded = embedded
    path = pdf.write(tmp_path / "fonts.pdf")
    told = subprocess.run([program("pdffonts"), path], check=True, capture_output=True, text=True)
    theirs = told.stdout.splitlines()[2].split()[-5] == "yes"
    ours = {ink.font.is_embedded for page in inks(path) for ink in page if isinstance(ink, Text)}
    assert ours == {theirs} == {embedded}


# --- hostile files ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "content",
    [
        "q " * 5000, "Q " * 50, "/X1 Do", "/None Do /F9 9 Tf (x) Tj /G gs /P scn", "1 2 3 re f",
        "BT (no font) Tj ET", "BT /F1 1e400 Tf (x) Tj ET", "(open string", "[1 2 Tj",
        "0 0 0 0 0 0 cm f", "1 0 0 1 nan 0 cm", "BI /W 9 /H 9 ID", "]] >> << /a", "\xff\xfe\x00\x01",
    ],
)  # fmt: skip
def test_broken_contents_are_passed_over_or_told(tmp_path, content):
    pdf = document(4)
    pdf.pages[1] = content
    faults = Faults()
    found = preflight(PdfFile(pdf.write(tmp_path / "broken.pdf")), None, faults)
    assert found is not None or [fault.code for fault in faults.sorted()] == ["press-read"]


def test_a_form_that_draws_itself_ends(tmp_path):
    pdf = document(4)
    pdf.pages[1] = "/X1 Do"
    path = pdf.write(tmp_path / "in.pdf")
    reader = PdfReader(path)
    from pypdf import PdfWriter

    writer = PdfWriter(clone_from=reader)
    form = writer.pages[1]["/Resources"]["/XObject"]["/X1"]
    form.set_data(b"/X1 Do /X1 Do " * 3)
    form["/Resources"][NameObject("/XObject")] = writer.pages[1]["/Resources"]["/XObject"]
    writer.write(path)
    faults = Faults()
    assert preflight(PdfFile(path), None, faults) is None
    assert [fault.code for fault in faults.sorted()] == ["press-read"]


def test_damaged_files_never_raise(tmp_path):
    """Bytes changed at random: a table or a fault, whatever is left of the file."""
    whole = document(4).write(tmp_path / "whole.pdf").read_bytes()
    start = whole.rindex(b"endstream")  # behind the font's bytes, which nothing here reads
    path = tmp_path / "damaged.pdf"
    dice = random.Random(20261125)
    for _ in range(40):
        body = bytearray(whole)
        for _ in range(dice.choice((1, 3, 20))):
            at = dice.randrange(0 if dice.random() < 0.3 else start, len(body))
            body[at] = dice.randrange(256)
        path.write_bytes(body)
        faults = Faults()
        found = preflight(PdfFile(path), None, faults)
        assert (found is None) == faults.has_errors


def test_the_clean_page_is_what_the_table_says():
    """The planted faults above rest on this page being drawn at these places."""
    assert "/F1 9 Tf 60 500 Td" in CLEAN_PAGE


def test_rows_as_json(tmp_path):
    from builder.commands.press import json_lines

    pdf = document()
    small_text(pdf)
    lines = [json.loads(line) for line in json_lines(look(pdf.write(tmp_path / "planted.pdf")))]
    told = {line["check"]: line for line in lines}
    assert told["fonts"]["passed"] is True
    assert told["text size"]["findings"] == [{"page": "4", "message": "5.0 pt: “fine print”"}]
