"""What changed between two editions: told in chess terms, and nothing told that isn't chess."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass

import pytest
from tiny import line_of, tiny, write_booklet

from builder.__main__ import main
from builder.editions.compare import Kind, Subject, compare, page_changes
from builder.editions.revision import RevisionError, revision_folder

MAIN = "1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 @centre"
EXERCISE = "```exercise e1 from @centre\ntask: Move.\nsolution: {}\n```\n"


def changes(tmp_path, old, new):
    """Kind, where, old and new of each change; chapters may be one text or several."""
    old = (old,) if isinstance(old, str) else old
    new = (new,) if isinstance(new, str) else new
    before, after = tiny(tmp_path / "old", *old), tiny(tmp_path / "new", *new)
    assert before.faults == () and after.faults == (), before.told() + after.told()
    return [
        (change.kind, *(part and (part.kind, part.text) for part in (change.where, change.old, change.new)))
        for change in compare(before.booklet, after.booklet)
    ]  # fmt: skip


@dataclass(frozen=True)
class Case:
    name: str
    old: str | tuple[str, ...]
    new: str | tuple[str, ...]
    told: list


CASES = (
    Case("another recommendation", line_of(MAIN + " Nf6 5. Nxc6"), line_of(MAIN + " Nf6 5. Nc3"), [
        (Kind.RECOMMENDATION, ("after", "4...Nf6"), ("text", "5.Nxc6"), ("text", "5.Nc3")),
        (Kind.DROPPED, ("after", "4...Nf6"), ("text", "5.Nxc6"), None),
        (Kind.ADDED, ("after", "4...Nf6"), None, ("text", "5.Nc3")),
    ]),
    Case("demoted to a variation", line_of(MAIN + " Nf6 5. Nxc6"),
         line_of(MAIN + " Nf6 5. Nc3 (5. Nxc6)"), [
        (Kind.RECOMMENDATION, ("after", "4...Nf6"), ("text", "5.Nxc6"), ("text", "5.Nc3")),
        (Kind.ADDED, ("after", "4...Nf6"), None, ("text", "5.Nc3")),
    ]),
    Case("a line added", line_of(MAIN), line_of(MAIN + " Bc5 5. Be3 (5. Nb3) Qf6 6. c3"), [
        (Kind.ADDED, ("after", "4.Nxd4"), None, ("text", "4...Bc5 5.Be3 Qf6 6.c3 … (+1)")),
    ]),
    Case("a line dropped", line_of(MAIN + " (4. Bc4 Bc5)"), line_of(MAIN), [
        (Kind.DROPPED, ("after", "3...exd4"), ("text", "4.Bc4 Bc5"), None),
    ]),
    Case("an assessment", line_of(MAIN + " +="), line_of(MAIN + " ="), [
        (Kind.ASSESSMENT, ("after", "4.Nxd4"), ("text", "+="), ("text", "=")),
    ]),
    Case("a solution", line_of(MAIN) + EXERCISE.format("4... Nf6"),
         line_of(MAIN) + EXERCISE.format("4... Bc5"), [
        (Kind.SOLUTION, ("exercise", "1"), ("text", "4...Nf6"), ("text", "4...Bc5")),
    ]),
    Case("a diagram added", line_of(MAIN), line_of(MAIN + " (D)"), [
        (Kind.DIAGRAM, ("after", "4.Nxd4"), None, ("diagram", "1")),
    ]),
    Case("a diagram moved", (line_of(MAIN + " (D)"), "# Two\n"), (line_of(MAIN), "# Two\n\n![x](@centre)\n"), [
        (Kind.DIAGRAM, ("after", "4.Nxd4"), ("diagram", "1"), ("diagram", "1")),
    ]),
    Case("a chapter added", line_of(MAIN), (line_of(MAIN), "# Two\n"), [
        (Kind.CHAPTER, None, None, ("text", "Two")),
    ]),
    Case("a line that only moves", (line_of(MAIN), line_of("1. e4 c5", "line b")),
         (line_of("1. e4 c5", "line b"), line_of(MAIN)), []),
    Case("another order of moves", line_of("1. Nf3 Nf6 2. g3 g6"), line_of("1. Nf3 Nf6 2. g3 g6") + "\nWords.\n", []),
    Case("other words", line_of(MAIN + " {one}"), line_of(MAIN + " {two}"), []),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_told(case, tmp_path):
    assert changes(tmp_path, case.old, case.new) == case.told


def test_pages(tmp_path):
    made = tiny(tmp_path, line_of(MAIN + " (D)"))
    (change,) = page_changes(made.booklet, made.booklet, {"diagram-1": 4}, {"diagram-1": 6})
    assert (change.where, change.old, change.new) == (
        Subject("diagram", "1"), Subject("page", "4"), Subject("page", "6"),
    )  # fmt: skip


@pytest.fixture
def repository(tmp_path):
    """A booklet below the top of a repository, with a tag `first`, changed since."""
    folder = write_booklet(tmp_path / "books" / "one", line_of(MAIN + " Nf6 5. Nxc6"))
    git = ["git", "-C", str(tmp_path), "-c", "user.name=x", "-c", "user.email=x@example.org"]
    subprocess.run([*git, "init", "-q"], check=True)
    subprocess.run([*git, "add", "."], check=True)
    subprocess.run([*git, "commit", "-qm", "first"], check=True)
    subprocess.run([*git, "tag", "first"], check=True)
    write_booklet(folder, line_of(MAIN + " Nf6 5. Nc3"))
    return folder


def test_a_git_revision(repository, capsys):
    assert main(["compare", "first", str(repository)]) == 0
    told = capsys.readouterr().out
    assert "after 4...Nf6: 5.Nc3 instead of 5.Nxc6 (chapters/1.md:2:" in told


@pytest.mark.parametrize("revision", ["nowhere", "--output=/tmp/x", "first:chapters/1.md"])
def test_no_such_revision(revision, repository):
    with pytest.raises(RevisionError), revision_folder(repository, revision):
        pass


def test_a_folder_without_repository_is_misuse(tmp_path, capsys):
    folder = write_booklet(tmp_path, line_of(MAIN))
    assert main(["compare", "first", str(folder)]) == 2
    assert f"neither a folder nor a git revision of {folder}: not a git repository" in capsys.readouterr().err


def test_a_sheet_that_is_no_pdf_by_its_name_is_misuse(tmp_path, capsys):
    folder = write_booklet(tmp_path, line_of(MAIN))
    assert main(["compare", str(folder), str(folder), "--errata", str(tmp_path / "x.txt")]) == 2
    assert "x.txt should end in .pdf" in capsys.readouterr().err
    assert not (tmp_path / "x.txt").exists()


@pytest.mark.parametrize("language", ["en", "de", "fr", "es", "it", "nl", "pt"])
def test_errata_sheet(language, tmp_path, program):
    """The sheet in the booklet's language, read back from the PDF."""
    settings = 'title = "Tiny"\nside = "white"\nnotation = "letters"\nedition = "{}"\nlanguage = "%s"\n' % language
    old = write_booklet(tmp_path / "old", line_of(MAIN + " Nf6 5. Nxc6"), settings=settings.format("I"))
    new = write_booklet(tmp_path / "new", line_of(MAIN + " Nf6 5. Nc3"), settings=settings.format("II"))
    sheet = tmp_path / "errata.pdf"
    assert main(["compare", str(old), str(new), "--errata", str(sheet)]) == 0
    text = subprocess.run([program("pdftotext"), "-layout", str(sheet), "-"],
                          capture_output=True, text=True, check=True).stdout  # fmt: skip
    knight = {"en": "N", "de": "S", "fr": "C", "es": "C", "it": "C", "nl": "P", "pt": "C"}[language]
    assert f"5.{knight}xc6" in text and f"5.{knight}c3" in text
    assert "II" in text
    first = sheet.read_bytes()
    assert main(["compare", str(old), str(new), "--errata", str(sheet)]) == 0
    assert sheet.read_bytes() == first
