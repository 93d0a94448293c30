"""`plyleaf press`: the two files, their names, what is never overwritten, misuse."""

from __future__ import annotations

import os

import pytest
from press.pdfs import A4, document, numbered, number_page, write_pages
from pypdf import PdfReader
from tiny import write_booklet

from builder.__main__ import main
from builder.commands.press import LAYOUTS, SHEET_NAMES
from builder.faults import Faults
from builder.press.geometry import SHEETS
from builder.press.impose import impose
from builder.press.instructions import WORDS, instructions_html, instructions_pdf, read_print_words
from builder.press.job import Job, Layout
from builder.press.pdf_files import PdfFile
from builder.press.plan import Turn
from builder.settings import LANGUAGES

CHAPTER = "# One\n\n```line main\n1. e4 e5 2. Nf3\n```\n"


def test_choices_are_those_of_the_press():
    assert set(LAYOUTS) == {layout.value for layout in Layout}
    assert set(SHEET_NAMES) == set(SHEETS)


def test_a_pdf_becomes_sheets_and_a_page_about_them(tmp_path, capsys):
    source = numbered(tmp_path / "club.pdf", 8)
    before = source.read_bytes()
    assert main(["press", str(source)]) == 0
    told = capsys.readouterr().out
    assert "8 pages on 2 sheets of A4" in told and "flip on short edge" in told
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "club-how-to-print.pdf", "club-to-print.pdf", "club.pdf"]  # fmt: skip
    assert source.read_bytes() == before
    assert len(PdfReader(tmp_path / "club-to-print.pdf").pages) == 4
    how_to = PdfReader(tmp_path / "club-how-to-print.pdf")
    assert len(how_to.pages) == 1 and "club-to-print.pdf" in how_to.pages[0].extract_text()


def test_a_folder_is_laid_out_first(tmp_path, capsys):
    folder = write_booklet(tmp_path / "booklet", CHAPTER)
    assert main(["press", str(folder)]) == 0
    sheets = PdfReader(folder / "site" / "booklet-to-print.pdf")
    assert "Tiny" in sheets.pages[0].extract_text()
    assert sheets.metadata.title and "Tiny" in sheets.metadata.title
    assert sorted(path.name for path in (folder / "site").iterdir()) == [
        "booklet-how-to-print.pdf", "booklet-to-print.pdf"]  # fmt: skip
    assert "/tmp" not in capsys.readouterr().out.replace(str(folder), "")


def test_a_booklet_with_errors_makes_nothing(tmp_path, capsys):
    folder = write_booklet(tmp_path / "booklet", CHAPTER.replace("Nf3", "Nf4"))
    assert main(["press", str(folder)]) == 1
    assert "Nf4" in capsys.readouterr().out
    assert not (folder / "site").exists()


def test_links_and_labels_stay_in_the_pdf_that_was_laid_out(tmp_path):
    source = document().write(tmp_path / "club.pdf")
    before = source.read_bytes()
    assert main(["press", str(source)]) == 0
    assert source.read_bytes() == before
    sheets = PdfReader(tmp_path / "club-to-print.pdf")
    assert all("/Annots" not in page for page in sheets.pages)  # they'd lead nowhere here
    assert main(["press", "--preflight", str(source)]) == 0


# --- files of other people ------------------------------------------------------------------------


def test_its_own_files_are_replaced(tmp_path):
    source = numbered(tmp_path / "club.pdf", 8)
    assert main(["press", str(source)]) == 0
    numbered(source, 12)
    assert main(["press", str(source)]) == 0
    assert len(PdfReader(tmp_path / "club-to-print.pdf").pages) == 6


@pytest.mark.parametrize("name", ["club-to-print.pdf", "club-how-to-print.pdf"])
@pytest.mark.parametrize("body", [b"a letter", None], ids=["text", "another's PDF"])
def test_files_of_others_are_left_alone(tmp_path, capsys, name, body):
    source = numbered(tmp_path / "club.pdf", 8)
    stranger = tmp_path / name
    if body is None:
        numbered(stranger, 1)
    else:
        stranger.write_bytes(body)
    before = stranger.read_bytes()
    assert main(["press", str(source)]) == 1
    assert "is not replaced" in capsys.readouterr().out
    assert stranger.read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} == {"club.pdf", name}


@pytest.mark.parametrize("link", [False, True], ids=["itself", "by a link"])
def test_the_input_is_never_replaced(tmp_path, capsys, link):
    """Also not where the press itself has made it, which only its --out could ask for."""
    source = numbered(tmp_path / "club.pdf", 8)
    target = source
    if link:
        target = tmp_path / "other.pdf"
        target.symlink_to(source)
    before = source.read_bytes()
    assert main(["press", str(source), "--out", str(target)]) == 1
    assert "this is the file that is laid out" in capsys.readouterr().out
    assert source.read_bytes() == before


def test_nothing_half_written_stays(tmp_path, monkeypatch, capsys):
    source = numbered(tmp_path / "club.pdf", 8)

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    assert main(["press", str(source)]) == 1
    assert "no space left" in capsys.readouterr().out
    assert [path.name for path in tmp_path.iterdir()] == ["club.pdf"]


def test_same_input_same_bytes(tmp_path):
    bodies = []
    for run in ("a", "b"):
        folder = tmp_path / run
        folder.mkdir()
        numbered(folder / "club.pdf", 6)
        assert main(["press", str(folder / "club.pdf")]) == 0
        bodies.append([(folder / name).read_bytes()
                       for name in ("club-to-print.pdf", "club-how-to-print.pdf")])  # fmt: skip
    assert bodies[0] == bodies[1]


# --- misuse and status --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["nowhere.pdf"], "there is no folder or file nowhere.pdf"),
        (["club.pdf", "--sheet", "A9"], "there is no sheet 'A9'"),
        (["club.pdf", "--signature", "0"], "'0' is no number of sheets"),
        (["club.pdf", "--paper", "thick"], "'thick' is no thickness"),
        (["club.pdf", "--layout", "four", "--signature", "2"], "--signature is for booklets"),
        (["club.pdf", "--out", "sheets.txt"], "sheets.txt should end in .pdf"),
        (["club.pdf", "--preflight", "--out", "x.pdf"], "--out has no meaning with --preflight"),
    ],
)
def test_misuse(tmp_path, monkeypatch, capsys, words, told):
    numbered(tmp_path / "club.pdf", 4)
    monkeypatch.chdir(tmp_path)
    assert main(["press", *words]) == 2
    assert told in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["club.pdf"]


def test_status_of_a_preflight(tmp_path, capsys):
    clean = document().write(tmp_path / "clean.pdf")
    assert main(["press", "--preflight", str(clean)]) == 0
    assert capsys.readouterr().out.endswith("all checks passed\n")
    short = document(7).write(tmp_path / "short.pdf")
    assert main(["press", "--preflight", str(short)]) == 1
    told = capsys.readouterr().out
    assert "fail  page count" in told and told.endswith("1 check failed\n")
    assert main(["press", "--preflight", "--layout", "two", str(short)]) == 0


def test_a_glued_booklet_is_not_judged_as_folded(tmp_path, capsys):
    settings = 'title = "T"\n[print]\nbinding = "{}"\npage = "105mm x 148mm"\n'
    for binding, words in (("glued", "nothing is folded"), ("stapled", "folded as a booklet")):
        folder = write_booklet(tmp_path / binding, CHAPTER, settings=settings.format(binding))
        assert main(["press", "--preflight", str(folder)]) == 0
        assert words in capsys.readouterr().out


# --- the page that tells how to print -----------------------------------------------------------


@pytest.mark.parametrize("language", LANGUAGES)
def test_words_of_every_language(language):
    code, words = read_print_words(language)
    assert code == language
    assert len(words.steps_booklet) == len(words.steps_parts) == 4
    assert (WORDS / f"{language}.toml").is_file()


@pytest.mark.parametrize(
    ("tag", "code"), [("de-AT", "de"), ("EN", "en"), ("", "en"), ("../x", "en")]
)
def test_language_tags(tag, code):
    assert read_print_words(tag)[0] == code


# The two that have most to say, on the shorter of the sheets' sizes.
WORDIEST = (Job(sheet="Letter"), Job(signature=3, turn=Turn.LONG, sheet="Letter"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_is_one_page_whatever_it_has_to_say(tmp_path, language):
    from dataclasses import replace

    title = "An opening repertoire for White with a rather long title: the Scotch Game"
    source = write_pages(tmp_path / "in.pdf", (number_page(n) for n in range(1, 35)), title)
    for job in WORDIEST:
        imposed = impose(PdfFile(source), job, Faults())
        assert imposed is not None
        body = instructions_pdf(replace(imposed, language=language), "a-long-name-to-print.pdf",
                                Faults())  # fmt: skip
        assert body is not None
        (tmp_path / "how-to.pdf").write_bytes(body)
        assert len(PdfReader(tmp_path / "how-to.pdf").pages) == 1


@pytest.mark.parametrize(
    ("job", "words"),
    [
        (Job(), ["yes, flip on short edge", "Turn the sheet over sideways", "9 sheets",
                 "Staple twice", "2 pages at the end are blank"]),
        (Job(turn=Turn.LONG), ["yes, flip on long edge", "Turn the sheet over upwards"]),
        (Job(signature=3), ["in 3 parts", "take 3 at a time", "Sew or glue"]),
        (Job(Layout.STACK, sheet="A3"), ["yes, flip on long edge", "Cut the whole pile apart"]),
        (Job(Layout.FOUR), ["printed at 71 % of their size, so that they fit on A4"]),
    ],
    ids=["booklet", "long edge", "parts", "stack", "made smaller"],
)  # fmt: skip
def test_it_says_what_was_done(tmp_path, job, words):
    imposed = impose(PdfFile(numbered(tmp_path / "in.pdf", 34)), job, Faults())
    assert imposed is not None
    page = instructions_html(imposed, "club-to-print.pdf")
    for word in words:
        assert word in page


def test_its_picture_is_the_first_sheet(tmp_path):
    imposed = impose(PdfFile(numbered(tmp_path / "in.pdf", 8)), Job(), Faults())
    assert imposed is not None
    page = instructions_html(imposed, "x.pdf")
    cells = [part.split("<")[0] for part in page.split('<div class="cell"')[1:]]
    assert [cell.split(">")[1] for cell in cells] == ["8", "1", "2", "7"]


def test_a_title_from_elsewhere_stays_text(tmp_path):
    source = write_pages(tmp_path / "in.pdf", [number_page(1, A4)] * 4, "<script>x</script> & co")
    imposed = impose(PdfFile(source), Job(), Faults())
    assert imposed is not None
    assert "&lt;script&gt;x&lt;/script&gt; &amp; co" in instructions_html(imposed, "x.pdf")


def test_sheets_without_the_page_where_weasyprint_is_lacking(tmp_path, monkeypatch, capsys):
    from builder.press import weasy

    def missing():
        raise weasy.PressMissing("the PDF needs WeasyPrint")

    monkeypatch.setattr(weasy, "_weasyprint", missing)
    source = numbered(tmp_path / "club.pdf", 8)
    assert main(["press", str(source)]) == 0
    assert "the page that tells how to print was not made" in capsys.readouterr().out
    assert {path.name for path in tmp_path.iterdir()} == {"club-to-print.pdf", "club.pdf"}
