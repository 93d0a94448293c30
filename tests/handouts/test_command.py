"""plyleaf handout: what it writes, what it leaves alone, what it says."""

from __future__ import annotations

import csv
from pathlib import Path

import pypdf
import pytest
from tiny import line_of, write_booklet

from builder.__main__ import main

LINES = line_of("1. e4 e5 (1... c5 2. Nf3) 2. Nf3 @knight") + (
    "```exercise e1 from @knight\ntask: Black to move.\nsolution: 2... Nc6\n```\n"
)


@pytest.fixture
def here(tmp_path, monkeypatch) -> Path:
    """A folder to work in that holds a booklet called `club`."""
    write_booklet(tmp_path / "club", LINES, "# Second\n\nWords.\n",
                  "+++\ndraft = true\n+++\n# Third\n")  # fmt: skip
    monkeypatch.chdir(tmp_path)
    return tmp_path


STATUS = (
    ("no kind", "handout club", 2, "one of the arguments --chapter --exercises --summary --cards"),
    ("two kinds", "handout club --cards --summary", 2, "not allowed with argument"),
    ("no folder", "handout nowhere --cards", 2, "there is no folder nowhere"),
    ("the folder where the chapter goes", "handout --cards club", 2,
     "club is a booklet's folder, which goes in front: plyleaf handout club --cards"),
    ("no such chapter", "handout club --cards 9", 2, "the booklet has no chapter 9"),
    ("a draft", "handout club --chapter 3", 2, "the booklet has no chapter 3"),
    ("no chapter", "handout club --chapter", 2, "argument --chapter: expected one argument"),
    ("no such page", "handout club --cards --page A9", 2, "there is no page 'A9'"),
    ("no such edge", "handout club --cards --duplex left", 2, "invalid choice: 'left'"),
    ("an edge without a back", "handout club --summary --duplex long", 2, "--duplex goes with"),
    ("CSV of no cards", "handout club --summary --csv x.csv", 2, "--csv goes with --cards"),
    ("pages of no summary", "handout club --cards --pages", 2, "--pages goes with --summary"),
    ("no PDF", "handout club --cards -o x.doc", 2, "x.doc should end in .pdf"),
    ("no exercises", "handout club --exercises 2", 1,
     "chapters/2.md:1:1: error: there are no exercises in this chapter"),
)  # fmt: skip


@pytest.mark.parametrize(("words", "status", "said"), [case[1:] for case in STATUS],
                         ids=[case[0] for case in STATUS])  # fmt: skip
def test_status(here, capsys, words, status, said):
    before = sorted(here.rglob("*"))
    assert main(words.split()) == status
    out = capsys.readouterr()
    assert said in (out.out if status == 1 else out.err)
    assert sorted(here.rglob("*")) == before


def test_a_handout_is_written_and_not_replaced_by_accident(here, capsys):
    assert main(["handout", "club", "--exercises", "1"]) == 0
    target = here / "exercises-1.pdf"
    out = capsys.readouterr().out
    assert "2 pages, 1 sheet, 1 exercise\n  exercises-1.pdf\n" in out
    assert "print at 100 %, both sides, flip on long edge" in out
    first = target.read_bytes()
    assert main(["handout", "club", "--exercises", "1"]) == 1
    assert "to replace it, name it: -o exercises-1.pdf" in capsys.readouterr().out
    assert main(["handout", "club", "--summary", "-o", str(target)]) == 0
    assert target.read_bytes() != first
    assert pypdf.PdfReader(target).metadata.title == "Tiny: At a glance"
    assert [path.name for path in here.iterdir() if path.name.startswith(".")] == []


STRANGERS = {
    "no PDF": b"some notes",
    "somebody's PDF": None,
}


@pytest.mark.parametrize("name", STRANGERS)
def test_strangers_are_left_alone(here, capsys, name):
    target = here / "mine.pdf"
    if STRANGERS[name] is None:
        writer = pypdf.PdfWriter()
        writer.add_blank_page(100, 100)
        writer.write(target)
    else:
        target.write_bytes(STRANGERS[name])
    before = target.read_bytes()
    assert main(["handout", "club", "--summary", "-o", "mine.pdf"]) == 1
    assert "mine.pdf:1:1: error:" in capsys.readouterr().out
    assert target.read_bytes() == before


def test_cards_as_csv(here, capsys):
    words = ["handout", "club", "--cards", "-o", "cards.pdf", "--csv", "cards.csv"]
    assert main(words) == 0
    assert "  cards.pdf\n  cards.csv\n" in capsys.readouterr().out
    rows = list(csv.reader((here / "cards.csv").open(newline="")))
    assert [row[1] for row in rows] == ["moves", "e4", "Nf3", "Nf3", "Nc6"]
    assert main(words) == 0  # our own are replaced
    (here / "cards.csv").write_text("name,phone\n")
    (here / "cards.pdf").unlink()
    assert main(words) == 1
    assert "this holds no cards of ours" in capsys.readouterr().out
    assert (here / "cards.csv").read_text() == "name,phone\n"
    assert not (here / "cards.pdf").exists()


def test_pages_on_the_summary(here, capsys):
    write_booklet(here / "club", line_of('1. e4 e5 2. Nf3 (D "A") Nc6'))
    assert main(["handout", "club", "--summary", "--pages"]) == 0
    text = pypdf.PdfReader(here / "summary.pdf").pages[0].extract_text()
    assert "D\xa01, p. 1" in text or "D 1, p. 1" in text


def test_drafts_on_request(here):
    assert main(["handout", "club", "--chapter", "3", "--drafts"]) == 0
    assert "Third" in pypdf.PdfReader(here / "chapter-3.pdf").pages[0].extract_text()


def test_errors_in_the_booklet_stop_it(here, capsys):
    write_booklet(here / "club", line_of("1. e4 e5 2. Nf4"))
    assert main(["handout", "club", "--cards"]) == 1
    assert "Nf4 is not legal" in capsys.readouterr().out
    assert not (here / "cards.pdf").exists()
