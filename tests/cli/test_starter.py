"""plyleaf new: the booklet that it writes is a good one, and nothing is ever replaced."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from builder import pipeline, starter
from builder.faults import Faults
from builder.model import Diagram, Line, Moves, PositionLink


@pytest.fixture
def folder(tmp_path):
    starter.write_starter(tmp_path / "book")
    return tmp_path / "book"


def test_it_has_neither_errors_nor_warnings(folder):
    faults = Faults()
    assert pipeline.check(folder, faults) is not None
    assert faults.sorted() == (), "\n".join(fault.as_text() for fault in faults.sorted())


def test_it_shows_each_piece_of_the_language(folder):
    proved = pipeline.check(folder, Faults())
    booklet = proved.booklet
    lines = [line for chapter in booklet.chapters for line in chapter.lines]
    shown = {type(item) for line in lines for item in line.items}
    for chapter in booklet.chapters:
        shown |= {type(block) for block in chapter.blocks}
        inlines = (getattr(block, "inlines", ()) for block in chapter.blocks)
        shown |= {type(inline) for row in inlines for inline in row}
    assert {"Ply", "VariationStart", "Comment", "Diagram", "Claim", "Exercise", "Paragraph",
            "Heading"} <= {kind.__name__ for kind in shown}  # fmt: skip
    assert {Moves, PositionLink, Diagram, Line} <= shown
    assert {line.kind for line in lines} == {"line", "aside", "solution"}
    assert {mark.kind for diagram in booklet.diagrams for mark in diagram.marks} >= {"plan", "key"}
    assert any(chapter.footnotes for chapter in booklet.chapters)


def test_every_setting_is_there_to_be_changed(folder):
    """booklet.toml shows each key that the guide lists."""
    guide = (Path(starter.__file__).parent.parent / "guide" / "guide.md").read_text()
    listed = re.findall(r"^(\w+) +=", guide.split("```toml")[1].split("```")[0], re.M)
    written = re.findall(r"^(?:# )?(\w+) +=", (folder / "booklet.toml").read_text(), re.M)
    assert set(listed) == set(written)


def test_nothing_is_replaced(tmp_path):
    (tmp_path / "mine").write_text("mine")
    with pytest.raises(FileExistsError):
        starter.write_starter(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]
