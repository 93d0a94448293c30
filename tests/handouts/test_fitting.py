"""Rows on pages: exercises on sheets, lines in columns, the beginnings of sentences."""

from __future__ import annotations

import pytest

from builder.model import Emphasis, Text
from builder.render.handouts.arrange import Heights, arrange
from builder.render.handouts.cards import card_grid
from builder.render.handouts.columns import Strip, balanced
from builder.render.handouts.excerpts import beginning, first_sentence
from builder.settings import PAGE_SIZES

# --- exercises ----------------------------------------------------------------------------------

EVEN = [Heights(80, 20)] * 7
# name, heights, columns, room: the exercises of each row of each sheet
ARRANGED = (
    ("two columns, three rows", EVEN, 2, 252, [[[0, 1], [2, 3], [4, 5]], [[6]]]),
    ("three columns", EVEN, 3, 252, [[[0, 1, 2], [3, 4, 5], [6]]]),
    ("no room for a third row", EVEN, 2, 251, [[[0, 1], [2, 3]], [[4, 5], [6]]]),
    ("a long solution makes its row high",
     [Heights(80, 20), Heights(80, 20), Heights(80, 170), Heights(80, 20), Heights(80, 20)],
     2, 252, [[[0, 1]], [[2, 3]], [[4]]]),
    ("one as high as the page", [Heights(80, 252)], 2, 252, [[[0]]]),
    ("one that is higher", [Heights(80, 20), Heights(80, 253)], 2, 252, None),
)  # fmt: skip


@pytest.mark.parametrize(("heights", "columns", "room", "wanted"),
                         [case[1:] for case in ARRANGED],
                         ids=[case[0] for case in ARRANGED])  # fmt: skip
def test_exercises_are_arranged(heights, columns, room, wanted):
    sheets = arrange(heights, columns, room, gap=6)
    if wanted is None:
        assert sheets is None
        return
    assert [[list(range(row.first, row.first + row.count)) for row in sheet.rows]
            for sheet in sheets] == wanted  # fmt: skip
    for sheet in sheets:
        bottom = -6.0
        for row in sheet.rows:
            cells = heights[row.first : row.first + row.count]
            assert row.height >= max(max(cell.task, cell.solution) for cell in cells)
            assert row.top == pytest.approx(bottom + 6)
            bottom = row.top + row.height
        assert bottom <= room + 1e-6


@pytest.mark.parametrize(("page", "columns", "rows"), [
    ("A4", 2, 4), ("Letter", 2, 4), ("A5", 1, 3), ("B5", 1, 3), ("Half-Letter", 1, 3),
])  # fmt: skip
def test_cards_on_a_page(page, columns, rows):
    grid = card_grid(*PAGE_SIZES[page])
    assert (grid.columns, grid.rows) == (columns, rows)
    last = grid.box(rows - 1, columns - 1)
    assert last.left + last.width == pytest.approx(PAGE_SIZES[page][0] - 10)
    assert last.top + last.height == pytest.approx(PAGE_SIZES[page][1] - 10)


# --- columns --------------------------------------------------------------------------------------

LINES = [Strip(3)] * 10
TITLED = [Strip(3), Strip(5, keep=True), Strip(3), Strip(3)]
# name, strips, columns, room: the strips of each column
FILLED = (
    ("one column", LINES, 1, 30, [(0, 10)]),
    ("as low as can be", LINES, 2, 100, [(0, 5), (5, 10)]),
    ("too little room", LINES, 2, 14, None),
    ("just enough room", LINES, 2, 15, [(0, 5), (5, 10)]),
    ("three columns", LINES, 3, 100, [(0, 4), (4, 8), (8, 10)]),
    ("a title isn't parted from its rows", TITLED, 2, 100, [(0, 3), (3, 4)]),
    ("what is kept is too high", [Strip(8, keep=True), Strip(8)], 3, 15, None),
    ("nothing at all", [], 2, 10, [(0, 0)]),
)  # fmt: skip


@pytest.mark.parametrize(("strips", "count", "room", "wanted"),
                         [case[1:] for case in FILLED],
                         ids=[case[0] for case in FILLED])  # fmt: skip
def test_columns_are_filled(strips, count, room, wanted):
    columns = balanced(strips, count, room)
    if wanted is None:
        assert columns is None
        return
    assert [(column.first, column.end) for column in columns] == wanted
    for column in columns:
        height = sum(strip.height for strip in strips[column.first : column.end])
        assert column.height == pytest.approx(height)
        assert height <= room


# --- sentences ------------------------------------------------------------------------------------

SENTENCES = (
    ("one of two", "The knight must decide. Then comes f4.", "The knight must decide."),
    ("a question", "Which one? Both!", "Which one?"),
    ("no end", "the point", "the point"),
    ("an abbreviation", "See e.g. Black's rook. It is loose.", "See e.g. Black's rook."),
    ("a short word ends no sentence", "He says no. Then he plays.", "He says no. Then he plays."),
    ("a number before the stop", "White plays on d5. Black waits.", "White plays on d5."),
    ("a quotation", 'He said "never." Then "yes."', 'He said "never."'),
    ("dots in the middle", "He waits ... and waits. It helps.", "He waits ... and waits."),
    ("German", "Der Springer muss ziehen. Übrig bleibt e5.", "Der Springer muss ziehen."),
    ("too long", "a very long sentence " * 5, "a very long sentence a very long…"),
)


@pytest.mark.parametrize(("text", "wanted"), [case[1:] for case in SENTENCES],
                         ids=[case[0] for case in SENTENCES])  # fmt: skip
def test_first_sentence(text, wanted):
    room = 40
    assert words(first_sentence((Text(text),), room)) == wanted


def test_a_sentence_with_emphasis_goes_on_behind_it():
    nodes = (Text("The "), Emphasis((Text("knight"),)), Text(" decides. And then?"))
    assert words(first_sentence(nodes, 80)) == "The knight decides."
    assert words(beginning(nodes, 80)) == "The knight decides. And then?"
    assert words(beginning(nodes, 8)) == "The …"


def words(nodes) -> str:
    return "".join(node.text if isinstance(node, Text) else words(node.children) for node in nodes)
