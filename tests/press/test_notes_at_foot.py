"""Notes stand on the page of their marks."""

from __future__ import annotations

import pytest
from PIL import Image
from press.page_boxes import faults_of, lay_out, shortness
from tiny import write_booklet

WORDS = "The knight returns and waits on the long diagonal, which is more than it seems. "
CASES = (  # theme, lines before the paragraph with the notes, and how many
    ("book", 8, 2), ("book", 13, 1), ("book", 15, 2), ("book", 19, 1), ("handout", 45, 3), ("handout", 51, 2),
    ("handout", 57, 1), ("handout", 60, 3),
)  # fmt: skip


@pytest.mark.parametrize(("theme", "before", "notes"), CASES)
def test_notes_stand_on_the_page_of_their_marks(tmp_path, theme, before, notes):
    """No page is shorter for it than by the lines that go over with a mark: not by the notes' own
    height, nor by what stands over notes, where there are none."""
    lines = "\n\n".join(f"Line {number}." for number in range(before))
    marks = "".join(f"Here is a mark.[^{number}] {WORDS}" for number in range(notes))
    texts = "\n\n".join(f"[^{number}]: {WORDS * 4}" for number in range(notes))
    text = f"# A\n\n{lines}\n\n{WORDS * 2}{marks}{WORDS * 3}" + f"\n\n{WORDS * 5}" * 6 + f"\n\n{texts}\n"
    parts = lay_out(write_booklet(tmp_path, text), theme, "A5")
    assert faults_of(parts) == []
    _, short, most = shortness(parts)
    assert most == 0
    assert short < 0.1
    assert shortness(parts, whole=True)[1] < (0.03 if theme == "handout" else 0.1)


def test_no_picture_reaches_into_the_notes(tmp_path):
    """One that is higher than any column, in the second of a page with notes."""
    lines = "\n".join(f"- Line {number}." for number in range(36))
    text = f"# A\n\nA mark.[^1]\n\n{lines}\n\n![tall](images/tall.png)\n\n{lines}\n\n[^1]: {WORDS * 4}\n"
    folder = write_booklet(tmp_path, text)
    (folder / "images").mkdir()
    Image.new("L", (200, 2400), 150).save(folder / "images" / "tall.png")
    parts = lay_out(folder, "handout", "A5")
    assert faults_of(parts) == []
