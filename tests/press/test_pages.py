"""Pages of the torture booklet: nothing outside, cut, parted, stranded or on top of another.

A few themes, pages and languages in turn; `python -m tests.bench.pages` does them all, and the
project's own course.
"""

from __future__ import annotations

import re

import pypdf
import pytest
from press.page_boxes import _columns, _inks, _lines, faults_of, lay_out, print_to
from press.torture import write_torture
from tiny import write_booklet

CASES = (("book", "A5", "de"), ("handout", "A4", "fr"))


@pytest.mark.parametrize(("theme", "page", "language"), CASES)
def test_the_torture_booklet(tmp_path, theme, page, language):
    folder = write_torture(tmp_path / "torture", language)
    assert faults_of(lay_out(folder, theme, page)) == []


def test_no_line_begins_with_the_mark_of_a_note(tmp_path):
    """And what keeps it by its word takes no font of the computer's."""
    text = "# A\n\n" + "\n\n".join(
        f"For the third{' x' * number}. Signs have their usual meaning.[^{number}] The diagrams\n\n[^{number}]: A note."
        for number in range(8))  # fmt: skip
    folder = write_booklet(tmp_path / "a", text)
    lines = ["".join(ink.words for ink in _inks(line)).strip() for part in lay_out(folder, "handout", "A5")
             for page in part.pages for line, _ in _lines(page.children[0])]  # fmt: skip
    assert sum(bool(re.search(r"meaning\.\u2060?\d", line)) for line in lines) == 8
    print_to(folder, "handout", "A5", "en", tmp_path / "a.pdf")
    page = pypdf.PdfReader(tmp_path / "a.pdf").pages[0]
    fonts = [font.get_object()["/BaseFont"] for font in page["/Resources"]["/Font"].values()]
    assert all("Source-Sans" in name or "SourceSans" in name or "Plyleaf" in name for name in fonts), fonts


@pytest.mark.parametrize(("theme", "count", "expected"), [
    ("book", 2, ["Two kings · After 1.e4 · Black to move"] * 2),
    ("handout", 1, ["Two kings · Black to move"]),
    ("handout", 2, ["Two kings · After 1.e4 · Black to move"] * 2),
])  # fmt: skip
def test_the_words_of_an_exercises_board_are_set_apart(tmp_path, theme, count, expected):
    """What it shows, the move before and the side to move: dots with the same space on both sides."""
    task = "```exercise e{} from @x \"Two kings\"\ntask: Answer.\nsolution: 1... e5\n```\n"
    text = "# A\n\n```line main\n1. e4 @x\n```\n\n" + "".join(map(task.format, range(count)))
    lines = [box for part in lay_out(write_booklet(tmp_path, text), theme, "A4") for page in part.pages
             for box in page.descendants() if box.element_tag == "figcaption" and type(box).__name__ == "LineBox"]  # fmt: skip
    assert ["".join(getattr(box, "text", "") for box in line.descendants()).strip() for line in lines] == expected


@pytest.mark.parametrize("theme", ["book", "handout"])
def test_hints_and_summaries_stand_with_what_follows(tmp_path, theme):
    """At no page's or column's end, wherever it comes: solutions of two lines to five, chapters of a few."""
    solution = "```exercise e{0}\ntask: White to move.\nhint: {1}\nsolution: 1. e4 {{{1}}} 1... e5\n```\n"
    chapters = [f'+++\nsummary = "{"Few words. " * 3}"\n+++\n# C{number}\n\n' + "Text. " * 40 * number + "\n\n"
                + "\n".join(solution.format(f"{number}-{at}", "What is it? " * (1 + at % 7)) for at in range(9))
                for number in range(1, 6)]  # fmt: skip
    assert faults_of(lay_out(write_booklet(tmp_path, *chapters), theme, "A5")) == []


@pytest.mark.parametrize("lines", [4, 20])
def test_the_last_columns_of_an_index_are_of_one_length(tmp_path, lines):
    """One that would fill the page to its end, as of the second's last page, too."""
    moves = "1. Nf3 @{0}-a Nf6 @{0}-b 2. Ng1 @{0}-c Ng8 @{0}-d 3. Nf3 @{0}-e Nf6 @{0}-f"
    text = "# A\n\n" + "\n\n".join(
        f"```line l{at}\n{moves.format(f'name-{at:02d}')}\n```" for at in range(lines))  # fmt: skip
    last = lay_out(write_booklet(tmp_path, text), "book", "A5")[-1].pages[-1]
    left, right = (len([*_lines(column)]) for column in _columns(last))
    assert left - right in (0, 1)
