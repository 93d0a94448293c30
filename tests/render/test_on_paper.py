"""What pages ask for: diagrams and exercises abreast, notes at the foot."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from bare_medium import bare
from tiny import line_of, tiny

from builder.faults import Faults
from builder.press.pdf import print_theme
from builder.render import prose
from builder.render.print_document import print_booklet
from builder.render.print_notes import foot_notes


def paper(folder: Path, chapter: str) -> str:
    made = tiny(folder, chapter)
    assert not [fault for fault in made.faults if fault.severity.word == "error"], made.told()
    at = bare(made.booklet)
    medium = replace(at.medium, on_paper=True)
    at = replace(at, medium=medium, foot_notes=foot_notes(made.chapter))
    return str(prose.blocks(made.chapter.blocks, at))


def test_a_start_position_with_a_name_is_in_the_index_of_names(tmp_path):
    made = tiny(tmp_path, """
        ```line main from "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"
        @ending 1. e4 Kd7 @later
        ```
        """)  # fmt: skip
    theme = print_theme("book", tmp_path, Faults())
    assert theme is not None
    entries = re.search(r'<section class="back names".*?</section>',
                        print_booklet(made.booklet, theme).frame(), re.S)  # fmt: skip
    assert entries is not None
    text = re.sub(r"<[^>]+>|\s+", " ", entries.group())
    assert "ending" in text and "Given position" in text and "1...Kd7" in text


def rows(html: str) -> list[int]:
    """The boards of each row in reading order."""
    parts = re.split(r'<div class="abreast of-\d">', html)
    found = [1] * parts[0].count("<figure")
    for part in parts[1:]:
        inside, after = part.split("</div>", 1)
        found += [inside.count("<figure")] + [1] * after.count("<figure")
    return found


LINES = (
    ("one", "1. e4 (D) e5", [1]),
    ("two with two moves between", "1. e4 (D) e5 2. Nf3 (D)", [2]),
    ("four moves are near, five are far", "1. e4 (D) e5 2. Nf3 Nc6 3. d4 (D) exd4 4. Nxd4 Nf6 5. Nc3 d6 (D)",
     [2, 1]),
    ("at once", "1. e4 (D) (D flip) e5", [2]),
    ("three", "1. e4 (D) e5 (D) 2. Nf3 (D)", [3]),
    ("a fourth begins a row", "1. e4 (D) e5 (D) 2. Nf3 (D) Nc6 (D)", [3, 1]),
    ("words keep them apart", "1. e4 (D) {new} e5 (D)", [1, 1]),
    ("so does a variation", "1. e4 (D) (1. d4) e5 (D)", [1, 1]),
    ("and its end", "1. e4 (1. d4 (D)) e5 (D)", [1, 1]),
    ("in a variation", "1. e4 (1. d4 (D) d5 (D)) e5", [2]),
    ("a large one stands alone", "1. e4 (D) e5 (D large) 2. Nf3 (D)", [1, 1, 1]),
    ("a claim says nothing", "1. e4 (D) {% material even %} e5 (D)", [2]),
)  # fmt: skip


@pytest.mark.parametrize(("name", "moves", "expected"), LINES, ids=[name for name, *_ in LINES])
def test_rows_of_a_line(tmp_path, name, moves, expected):
    assert rows(paper(tmp_path, line_of(moves))) == expected


def test_the_moves_between_stand_above_the_row(tmp_path):
    html = paper(tmp_path, line_of("1. e4 (D) e5 2. Nf3 (D) Nc6"))
    first, second = re.findall(r'<p class="moves main">(.*?)</p>', html)
    assert re.sub("<[^>]+>", "", first) == "1.e4 e5 2.Nf3"
    assert re.sub("<[^>]+>", "", second) == "2...Nc6"


PROSE = (
    ("in a paragraph", "![a](@x) ![b](@x flip)", [2]),
    ("in paragraphs", "![a](@x)\n\n![b](@x flip)", [2]),
    ("fenced", "```diagram @x\n```\n```diagram @x flip\n```\n```diagram @x\n```", [3]),
    ("four", "![a](@x) ![b](@x)\n![c](@x) ![d](@x)", [2, 2]),
    ("five", "![a](@x) ![b](@x) ![c](@x) ![d](@x) ![e](@x)", [3, 2]),
    ("words between", "![a](@x)\n\nWords.\n\n![b](@x)", [1, 1]),
    ("behind a sentence", "Words. ![a](@x) ![b](@x)", [2]),
    ("large", "![a](@x) ![b](@x large) ![c](@x)", [1, 1, 1]),
)


@pytest.mark.parametrize(("name", "text", "expected"), PROSE, ids=[name for name, *_ in PROSE])
def test_rows_of_the_prose(tmp_path, name, text, expected):
    line = "```line main\n1. e4 @x\n```\n\n"
    assert rows(paper(tmp_path, f"# A\n\n{line}Begin.\n\n{text}\n")) == expected


def exercise(number: int, task: str = "White to move.", more: str = "") -> str:
    return (f"```exercise e{number} from @x {more}\ntask: {task}\nsolution: 1... e5\n```\n")


TASKS = (
    ("one", exercise(1), 0),
    ("two", exercise(1) + exercise(2), 1),
    ("words between", exercise(1) + "\nWords.\n\n" + exercise(2), 0),
    ("a long one", exercise(1) + exercise(2, "White thinks. " * 30) + exercise(3), 0),
    ("a list", exercise(1) + exercise(2, "Find\n\n- a move\n- another") + exercise(3), 0),
    ("a large board", exercise(1) + exercise(2, more="large") + exercise(3), 0),
    ("three", exercise(1) + exercise(2) + exercise(3), 1),
)


@pytest.mark.parametrize(("name", "text", "expected"), TASKS, ids=[name for name, *_ in TASKS])
def test_short_exercises_stand_together(tmp_path, name, text, expected):
    html = paper(tmp_path, f"# A\n\n```line main\n1. e4 @x\n```\n\n{text}")
    assert html.count('<div class="exercises">') == expected
    assert html.count('<section class="exercise"') == text.count("```exercise")


NOTES = """\
# Notes

Words[^a] and more,[^b] twice.[^b]

## A heading[^c]

| a | b |
| --- | --- |
| 1[^d] | 2 |

The end.[^e]

[^a]: Plain, but see also.[^e]
[^b]: With

    - a list
[^c]: Of a heading.
[^d]: Of a table.

    In two paragraphs.
[^e]: Of a note.
"""


def test_notes_at_the_foot_are_words_of_running_text(tmp_path):
    html = paper(tmp_path, NOTES)
    at_foot = re.findall(r'class="foot-note" id="note\.1\.(\d)"', html)
    assert at_foot == ["1", "4", "5"]
    assert html.count('class="paragraph"') == 4
    assert html.count('class="noteref"') == 4  # b twice, c, and e in a's note


def test_a_note_that_only_a_note_marks_stands_at_the_chapters_end(tmp_path):
    made = tiny(tmp_path, "A.[^a]\n\n[^a]: See.[^b]\n[^b]: There.\n")
    at = replace(bare(made.booklet), foot_notes=foot_notes(made.chapter))
    at_end = [note for note in made.chapter.footnotes if note.number not in at.foot_notes]
    html = prose.blocks(made.chapter.blocks, at) + prose.footnotes(tuple(at_end), at)
    assert re.findall(r'class="foot-note" id="(note\.1\.\d)"', html) == ["note.1.1"]
    assert '<li id="note.1.2" value="2">' in html and 'href="1#note.1.2"' in html
