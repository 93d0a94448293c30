"""The cover: its sheet's boxes, marks and spine, what stands on it, and whether it can be printed.

qpdf and poppler look at the files; the boxes follow ISO 32000-1, 14.11.2.
"""

from __future__ import annotations

import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader
from tiny import Tiny, tiny

from builder.faults import Faults, Severity
from builder.press.cover import spine_width, write_cover
from builder.press.impose import impose
from builder.press.job import Job
from builder.press.pdf import write_pdf
from builder.press.pdf_files import PdfFile
from builder.press.preflight import preflight
from builder.render.cover import is_dark, title_size
from builder.settings import LANGUAGES, PAGE_SIZES, read_settings
from builder.source.files import BookletFiles

MM = 72 / 25.4
CHAPTER = "# One\n\n```line main\n1. e4 e5 2. Nf3 Nc6 @knights (D) 3. d4\n```\n"


def booklet(folder: Path, cover: str = "", prints: str = "", top: str = "",
            chapter: str = CHAPTER) -> Tiny:  # fmt: skip
    text = (f'title = "The \\"Four\\" Knights"\nsubtitle = "For both"\nauthor = "A & B <Club>"\n'
            f'edition = "2nd edition"\ndate = 2026-01-02\n{top}[print]\n{prints}\n'
            f'[site]\naddress = "https://example.org/k/"\n[cover]\n{cover}\n')  # fmt: skip
    return tiny(folder, chapter, settings=text)


def settings_of(made: Tiny, faults: Faults):
    return read_settings(BookletFiles.at(made.folder).read("booklet.toml", faults), faults)


def make(made: Tiny, pages: int = 64):
    """The cover's PDF, what was told of it, and the faults."""
    faults = Faults()
    settings = settings_of(made, faults)
    target = made.folder / "cover.pdf"
    cover = write_cover(made.booklet, settings, made.folder, pages, target, faults)
    return target, cover, faults.sorted()


def box(page, name: str) -> list[float]:
    return [round(float(value) / MM, 1) for value in page[name]]


@pytest.mark.parametrize(
    ("page", "theme", "language"),
    list(zip([*PAGE_SIZES, "105mm x 148mm", "A5"], ["book", "handout"] * 4, LANGUAGES)),
)  # fmt: skip
def test_every_size_language_and_theme_can_be_printed(tmp_path, page, theme, language):
    made = booklet(tmp_path, 'text = "A *knight* on each side."',
                   f'page = "{page}"\ntheme = "{theme}"\nqr = ["cover"]',
                   f'language = "{language}"\n')  # fmt: skip
    pdf, cover, told = make(made)
    assert told == () and cover.spine == pytest.approx(3.7)
    faults = Faults()
    found = preflight(PdfFile(pdf), None, faults)
    assert found.passed, [row for row in found.rows if row.findings]


def test_boxes_and_marks(tmp_path, program):
    pdf, cover, _ = make(booklet(tmp_path, prints='page = "A5"\npaper = "90 g/m² 1.5"'), 200)
    assert cover.spine == pytest.approx(100 * 0.135 + 0.5)
    page = PdfReader(pdf).pages[0]
    wide = 2 * 148 + cover.spine
    assert box(page, "/TrimBox") == [0, 0, wide, 210]
    assert box(page, "/BleedBox") == [-3, -3, wide + 3, 213]
    assert box(page, "/MediaBox") == [-10, -10, wide + 10, 220]
    checked = subprocess.run([program("qpdf"), "--check", str(pdf)], capture_output=True, text=True)
    assert checked.returncode == 0, checked.stdout + checked.stderr
    # As it is printed: ground to the end of the bleed, and marks outside of it.
    subprocess.run([program("pdftoppm"), "-r", "254", "-gray", str(pdf), str(tmp_path / "p")],
                   check=True)  # fmt: skip
    seen = Image.open(next(tmp_path.glob("p-*.pgm")))  # ten dots a millimetre
    at = lambda x, y: seen.getpixel((round((10 + x) * 10), round((10 + y) * 10)))  # noqa: E731
    assert at(-2.8, -2.8) < 100 and at(wide + 2.8, 212.8) < 100 and at(-3.3, 100) == 255
    dark = lambda x, y: min(at(x + dx / 10, y) for dx in (-1, 0, 1)) < 128  # noqa: E731
    assert dark(0, -5) and dark(wide, 215) and not dark(2, -5)  # where it is cut
    fold = [y / 10 for y in range(-80, -30)]
    assert any(dark(148, y) for y in fold) and not all(dark(148, y) for y in fold)  # dashed
    assert any(dark(148 + cover.spine, y) for y in fold)


def words(pdf: Path, program) -> str:
    shown = subprocess.run([program("pdftotext"), "-layout", str(pdf), "-"], capture_output=True,
                           text=True, check=True)  # fmt: skip
    return shown.stdout


def test_what_stands_on_it(tmp_path, program):
    made = booklet(tmp_path, 'position = "@knights"\ntext = "One [link](https://x.org/), <b>no</b> '
                             '![pic](http://x.org/a.png)."')  # fmt: skip
    pdf, _, told = make(made)
    assert told == ()
    text = words(pdf, program)
    assert "A & B <Club>" in text and "2nd edition" in text and "One link, <b>no</b> pic." in text
    assert "ｒ．ｂ" in text or "r．b" in text  # the board after 2...Nc6, from its eighth rank
    page = PdfReader(pdf).pages[0]
    assert "/Annots" not in page  # a link on a cover is for nobody


@pytest.mark.parametrize(("pages", "shown"), [(108, False), (112, True)])
def test_a_narrow_spine_bears_no_words(tmp_path, program, pages, shown):
    pdf, cover, _ = make(booklet(tmp_path), pages)
    assert (cover.spine >= 6) == shown
    titles = PdfReader(pdf).pages[0].extract_text().count("Knights")
    assert titles == (3 if shown else 2)


@pytest.mark.parametrize(
    ("prints", "cover", "width"),
    [
        ("", "", 5.5),
        ('binding = "stapled"', "", 0),
        ('binding = "glued"\npaper = "0.12mm"', "", 6.5),
        ('binding = "glued"', 'spine = "7.5mm"', 7.5),
    ],
)
def test_the_spine(tmp_path, prints, cover, width):
    settings = settings_of(booklet(tmp_path, cover, prints), Faults())
    assert spine_width(settings, 100) == pytest.approx(width)
    assert spine_width(settings, 99) == pytest.approx(width)
    computed = 5.5 if "spine" in cover else width
    assert spine_width(replace(settings, cover=None), 100) == pytest.approx(computed)


def picture(folder: Path, size: tuple[int, int]) -> str:
    (folder / "images").mkdir(parents=True)
    Image.new("L", size, 90).save(folder / "images" / "sea.png")
    return 'picture = "images/sea.png"'


def test_a_picture_fills_its_window(tmp_path):
    pdf, _, told = make(booklet(tmp_path, picture(tmp_path, (1800, 1700))))
    assert told == ()
    found = preflight(PdfFile(pdf), None, Faults())
    assert found.passed and "1, the coarsest has 3" in str(found.rows)


def test_a_coarse_picture_is_told(tmp_path):
    _, cover, told = make(booklet(tmp_path, picture(tmp_path, (900, 900))))
    assert [fault.code for fault in told] == ["cover-coarse"] and cover
    assert "151 dpi" in told[0].message and "1783 × 1623 pixels" in told[0].hint
    assert told[0].place.file == "booklet.toml"


@pytest.mark.parametrize(
    ("cover", "code", "message"),
    [
        ('position = "knigths"', "cover-position", "no position of the booklet is named knigths"),
        ('picture = "images/none.png"', "file-missing", "there is no picture"),
        ('picture = "../../sea.png"', "file-outside", "outside the booklet's folder"),
        ('picture = "booklet.toml"', "picture-type", "is not a picture"),
        ('picture = "https://x.org/a.png"', "picture-remote", "must be a file of the booklet"),
        ('colour = "red"', "settings-value", "colour can't be 'red'"),
        ('spine = "wide"', "settings-value", "spine can't be 'wide'"),
        ('title = "x"', "settings-key", "unknown key title in [cover]"),
        (f'text = "{"x" * 1300}"', "settings-value", "the text has 1300 characters"),
    ],
)
def test_faults(tmp_path, cover, code, message):
    faults = Faults()
    made = booklet(tmp_path, cover)
    settings = settings_of(made, faults)
    if not faults.has_errors:
        write_cover(made.booklet, settings, made.folder, 10, tmp_path / "cover.pdf", faults)
    found = [fault for fault in faults.sorted() if fault.severity is Severity.ERROR]
    assert [fault.code for fault in found] == [code] and message in found[0].message
    assert found[0].place.line == 11


def test_a_broken_picture_is_told(tmp_path):
    (tmp_path / "images").mkdir()
    (tmp_path / "images" / "a.png").write_bytes(b"\x89PNG\r\n\x1a\nno more")
    _, cover, told = make(booklet(tmp_path, 'picture = "images/a.png"'))
    assert cover is None and [fault.code for fault in told] == ["picture-content"]


def test_same_input_same_bytes(tmp_path):
    bodies = [make(booklet(tmp_path / name))[0].read_bytes() for name in ("a", "b")]
    assert bodies[0] == bodies[1]


@pytest.mark.parametrize(("colour", "dark"), [("#000000", True), ("#233f3a", True),
                                              ("#ffffff", False), ("#777777", False),
                                              ("#757575", True), ("#e8d9a8", False)])  # fmt: skip
def test_letters_stand_out_from_the_ground(colour, dark):
    """#767676 is the grey that WCAG's own examples call just enough for white and for black."""
    assert is_dark(colour) == dark


def test_a_long_word_fits():
    assert title_size("Eröffnungsvorbereitung", 100) * 0.55 * 22 <= 100.01


# --- a cover round the pages ----------------------------------------------------------------------


def covered(folder: Path, cover: str = "", prints: str = "", chapter: str = CHAPTER):
    """A booklet's own PDF with `kind = "self"`, and what was told."""
    made = booklet(folder, f'kind = "self"\n{cover}', prints, chapter=chapter)
    faults = Faults()
    target = folder / "booklet.pdf"
    facts = write_pdf(made.booklet, settings_of(made, faults), folder, target, faults)
    return target, facts, faults.sorted()


@pytest.mark.parametrize("theme", ["book", "handout"])
def test_a_cover_round_the_pages(tmp_path, program, theme):
    prints = f'theme = "{theme}"\nqr = ["cover"]'
    pdf, facts, told = covered(tmp_path, 'text = "A blurb."', prints)
    assert {fault.code for fault in told} <= {"print-blank"}
    reader = PdfReader(pdf)
    pages, labels = reader.pages, reader.page_labels
    assert len(pages) == facts.pages and len(pages) % 4 == 0
    assert (labels[:2], labels[-2:]) == (["C1", "C2"], ["C3", "C4"])
    assert labels[2] == ("i" if theme == "book" else "1") and "1" in labels
    texts = [page.extract_text() for page in pages]
    assert "Knights" in texts[0] and "A blurb." in texts[-1] and texts[1] == texts[-2] == ""
    assert len({tuple(page["/MediaBox"]) for page in pages}) == 1
    # What leads to a page says what it is labelled.
    names = reader.named_destinations
    led = {reader.get_destination_page_number(names[anchor]): number
           for anchor, number in facts.page_of.items() if anchor in names}  # fmt: skip
    assert led and all(labels[page] == str(number) for page, number in led.items())
    checked = subprocess.run([program("qpdf"), "--check", str(pdf)], capture_output=True, text=True)
    assert checked.returncode == 0, checked.stdout + checked.stderr
    faults = Faults()
    found = preflight(PdfFile(pdf), None, faults)
    assert found.passed, [row for row in found.rows if row.findings]
    # Back and front lie side by side on the outermost sheet, their insides on its other side.
    sheets = impose(PdfFile(pdf), Job(), faults).sheets
    outside = [cell.page for side in (sheets[0].front, sheets[0].back) for *_, cell in side.cells()]
    assert outside == [len(pages) - 1, 0, 1, len(pages) - 2]


@pytest.mark.parametrize(("bleed", "ends"), [("3mm", (-2.8, 150.8)), ("0mm", (7.2, 140.8))])
def test_its_colour_bleeds_or_keeps_off_the_edge(tmp_path, program, bleed, ends):
    """An office's printer can't reach the edge, and a shop cuts it."""
    pdf, _, _ = covered(tmp_path, prints=f'page = "A5"\nbleed = "{bleed}"')
    subprocess.run([program("pdftoppm"), "-r", "254", "-gray", "-f", "1", "-l", "1", str(pdf),
                    str(tmp_path / "p")], check=True)  # fmt: skip
    seen = Image.open(next(tmp_path.glob("p-*.pgm")))
    edge = float(bleed[0])
    dark = [seen.getpixel((round((edge + x) * 10), round((edge + 100) * 10))) < 128
            for x in (ends[0], ends[0] + 1, ends[1] - 1, ends[1])]  # fmt: skip
    assert all(dark)
    if not edge:
        assert seen.getpixel((50, 1000)) == seen.getpixel((1430, 1000)) == 255


def test_what_does_not_go_with_a_cover_round_the_pages(tmp_path):
    faults = Faults()
    cover = 'kind = "self"\nspine = "5mm"'
    settings_of(booklet(tmp_path, cover, 'binding = "glued"'), faults)
    told = [fault.as_text() for fault in faults.sorted()]
    assert len(told) == 2 and "glued booklet" in told[0] and "no spine" in told[1]
    settings = settings_of(booklet(tmp_path / "b", 'kind = "self"'), Faults())
    assert settings.print.binding == "stapled"


def test_a_cover_that_is_at_fault_stops_the_pdf(tmp_path):
    _, facts, told = covered(tmp_path, 'position = "@nowhere"')
    assert facts is None and [fault.code for fault in told] == ["cover-position"]
