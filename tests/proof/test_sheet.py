"""The proof sheet: one page, whole in itself, that shows what was found and runs nothing."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from tiny import SETTINGS, line_of, read_and_make, tiny, write_booklet

from builder.faults import Faults, Severity
from builder.proof.accept import Accepted
from builder.proof.finding import Finding
from builder.proof.report import ClaimCounts, EngineFacts, ProofReport
from builder.proof.run import Depth, run_proof
from builder.proof.sheet import SHEET_FILE, facts, sheet_html, summary_text, write_sheet
from builder.source.booklet import read_booklet
from builder.source.files import BookletFiles

CHAPTERS = (
    '+++\ntitle = "A trap"\n+++\n' + line_of("1. f3 e5 2. g4 @fool", "line fool")
    + "\n" + line_of("1. e4 e5 2. Nf3 Nc6 3. Nxe5", "line greedy"),
    '+++\ntitle = "Black\'s part"\nside = "black"\n+++\n'
    + line_of("1. e4 e5 @open 2. Nf3 Nc6 {% material white +3 %} 3. Nxe5 Nxe5"),
)  # fmt: skip
VOID = {"meta", "link", "br", "img", "use", "path"}
HOSTILE = '<script>alert("1")</script> & \'"> <img src=x onerror=alert(1)>'


class Page(HTMLParser):
    """Checks that elements nest and close; keeps their names, attributes and ids."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str | None]] = []
        self.ids: list[str] = []
        self.words: list[str] = []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]
        self.ids += [value for name, value in attrs if name == "id"]
        if tag not in ("meta", "link", "br", "img"):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in ("meta", "link", "br", "img"):
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def sheet(folder: Path, *chapters: str, settings: str = SETTINGS) -> tuple[str, ProofReport]:
    write_booklet(folder, *chapters, settings=settings)
    source, booklet, faults = read_and_make(folder)
    report = run_proof(source, booklet, faults, Depth.SHEET)
    texts = {chapter.source.file: chapter.source for chapter in source.chapters}
    return sheet_html(booklet, report, texts), report


def test_findings_stand_by_chapter_the_worst_first(tmp_path):
    html, report = sheet(tmp_path, *CHAPTERS)
    page = Page(html)
    severities = re.findall(r'<article class="finding (\w+)">', html)
    assert severities == ["warning", "warning", "notice", "error", "notice"]
    assert len(report.findings) == 5
    places = [page.text.index(words) for words in (
        "A trap", "2 warnings, 1 notice", "Black mates by Qh4#", "nothing refers to the position fool"
        .capitalize(), "Black's part", "1 error, 1 notice")]  # fmt: skip
    assert places == sorted(places)
    assert summary_text(report) == "1 error, 2 warnings, 2 notices"
    assert "1 error, 2 warnings, 2 notices" in page.text


def test_each_finding_has_its_place_its_line_and_what_to_paste(tmp_path):
    page = Page(sheet(tmp_path, *CHAPTERS)[0])
    assert "chapters/1.md:5:13" in page.text
    assert '"end-mate@1/fool/2.g4: …"' in page.text
    assert "1. f3 e5 2. g4 @fool" in page.text
    # An error can't be accepted.
    assert "claim-false@" not in page.text


def test_each_finding_has_its_board(tmp_path):
    html, report = sheet(tmp_path, *CHAPTERS)
    boards = re.findall(r'<svg class="board" id="([^"]+)"', html)
    assert len(boards) == len(report.findings) == len(set(boards))
    assert html.count('<use href="#pb-flipped"/>') == 2  # those of the chapter for Black
    page = Page(html)
    assert len(page.ids) == len(set(page.ids))
    used = {value for tag, name, value in page.attributes if tag == "use" and name == "href"}
    assert {name.removeprefix("#") for name in used} <= set(page.ids)


def test_the_page_is_whole_in_itself(tmp_path):
    html, _ = sheet(tmp_path, *CHAPTERS)
    page = Page(html)
    assert "script" not in page.tags and "link" not in page.tags and "img" not in page.tags
    assert not [name for _, name, _ in page.attributes if name.startswith("on")]
    assert set(re.findall(r"url\((\w+:)", html)) == {"data:"}
    assert not re.findall(r"(?:src|href)=\"(?!#)", html)
    assert "default-src 'none'" in html
    assert "http" not in re.sub(r"http-equiv|base64,[^)]*", "", html)


def test_the_same_findings_give_the_same_bytes(tmp_path):
    assert sheet(tmp_path / "a", *CHAPTERS)[0] == sheet(tmp_path / "b", *CHAPTERS)[0]


def test_a_clean_booklet_says_so(tmp_path):
    html, report = sheet(tmp_path, line_of("1. e4 e5 2. Nf3 Nc6"))
    assert summary_text(report) == "Nothing found: the booklet is clean"
    page = Page(html)
    assert summary_text(report) in page.text
    assert "article" not in page.tags and "section" not in page.tags


def test_a_broken_booklet_does_not_say_so(tmp_path):
    _, report = sheet(tmp_path, line_of("1. e4 e5 2. Nf3 Nc9"))
    assert summary_text(report) == "The chapters have errors"
    assert "only the claims were proved" in next(facts(report))


def test_an_authors_text_is_escaped(tmp_path):
    """Titles, quoted lines, names, reasons, an engine's words: whatever comes from outside."""
    title = HOSTILE.replace('"', '\\"')
    chapter = (f'+++\ntitle = "{title}"\n+++\n' + line_of("1. e4 e5 @open {" + HOSTILE + "} 2. Nf3"))
    made = tiny(tmp_path, chapter, settings=f'title = "{title}"\nside = "white"\n')
    finding = Finding("name-unused", Severity.WARNING, "1", f"1/{HOSTILE}",
                      made.chapter.lines[0].main_plies()[1].place, HOSTILE, HOSTILE)  # fmt: skip
    report = ProofReport((finding,), (Accepted(finding, HOSTILE),), ClaimCounts(),
                         EngineFacts(HOSTILE, 1000, failure=HOSTILE))  # fmt: skip
    source = read_booklet(made.folder, Faults())
    texts = {one.source.file: one.source for one in source.chapters}
    html = sheet_html(made.booklet, report, texts)
    page = Page(html)
    assert "script" not in page.tags and "img" not in page.tags
    assert not [name for _, name, _ in page.attributes if name.startswith("on")]
    # Title twice, chapter, message twice, hint, excerpt, accept, reason, engine twice.
    assert page.text.count("onerror=alert(1)") == 11


def test_many_notices_of_one_kind_are_folded(tmp_path):
    """Five stand open, each with its board; six are a list."""
    names = " ".join(f"{move} @n{number}" for number, move in
                     enumerate("e4 e5 Nf3 Nc6 Bb5 a6".split()[:6]))  # fmt: skip
    for count, boards in ((5, 5), (6, 0)):
        html, report = sheet(tmp_path, line_of(" ".join(names.split()[: 2 * count])))
        page = Page(html)
        assert len(report.findings) == count
        assert len(re.findall(r'<svg class="board" ', html)) == page.tags.count("article") == boards
        assert ("name-unused: 6 notices" in page.text) == (count == 6)
        assert page.text.count('"name-unused@1/@n') == count


def test_a_long_line_is_cut_round_its_finding(tmp_path):
    chapter = line_of("1. f3 {" + "a" * 5_000 + "} e5 2. g4 {" + "b" * 5_000 + "}")
    html, _ = sheet(tmp_path, chapter)
    excerpt = re.search(r'<pre class="excerpt">(.*?)</pre>', html, re.S).group(1)
    assert "…" in excerpt and "<mark>g4</mark>" in excerpt
    assert len(excerpt) < 500


def test_accepted_findings_stand_at_the_end(tmp_path):
    settings = SETTINGS + '[proof]\naccept = ["end-mate@1/fool/2.g4: every child knows it"]\n'
    html, report = sheet(tmp_path, *CHAPTERS, settings=settings)
    page = Page(html)
    assert "1 finding accepted" in list(facts(report))
    assert page.text.index("Accepted") < page.text.index("every child knows it")
    assert '"end-mate@1/fool/2.g4: …"' not in page.text


def test_facts():
    report = ProofReport((), (), ClaimCounts(10, 1, 2), EngineFacts("Fish 1", 400_000, 3, 1500, 700))
    assert list(facts(report)) == [
        "10 claims: 7 proved, 1 false, 2 left to an engine",
        "Fish 1, 400,000 nodes a position: 700 verdicts from 1,503 answers, 3 of them new",
    ]
    failed = replace(report, engine=replace(report.engine, missing=4, failure="it ended"))
    assert list(facts(failed))[2] == "The engine failed: it ended; 4 questions left open"


# --- where it is written --------------------------------------------------------------------------------


def test_where_it_is_written(tmp_path):
    files = BookletFiles.at(tmp_path)
    assert write_sheet("a", files, None, Faults()) == files.folder / SHEET_FILE
    assert (tmp_path / SHEET_FILE).read_text() == "a"
    out = tmp_path / "sheet.html"
    assert write_sheet("b", files, out, Faults()) == out
    assert out.read_text() == "b"


@pytest.mark.parametrize("linked", [".plyleaf", SHEET_FILE])
def test_a_link_out_of_the_booklet_is_not_followed(linked, tmp_path):
    booklet, outside = tmp_path / "booklet", tmp_path / "outside"
    booklet.mkdir()
    outside.mkdir()
    link = booklet / linked
    link.parent.mkdir(exist_ok=True)
    link.symlink_to(outside if linked == ".plyleaf" else outside / "victim")
    faults = Faults()
    assert write_sheet("a", BookletFiles.at(booklet), None, faults) is None
    assert [fault.code for fault in faults.sorted()] == ["out-place"]
    assert list(outside.iterdir()) == []


def test_the_page_is_valid_html(tmp_path, program, node_package):
    """By the Nu HTML Checker (npm vnu-jar), which the W3C's validator uses too."""
    java, jar = program("java"), node_package("vnu-jar") / "build/dist/vnu.jar"
    file = tmp_path / "sheet.html"
    settings = SETTINGS + '[proof]\naccept = ["end-mate@1/fool/2.g4: every child knows it"]\n'
    file.write_text(sheet(tmp_path, *CHAPTERS, settings=settings)[0], encoding="utf-8")
    result = subprocess.run([java, "-jar", str(jar), "--errors-only", str(file)],
                            capture_output=True, text=True)  # fmt: skip
    assert result.stderr == ""
