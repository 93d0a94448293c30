"""PDF/A, PDF/UA, and what every PDF says to who has it read out.

Judged by another's validator: `page` (PyPI page-validation), which knows PDF/A-2a (ISO 19005-2) and
PDF/UA-1 (ISO 14289-1) and passes veraPDF's corpus by its own account. qpdf and poppler look too.
"""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from press.test_cover import box
from press.torture import write_torture
from pypdf import PdfReader
from tiny import Tiny, tiny

from builder import pipeline
from builder.faults import Faults
from builder.press.cover import write_cover
from builder.press.impose import impose
from builder.press.job import Job
from builder.press.pdf import write_pdf
from builder.press.pdf_file import PdfFile
from builder.press.pdf_files import PdfFile as PdfPages
from builder.press.preflight import preflight
from builder.settings import read_settings
from builder.source.files import BookletFiles

CHAPTER = """
    # One & only

    #### Too deep at once

    ```line main
    1. e4 e5 2. Nf3 {A comment.} Nc6 (2... d6 3. d4) 3. d4 @there
    (D "The centre" key d4 e5 plan f3-d4)
    ```

    ![again](@there) See [@there] and [a site](https://example.org/), as said[^n].

    [^n]: Said before.

    | a | b |
    | --- | --- |
    | c | [@there] |

    - one
      - two

    ```line other
    1. e4 e5 2. Nf3 (2. f4) (2. Nc3) Nc6 (2... d6)
    ```

    ```table other
    ```

    ```exercise e1 from "6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1"
    task: Mate.
    hint: Look.
    solution: 1. Ra8#
    ```
"""
SETTINGS = """title = "Ein Heft: „eins“"
author = "A & B"
language = "de"
date = 2026-01-02
[print]
theme = "{theme}"
{prints}
[site]
address = "https://example.org/x/"
[cover]
"""


def build(folder: Path, theme: str, prints: str,
          chapter: str = CHAPTER) -> tuple[Path, Tiny, Faults]:  # fmt: skip
    made = tiny(folder, chapter, settings=SETTINGS.format(theme=theme, prints=prints))
    assert not made.faults, made.told()
    faults = Faults()
    settings = read_settings(BookletFiles.at(folder).read("booklet.toml", faults), faults)
    facts = write_pdf(made.booklet, settings, folder, folder / "out.pdf", faults)
    assert facts is not None, [fault.as_text() for fault in faults.sorted()]
    covered = write_cover(made.booklet, settings, folder, facts.pages, folder / "cover.pdf", faults)
    assert covered, [fault.as_text() for fault in faults.sorted()]
    return folder / "out.pdf", made, faults


@pytest.fixture(scope="module")
def booklets(tmp_path_factory):
    """A booklet of each variant; the two themes by turns."""
    found = {}
    for variant, theme in (("plain", "book"), ("pdf/a", "handout"), ("pdf/ua", "book")):
        folder = tmp_path_factory.mktemp("variant")
        page = "A5" if theme == "book" else "105mm x 148mm"
        prints = f'variant = "{variant}"\npage = "{page}"\nqr = ["chapters", "exercises", "cover"]'
        found[variant] = build(folder, theme, prints)[0]
    return found


@pytest.mark.parametrize(("variant", "profile"), [("pdf/a", "2a"), ("pdf/ua", "ua1")])
@pytest.mark.parametrize("name", ["out.pdf", "cover.pdf"])
def test_a_validator_finds_nothing(booklets, variant, profile, name):
    page = pytest.importorskip("page")
    report = page.validate_pdf(str(booklets[variant].with_name(name)), profile=profile)
    assert report.is_compliant, [(fault.rule_id, fault.message) for fault in report.failures]


def test_nor_in_a_booklet_of_everything(tmp_path):
    """Lists of paragraphs, pictures, tables, notes: the booklet that the pages are tested with."""
    page = pytest.importorskip("page")
    folder = write_torture(tmp_path / "torture")
    settings = (folder / "booklet.toml").read_text()
    for variant, profile in (("pdf/ua", "ua1"), ("pdf/a", "2a")):
        (folder / "booklet.toml").write_text(f'{settings}\n[print]\nvariant = "{variant}"\n')
        faults = Faults()
        assert pipeline.build(pipeline.Order(folder, tmp_path / "out", ("pdf",)), faults), faults.sorted()
        report = page.validate_pdf(str(tmp_path / "out" / "booklet.pdf"), profile=profile)
        assert report.is_compliant, [(fault.rule_id, fault.message) for fault in report.failures]


@pytest.mark.parametrize("last", [b"\r", b"\n", b"\r\n", b" "])
def test_a_stream_may_end_with_what_ends_lines(tmp_path, last):
    page = pytest.importorskip("page")
    with (tmp_path / "x.pdf").open("wb") as file:
        pdf = PdfFile(file)
        leaf, tree, content, root, info = (pdf.number() for _ in range(5))
        pdf.write_stream(content, b"<<>>", b"q Q" + last)
        pdf.write(leaf, b"<</Type/Page/Parent %d 0 R/MediaBox[0 0 9 9]/Contents %d 0 R>>" % (tree, content))
        pdf.write(tree, b"<</Type/Pages/Kids[%d 0 R]/Count 1>>" % leaf)
        pdf.write(root, b"<</Type/Catalog/Pages %d 0 R>>" % tree)
        pdf.write(info, b"<<>>")
        pdf.close(root, info)
    report = page.validate_pdf(str(tmp_path / "x.pdf"), profile="2a")
    assert not [fault for fault in report.failures if "STREAM" in fault.rule_id]


def test_a_plain_pdf_lacks_the_claim_alone(booklets):
    """The validator does find what is wrong, and in a plain PDF that is the metadata."""
    page = pytest.importorskip("page")
    report = page.validate_pdf(str(booklets["plain"]), profile="ua1")
    wrong = {fault.rule_id for fault in report.failures}
    assert wrong and all("-ID-" in rule or "-METADATA-" in rule for rule in wrong), wrong


@pytest.mark.parametrize("variant", ["plain", "pdf/a", "pdf/ua"])
@pytest.mark.parametrize("name", ["out.pdf", "cover.pdf"])
def test_other_readers_find_nothing(booklets, program, variant, name):
    pdf = str(booklets[variant].with_name(name))
    for words in (["qpdf", "--check"], ["pdfinfo", "-struct"], ["pdffonts"], ["pdftotext"]):
        told = subprocess.run([program(words[0]), *words[1:], pdf], capture_output=True, text=True)
        assert told.returncode == 0 and not told.stderr, told.stderr


# --- what is read out -----------------------------------------------------------------------------


def tags(pdf: Path):
    """Every tag in reading order: its kind and its dictionary."""
    waiting = [PdfReader(pdf).root_object["/StructTreeRoot"]]
    while waiting:
        tag = waiting.pop().get_object()
        if isinstance(tag, list):
            waiting.extend(reversed(tag))
        elif hasattr(tag, "get"):
            if "/S" in tag:
                yield str(tag["/S"]), tag
            if "/K" in tag:
                waiting.append(tag["/K"])


def test_a_diagram_tells_its_position(booklets):
    told = [tag["/Alt"] for kind, tag in tags(booklets["plain"]) if kind == "/Figure"]
    boards = [words for words in told if words.startswith("Weiß: ")]
    first = boards[0]
    assert "König e1" in first and "Schwarz am Zug." in first
    assert "Wichtige Felder: d4 e5." in first and "Plan: f3–d4." in first
    assert len(boards) == 5  # two diagrams, the exercise's, two in the index
    assert len([words for words in told if words.startswith("QR: https://")]) == 2
    assert len(told) == 7  # a drawing over a board is no figure by itself


def test_a_picture_without_words_is_not_read_out(tmp_path):
    """The bars beside a move's share, and a picture that an author gives no words: artifacts."""
    page = pytest.importorskip("page")
    (tmp_path / "games").mkdir()
    (tmp_path / "games" / "club.pgn").write_text("1. e4 e5 *\n\n1. e4 c5 *\n")
    Image.new("L", (400, 40), 99).save(tmp_path / "line.png")
    chapter = "# A\n\n```line main\n1. e4 @here (D) e5\n```\n\n```played @here\n```\n\n![](line.png)\n"
    for theme in ("book", "handout"):
        pdf, *_ = build(tmp_path, theme, 'variant = "pdf/ua"', chapter)
        figures = [tag for kind, tag in tags(pdf) if kind == "/Figure"]
        assert figures and all(tag.get("/Alt") for tag in figures)
        drawn = b"".join(one.get_contents().get_data() for one in PdfReader(pdf).pages)
        assert len(re.findall(rb"/Type\s*/Layout\b", drawn)) == 3
        assert page.validate_pdf(str(pdf), profile="ua1").is_compliant


def test_headings_are_nested(booklets):
    for pdf in booklets.values():
        levels = [int(kind[2]) for kind, _ in tags(pdf) if kind[:2] == "/H" and kind[2:].isdigit()]
        assert levels[0] == 1
        assert all(later <= level + 1 for level, later in zip(levels, levels[1:], strict=False))


def test_margins_are_not_read_out(booklets, program):
    """The running heads and page numbers are on the pages, and not among what is tagged."""
    shown = subprocess.run([program("pdftotext"), str(booklets["plain"]), "-"],
                           capture_output=True, text=True, check=True).stdout  # fmt: skip
    read = subprocess.run([program("pdfinfo"), "-struct-text", str(booklets["plain"])],
                          capture_output=True, text=True, check=True).stdout  # fmt: skip
    title = "One & only"
    assert shown.count(title) > read.count(title) == 3  # the contents, the chapter, its solutions


def test_links_say_where_they_lead(booklets):
    reader = PdfReader(booklets["plain"])
    said = {link.get_object()["/Contents"] for page in reader.pages
            for link in page.get("/Annots", ())}  # fmt: skip
    assert {"a site", "Diagramm 1", "Lösung", "1 One & only"} <= said
    assert not [words for words in said if not words.strip() or "\u2063" in words]


def test_every_link_holds_its_words(booklets):
    """A link that a layout parts into boxes is one tag still, and none is empty (WCAG 2.2, 2.4.4)."""

    def marked(tag) -> bool:
        kids = tag.get("/K", [])
        kids = [kid.get_object() for kid in (kids if isinstance(kids, list) else [kids])]
        return any(isinstance(kid, int) or (hasattr(kid, "get") and marked(kid)) for kid in kids)

    links = [tag for kind, tag in tags(booklets["plain"]) if kind == "/Link"]
    assert links and all(marked(link) for link in links)


# --- pages for a printer's shop -------------------------------------------------------------------


def test_bleed_marks_and_blank_pages(tmp_path):
    pdf, _, faults = build(tmp_path, "handout", 'bleed = "5mm"\nmarks = true\n'
                           'page = "105mm x 148mm"\nbinding = "stapled"',
                           "# One\n\nA page.\n")  # fmt: skip
    notices = [fault.as_text() for fault in faults.sorted() if fault.code == "print-blank"]
    reader = PdfReader(pdf)
    count = len(reader.pages)
    assert count == 4 and len(notices) == 1
    assert "3 blank pages at the end: 4 pages can be stapled" in notices[0] and "toml:10:" in notices[0]
    for page in reader.pages:
        assert box(page, "/TrimBox") == [0, 0, 105, 148]
        assert box(page, "/BleedBox") == [-5, -5, 110, 153]
        assert box(page, "/MediaBox") == [-12, -12, 117, 160]
    assert reader.pages[-1].extract_text() == ""
    marks = [page.get_contents().get_data().partition(b"EMC")[0] for page in reader.pages]
    assert set(marks) == {marks[0]} and b" l S" in marks[0]  # also round blank pages
    assert row(pdf, "page boxes").looked_at == "a bleed of 5 mm"
    for check in ("page size", "page boxes", "page count", "margins", "greys and hairlines"):
        assert row(pdf, check).passed
    imposed = impose(PdfPages(pdf), Job(), Faults())
    assert imposed.blanks == 0 and imposed.grid.scale == 1  # cut at the trim box


def test_no_blank_pages_where_none_are_asked_for(tmp_path):
    pdf, _, faults = build(tmp_path, "handout", 'page = "105mm x 148mm"')
    assert not [fault for fault in faults.sorted() if fault.code == "print-blank"]
    page = PdfReader(pdf).pages[0]
    assert box(page, "/MediaBox") == box(page, "/TrimBox") == box(page, "/BleedBox")


def test_no_text_is_too_small_for_print(booklets):
    """The calls of notes too, and boards in the narrow columns of a small handout."""
    for pdf in booklets.values():
        assert row(pdf, "text size").passed


# --- preflight --------------------------------------------------------------------------------


def row(pdf: Path, check: str):
    found = preflight(PdfPages(pdf), None, Faults())
    return next(one for one in found.rows if one.check == check)


def test_preflight_of_claims(booklets, tmp_path):
    assert row(booklets["plain"], "claims").looked_at == "says to be neither PDF/A nor PDF/UA"
    assert row(booklets["pdf/a"], "claims").looked_at == "says to be PDF/A-2"
    assert row(booklets["pdf/ua"], "claims").passed
    from pypdf import PdfWriter
    from pypdf.generic import NameObject

    writer = PdfWriter(clone_from=PdfReader(booklets["pdf/ua"]))
    figures = [one for one in (ref.get_object() for ref in writer._objects if ref is not None)
               if hasattr(one, "get") and one.get("/S") == "/Figure"]  # fmt: skip
    del figures[0]["/Alt"]
    del writer.root_object[NameObject("/Lang")]
    writer.write(tmp_path / "bad.pdf")
    words = {finding.words for finding in row(tmp_path / "bad.pdf", "claims").findings}
    assert words == {"its language is not said", "1 of its figures have no text alternative"}


@pytest.mark.parametrize(
    ("trim", "bleed", "words"),
    [
        ((10, 10, 390, 550), (0, 0, 400, 560), "a bleed of 3.5 mm"),
        ((10, 10, 390, 550), (20, 10, 390, 550), "the trim box reaches out of the bleed box"),
        ((10, 10, 390, 550), (-9, 0, 400, 560), "the bleed box reaches out of the media box"),
        ((4, 4, 396, 556), (0, 0, 400, 560), "a bleed of 1.4 mm is too narrow"),
    ],
)
def test_preflight_of_boxes(tmp_path, trim, bleed, words):
    from press.pdfs import number_page, write_pages

    page = replace(number_page(1, (400, 560)), trim=trim, bleed=bleed)
    assert words in str(row(write_pages(tmp_path / "in.pdf", [page] * 4), "page boxes"))
