"""Imposition, read back from the imposed PDF: folded and cut on paper in simulation."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from press.pdfs import (
    A4, A5, MM, PageSpec, Paper, Seen, number_page, numbered, papers, read_side, write_pages,
)  # fmt: skip
from pypdf import PdfReader
from pypdf.papersizes import PaperSize

from builder.faults import Faults
from builder.press import geometry
from builder.press.impose import Imposed, impose
from builder.press.job import Job, Layout
from builder.press.pdf_files import PdfFile
from builder.press.plan import Turn

ROOT = Path(__file__).parents[2]
A6 = (105 * MM, 148 * MM)
HALF_LETTER = (396.0, 612.0)


def lay_out(source: Path, job: Job, target: Path) -> tuple[Imposed, Faults]:
    faults = Faults()
    imposed = impose(PdfFile(source), job, faults)
    assert imposed is not None, [fault.as_text() for fault in faults.sorted()]
    target.write_bytes(imposed.pdf)
    return imposed, faults


def laid_out(folder: Path, count: int, job: Job, size=A5) -> tuple[list[Paper], Imposed, Faults]:
    source = numbered(folder / "in.pdf", count, size)
    imposed, faults = lay_out(source, job, folder / "out.pdf")
    assert imposed.job.turn is not None
    return papers(folder / "out.pdf", imposed.job.turn is Turn.SHORT), imposed, faults


def assert_leaves_agree(sheets: list[Paper], leaf: tuple[float, float]) -> None:
    """Each page has its number's other side right behind it, the same way up, as on one leaf."""
    for sheet in sheets:
        for one in (*sheet.front, *sheet.back):
            left, bottom, right, top = one.clip
            assert left < one.x < right and bottom < one.y < top  # else nobody would see it
        for front in sheet.front:
            assert front.up[1] > 0 and front.right[0] > 0
        for back in sheet.back:
            fronts = [front for front in sheet.front if abs(front.y - back.y) < leaf[1] / 2
                      and abs(front.x - back.x) < leaf[0] / 2]  # fmt: skip
            if not fronts:  # the last leaf's other side is blank
                assert back.number % 2 and back.number == max(
                    one.number for one in (*sheet.front, *sheet.back))  # fmt: skip
                continue
            (front,) = fronts
            assert (front.number + 1) // 2 == (back.number + 1) // 2  # pages of one leaf
            assert back.up == pytest.approx(front.up)
            # Seen through the paper, the back's lines run the other way.
            assert back.right == pytest.approx((-front.right[0], 0), abs=1e-6)


def half(seen: list[Seen], sheet: Paper, right: bool) -> list[int]:
    found = [one.number for one in seen if (one.x > sheet.width / 2) == right]
    assert len(found) <= 1
    return found or [0]


def read_folded(sheets: list[Paper], signature: int) -> list[int]:
    """Nests the sheets of each signature with the fronts outside, folds them down the middle,
    lays the signatures on one another and turns the leaves; 0 is a blank page."""
    order: list[int] = []
    size = signature or len(sheets)
    for start in range(0, len(sheets), size):
        nested = sheets[start : start + size]
        for sheet in nested:
            order += half(sheet.front, sheet, True) + half(sheet.back, sheet, True)
        for sheet in reversed(nested):
            order += half(sheet.back, sheet, False) + half(sheet.front, sheet, False)
    return order


def assert_folds(folder: Path, count: int, turn: Turn, signature: int) -> None:
    sheets, imposed, _ = laid_out(folder, count, Job(turn=turn, signature=signature))
    order = read_folded(sheets, signature)
    assert order == [*range(1, count + 1), *[0] * imposed.blanks], count
    assert len(order) % 4 == 0 and imposed.blanks < 4
    assert_leaves_agree(sheets, A5)


@pytest.mark.parametrize("turn", Turn)
def test_folded_booklets_of_4_to_100_pages_run_in_order(tmp_path, turn):
    for count in range(4, 101):
        assert_folds(tmp_path, count, turn, signature=0)


@pytest.mark.parametrize("turn", Turn)
@pytest.mark.parametrize("signature", [1, 2, 5])
def test_signatures_laid_on_one_another_run_in_order(tmp_path, turn, signature):
    for count in (4, 7, 20, 41, 100):
        assert_folds(tmp_path, count, turn, signature)


@pytest.mark.parametrize("turn", Turn)
@pytest.mark.parametrize(
    ("size", "sheet", "places"),
    [(A5, "A4", 2), (A6, "A4", 4), (A5, "A3", 4), (A5[::-1], "A4", 2), (A6[::-1], "A4", 4)],
    ids=["A5 on A4", "A6 on A4", "A5 on A3", "wide A5 on A4", "wide A6 on A4"],
)
def test_cut_stacks_run_in_order(tmp_path, size, sheet, places, turn):
    for count in (4, 5, 16, 33, 100):
        sheets, imposed, _ = laid_out(tmp_path, count, Job(Layout.STACK, sheet, turn), size)
        assert imposed.grid.scale == 1 and imposed.grid.across * imposed.grid.down == places
        assert_leaves_agree(sheets, size)
        leaves: dict[tuple[int, int], list[int]] = {}
        for paper in sheets:
            for front in paper.front:
                place = (-round(front.y), round(front.x))  # top row first, from the left
                behind = [back.number for back in paper.back
                          if abs(back.x - front.x) + abs(back.y - front.y) < 1]  # fmt: skip
                leaves.setdefault(place, []).extend([front.number, *(behind or [0])])
        order = [number for place in sorted(leaves) for number in leaves[place]]
        assert [number for number in order if number] == list(range(1, count + 1)), count


@pytest.mark.parametrize("turn", Turn)
@pytest.mark.parametrize(
    ("layout", "size", "rows"),
    [
        (Layout.ONE, A5, (1,)), (Layout.TWO, A5, (2,)), (Layout.TWO, A5[::-1], (1, 1)),
        (Layout.FOUR, A5, (2, 2)), (Layout.FOUR, A5[::-1], (2, 2)),
    ],
    ids=["one", "two", "two wide", "four", "four wide"],
)  # fmt: skip
def test_side_by_side_reads_in_order(tmp_path, layout, size, rows, turn):
    for count in (1, 4, 7, 30):
        sheets, imposed, _ = laid_out(tmp_path, count, Job(layout, turn=turn), size)
        order = []
        # Whoever turns a sheet on the printer's edge holds the back upright again.
        upright = (turn is Turn.SHORT) == imposed.grid.is_wide
        for page in PdfReader(tmp_path / "out.pdf").pages:
            seen = read_side(page)
            if page.page_number % 2 and not upright:
                assert all(one.up[1] < 0 for one in seen)
                seen = [Seen(s.number, -s.x, -s.y, s.up, s.right, s.clip) for s in seen]
            order += sorted(seen, key=lambda one: (-round(one.y), one.x))
        assert [one.number for one in order] == list(range(1, count + 1))
        assert (imposed.grid.down, imposed.grid.across) == (len(rows), rows[0])
        assert len(sheets) == -(-count // (2 * sum(rows)))


# --- sizes ------------------------------------------------------------------------------------

# pypdf's own table of ISO 216 sizes, in points rounded to whole ones.
@pytest.mark.parametrize("name", ["A3", "A4"])
def test_iso_216_sheets_agree_with_a_reference_library(name):
    size = geometry.sheet_size(name)
    reference = getattr(PaperSize, name)
    assert (round(size.width), round(size.height)) == (reference.width, reference.height)


def test_sheets_by_their_standards_rules():
    """ISO 216: the half of A3 is A4. ANSI/ASME Y14.1: size B is two of size A."""
    assert geometry.SHEETS["A3"] == (297, 420) and geometry.SHEETS["A4"] == (420 // 2, 297)
    letter, tabloid = geometry.SHEETS["Letter"], geometry.SHEETS["Tabloid"]
    assert letter == pytest.approx((8.5 * 25.4, 11 * 25.4))
    assert tabloid == (letter[1], 2 * letter[0])
    sra4, sra3 = geometry.SHEETS["SRA4"], geometry.SHEETS["SRA3"]
    assert (sra4[1], 2 * sra4[0]) == sra3  # ISO 217, like ISO 216, halves the longer side


@pytest.mark.parametrize(
    ("size", "job", "sheet", "scale"),
    [
        (A5, Job(), "A4", 1), (A4, Job(), "A4", 0.707), (A4, Job(sheet="A3"), "A3", 1),
        (HALF_LETTER, Job(), "Letter", 1), ((612, 792), Job(sheet="Tabloid"), "Tabloid", 1),
        ((612, 792), Job(sheet="Ledger"), "Ledger", 1),
        (A5, Job(sheet="Letter"), "Letter", 279.4 / 296), (A5, Job(sheet="SRA4"), "SRA4", 1),
        ((420, 595.5), Job(), "A4", 1), (A4, Job(Layout.FOUR), "A4", 0.5),
    ],
    ids=["A5", "A4 made smaller", "A4 on A3", "half letter", "letter", "ledger", "A5 on letter",
         "A5 on SRA4", "A5 rounded by another program", "A4 four up"],
)  # fmt: skip
def test_full_size_where_it_fits(tmp_path, size, job, sheet, scale):
    sheets, imposed, faults = laid_out(tmp_path, 8, job, size)
    assert imposed.job.sheet == sheet and imposed.grid.scale == pytest.approx(scale, abs=0.001)
    assert {round(one.up[1], 3) for one in sheets[0].front} == {round(imposed.grid.scale, 3)}
    told = [fault.code for fault in faults.sorted()]
    assert ("press-scaled" in told) == (scale < 1)
    short, long = sorted(geometry.SHEETS[sheet])
    assert sorted((sheets[0].width / MM, sheets[0].height / MM)) == pytest.approx([short, long])


def test_a_notice_names_the_sheet_that_needs_no_scaling(tmp_path):
    _, _, faults = laid_out(tmp_path, 4, Job(), A4)
    (fault,) = faults.sorted()
    assert fault.message == ("the pages are made smaller, to 71 % of their size: they are too "
                             "large for A4")  # fmt: skip
    assert fault.hint == "--sheet A3 prints them at 100 %"


def test_creep_moves_inner_pages_to_the_fold(tmp_path):
    """Each sheet that lies further in moves its pages one paper thickness towards the fold."""
    sheets, _, _ = laid_out(tmp_path, 16, Job(thickness=0.2))
    for depth, sheet in enumerate(sheets):
        for side in (sheet.front, sheet.back):
            left, right = sorted(side, key=lambda one: one.x)
            plain = A5[0] / 2  # from the fold to a page's middle
            fold = sheet.width / 2
            assert fold - left.x == pytest.approx(plain - depth * 0.2 * MM, abs=0.02)
            assert right.x - fold == pytest.approx(plain - depth * 0.2 * MM, abs=0.02)
            assert left.clip[2] == pytest.approx(fold, abs=0.01)  # nothing over the fold
            assert right.clip[0] == pytest.approx(fold, abs=0.01)


def test_creep_begins_anew_in_each_signature(tmp_path):
    sheets, _, _ = laid_out(tmp_path, 32, Job(thickness=0.2, signature=2))
    middles = [round(max(one.x for one in sheet.front), 2) for sheet in sheets]
    assert middles[0::2] == middles[:1] * 4 and middles[1::2] == middles[1:2] * 4
    assert middles[0] > middles[1]


# --- boxes ------------------------------------------------------------------------------------


def bleeding(number: int) -> PageSpec:
    """An A5 page with 3 mm of bleed and 5 mm more round it for a printer's marks."""
    width, height = A5[0] + 16 * MM, A5[1] + 16 * MM
    trim = (8 * MM, 8 * MM, width - 8 * MM, height - 8 * MM)
    bleed = (5 * MM, 5 * MM, width - 5 * MM, height - 5 * MM)
    return number_page(number, (width, height), trim=trim, bleed=bleed)


def test_pages_are_cut_at_their_trim_box(tmp_path):
    source = write_pages(tmp_path / "in.pdf", map(bleeding, range(1, 9)))
    imposed, _ = lay_out(source, Job(sheet="SRA4", thickness=0), tmp_path / "out.pdf")
    assert imposed.grid.scale == 1
    assert (imposed.page.width, imposed.page.height) == pytest.approx(A5)
    sheets = papers(tmp_path / "out.pdf", short_edge=True)
    assert read_folded(sheets, 0) == list(range(1, 9))
    for sheet in sheets:
        for one in sheet.front:
            assert abs(one.x - sheet.width / 2) == pytest.approx(A5[0] / 2, abs=0.01)
            assert one.y == pytest.approx(sheet.height / 2, abs=0.01)
    # Outwards the page may bleed: the form ends at the bleed box.
    form = next(iter(PdfReader(tmp_path / "out.pdf").pages[0]["/Resources"]["/XObject"].values()))
    box = [float(side) for side in form.get_object()["/BBox"]]
    assert box == pytest.approx(bleeding(1).bleed, abs=0.01)


@pytest.mark.parametrize("rotate", [0, 90, 180, 270, -90, 450])
def test_rotated_pages_stand_as_they_are_shown(tmp_path, rotate):
    """ISO 32000-1, table 30: /Rotate turns a page clockwise when it is shown."""
    quarter = rotate // 90 % 4
    size = A5[::-1] if quarter % 2 else A5
    source = write_pages(tmp_path / "in.pdf",
                         (number_page(n, size, rotate=rotate) for n in range(1, 5)))  # fmt: skip
    lay_out(source, Job(thickness=0), tmp_path / "out.pdf")
    sheets = papers(tmp_path / "out.pdf", short_edge=True)
    clockwise = [(0, 1), (1, 0), (0, -1), (-1, 0)][quarter]  # where up goes
    for sheet in sheets:
        assert [half(sheet.front, sheet, right) for right in (False, True)] == [[4], [1]]
        for one in sheet.front:
            assert one.up == pytest.approx(clockwise, abs=1e-6)
            assert one.y == pytest.approx(sheet.height / 2, abs=0.01)


def test_pages_of_several_sizes_stand_in_the_middle_of_their_places(tmp_path):
    source = write_pages(tmp_path / "in.pdf", [number_page(1), number_page(2, A6), number_page(3),
                                               number_page(4)])  # fmt: skip
    _, faults = lay_out(source, Job(thickness=0), tmp_path / "out.pdf")
    assert [fault.code for fault in faults.sorted()] == ["press-sizes"]
    (sheet,) = papers(tmp_path / "out.pdf", short_edge=True)
    seen = [*sheet.front, *sheet.back]
    assert {round(abs(one.x - sheet.width / 2) / MM, 1) for one in seen} == {74}


def test_text_and_place_as_another_program_reads_them(tmp_path, program):
    """poppler's pdftotext on the imposed sheets: each number in its half of the sheet."""
    _, _, _ = laid_out(tmp_path, 8, Job())
    told = subprocess.run([program("pdftotext"), "-bbox", tmp_path / "out.pdf", "-"], check=True,
                          capture_output=True, text=True).stdout  # fmt: skip
    sides = []
    for page in told.split("<page ")[1:]:
        words = [word.split('"')[1:6:4] + [word.split(">")[1].split("<")[0]]
                 for word in page.split("<word ")[1:]]  # fmt: skip
        sides.append([int(text) for _, _, text in sorted(words, key=lambda word: float(word[0]))])
    assert sides == [[8, 1], [2, 7], [6, 3], [4, 5]]


# --- marks ------------------------------------------------------------------------------------


def test_marks_stand_off_the_pages(tmp_path):
    laid_out(tmp_path, 4, Job(sheet="SRA4", marks=True))
    page = PdfReader(tmp_path / "out.pdf").pages[0]
    wide, high = float(page.mediabox.width), float(page.mediabox.height)
    block = (wide / 2 - A5[0], high / 2 - A5[1] / 2, wide / 2 + A5[0], high / 2 + A5[1] / 2)
    ends = [tuple(map(float, operands)) for operands, operator in page.get_contents().operations
            if operator in (b"m", b"l")]  # fmt: skip
    assert len(ends) == 2 * (4 + 4 + 2)
    for x, y in ends:
        assert not (block[0] - 8 < x < block[2] + 8 and block[1] - 8 < y < block[3] + 8)
        assert 0 <= x <= wide and 0 <= y <= high
    assert sum(1 for x, _ in ends if abs(x - wide / 2) < 0.01) == 4  # the fold's two


def test_no_room_for_marks_is_told(tmp_path):
    _, _, faults = laid_out(tmp_path, 4, Job(marks=True))
    assert [fault.code for fault in faults.sorted()] == ["press-marks"]


# --- the file ---------------------------------------------------------------------------------


def test_print_windows_find_their_settings(tmp_path):
    """ISO 32000-1, table 150: how viewers preset their print window."""
    for turn, name in ((None, "/DuplexFlipShortEdge"), (Turn.LONG, "/DuplexFlipLongEdge")):
        laid_out(tmp_path, 4, Job(turn=turn))
        preferences = PdfReader(tmp_path / "out.pdf").root_object["/ViewerPreferences"]
        assert preferences["/Duplex"] == name
        assert preferences["/PrintScaling"] == "/None"


def test_labels_of_sides(tmp_path):
    laid_out(tmp_path, 8, Job())
    assert PdfReader(tmp_path / "out.pdf").page_labels == ["1a", "1b", "2a", "2b"]


def test_thick_booklets_are_told(tmp_path):
    _, _, faults = laid_out(tmp_path, 84, Job())
    assert [fault.code for fault in faults.sorted()] == ["press-thick"]
    _, _, faults = laid_out(tmp_path, 84, Job(signature=7))
    assert faults.sorted() == ()


_TWICE = """
import sys
from pathlib import Path
from builder.faults import Faults
from builder.press.impose import impose
from builder.press.job import Job
from builder.press.pdf_files import PdfFile
sys.stdout.buffer.write(impose(PdfFile(Path(sys.argv[1])), Job(), Faults()).pdf)
"""


def test_same_input_same_bytes(tmp_path):
    source = numbered(tmp_path / "in.pdf", 10)
    runs = [
        subprocess.run([sys.executable, "-c", _TWICE, source], cwd=ROOT, check=True,
                       capture_output=True, env={**os.environ, "PYTHONHASHSEED": seed}).stdout
        for seed in ("1", "2")
    ]  # fmt: skip
    assert runs[0] == runs[1] and runs[0].startswith(b"%PDF-1.7")


def test_another_program_finds_no_fault(tmp_path, program):
    laid_out(tmp_path, 10, Job(Layout.STACK, "SRA3", marks=True))
    subprocess.run([program("qpdf"), "--check", tmp_path / "out.pdf"], check=True,
                   capture_output=True)  # fmt: skip


def test_shared_resources_are_carried_over_once(tmp_path):
    laid_out(tmp_path, 40, Job())
    reader = PdfReader(tmp_path / "out.pdf")
    fonts = [reader.get_object(number) for number in range(1, len(reader.xref[0]))]
    assert sum(1 for one in fonts if hasattr(one, "get") and one.get("/Type") == "/Font") == 1


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b"", "press-read"), (b"no PDF at all", "press-read"), (b"%PDF-1.7\n%%EOF", "press-read"),
        (b"%PDF-1.7\n1 0 obj<</Type/Catalog/Pages 1 0 R/Kids[1 0 R]/Count 9>>endobj\n"
         b"trailer<</Root 1 0 R>>\nstartxref\n0\n%%EOF", "press-read"),
    ],
    ids=["empty", "text", "only a head", "a page tree that holds itself"],
)  # fmt: skip
def test_broken_files_are_faults(tmp_path, body, code, caplog):
    path = tmp_path / "in.pdf"
    path.write_bytes(body)
    faults = Faults()
    assert impose(PdfFile(path), Job(), faults) is None
    assert [fault.code for fault in faults.sorted()] == [code]


def test_a_page_without_contents_is_blank(tmp_path):
    from pypdf import PdfWriter

    writer = PdfWriter()
    for _ in range(4):
        writer.add_blank_page(*A5)
    writer.write(tmp_path / "in.pdf")
    imposed, _ = lay_out(tmp_path / "in.pdf", Job(), tmp_path / "out.pdf")
    assert imposed.pages == 4 and len(PdfReader(tmp_path / "out.pdf").pages) == 2


def test_sheets_are_not_laid_out_again(tmp_path):
    laid_out(tmp_path, 8, Job())
    faults = Faults()
    assert impose(PdfFile(tmp_path / "out.pdf"), Job(), faults) is None
    assert [fault.code for fault in faults.sorted()] == ["press-twice"]


def test_a_locked_file_is_told(tmp_path):
    from pypdf import PdfWriter

    writer = PdfWriter(clone_from=numbered(tmp_path / "plain.pdf", 4))
    writer.encrypt("secret", algorithm="RC4-128")
    writer.write(tmp_path / "in.pdf")
    faults = Faults()
    assert impose(PdfFile(tmp_path / "in.pdf"), Job(), faults) is None
    assert [fault.code for fault in faults.sorted()] == ["press-locked"]
