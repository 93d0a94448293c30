"""Diagrams that leave no page short, and ink that is black alone."""

from __future__ import annotations

import pypdf
import pytest
from press.page_boxes import _columns, faults_of, lay_out, print_to, shortness
from tiny import write_booklet

from builder.press.fill import _Filling
from builder.press.fill_pieces import Line, Piece, Reading, Room
from builder.press.greys import stream_in_black

WORDS = "The knight returns and waits on the long diagonal, which is more than it seems. " * 4
MOVES = ("e4 e5", "Nf3 Nc6", "Bb5 a6", "Ba4 Nf6", "O-O Be7", "Re1 b5", "Bb3 d6", "c3 O-O")


def chapter(before: int) -> str:
    """A diagram after `before` paragraphs, and more paragraphs than fill the page."""
    line = " ".join(f"{number}. {move}" for number, move in enumerate(MOVES, 1))
    more = f"\n\n{WORDS}" * 6
    return f"# A\n\n{WORDS * 2}" + f"\n\n{WORDS}" * before + f"\n\n```line main\n{line} (D)\n```{more}\n"


def pages_of(part, name: str) -> list[int]:
    return [number for number, page in enumerate(part.pages) for box in page.descendants()
            if box.element is not None and box.element.get("id") == name]  # fmt: skip


@pytest.mark.parametrize("theme", ["book", "handout"])
def test_the_text_runs_on_where_a_diagram_has_no_room(tmp_path, theme):
    """From the facing page or overleaf, whatever stands before: no page ends far too short, and
    the diagram follows its move on that page or the next."""
    moved = 0
    for before in (1, 2, 5, 7):
        folder = write_booklet(tmp_path / f"{before}", chapter(before))
        part = next(part for part in lay_out(folder, theme, "A5") if pages_of(part, "diagram-1"))
        ply = part.booklet.diagrams[0].ply
        assert ply is not None
        way = pages_of(part, "diagram-1")[0] - pages_of(part, ply.anchor)[-1]
        assert way in (0, 1)
        moved += way
        assert shortness([part])[2] == 0, before
    assert theme == "handout" or moved


@pytest.mark.parametrize(("before", "ply", "diagram"), [(20, 1, 1), (50, 1, 2), (53, 1, 2), (57, 2, 2)])
def test_a_diagram_opens_the_facing_page_where_nothing_can_run_on(tmp_path, before, ply, diagram):
    """Its heading and its move stay on a left-hand page. From a right-hand one it would be overleaf."""
    lines = "\n\n".join(f"Line {number}." for number in range(before))
    line = "```line main\n1. e4 e5 2. Nf3 Nc6 3. Bb5 (D)\n```"
    text = f"# A\n\n{lines}\n\n## One\n\n{line}\n\n## Two" + f"\n\n{WORDS}" * 5
    part = lay_out(write_booklet(tmp_path, text), "book", "A5")[1]
    move = part.booklet.diagrams[0].ply
    assert move is not None
    assert (pages_of(part, move.anchor)[-1], pages_of(part, "diagram-1")[0]) == (ply, diagram)


@pytest.mark.parametrize("rows", ["(D) (D) (D) (D)", "(D)\n```\n\n![Here](@here) ![Here](@here)\n\n```line more\n1. d4"])
def test_a_second_row_of_diagrams_may_open_a_page(tmp_path, rows):
    """The first one stays under its move, and needs no room for the others."""
    lines = "\n\n".join(f"Line {number}." for number in range(12))
    text = f"# A\n\n{lines}\n\n```line main\n1. e4 e5 2. Nf3 @here {rows}\n```\n" + f"\n\n{WORDS}" * 3
    part = lay_out(write_booklet(tmp_path, text), "book", "A5")[1]
    move = part.booklet.diagrams[0].ply
    assert move is not None
    last = "diagram-4" if "diagram-4" in {one.anchor for one in part.booklet.diagrams} else "diagram-2"
    assert [pages_of(part, name)[0] for name in (move.anchor, "diagram-1", last)] == [0, 0, 1]


@pytest.mark.parametrize("before", [7, 8, 9])
def test_no_board_is_cut_at_a_pages_end(tmp_path, before):
    """Its last line, the files' letters, hung out of its figure: where that ended with the page, as
    after eight lines here, it was left out with the rank over it and the annotations."""
    lines = "\n\n".join(f"Line {number}." for number in range(before))
    line = "```line main\n1. e4 e5 2. Nf3 Nc6 3. Bb5 (D plan b5-c6)\n```"
    part = lay_out(write_booklet(tmp_path, f"# A\n\n{lines}\n\n{WORDS}\n\n{line}" + f"\n\n{WORDS}" * 4), "book", "A5")[1]
    assert pages_of(part, "diagram-1") == [before // 9]
    assert faults_of([part]) == []


def test_words_before_a_line_may_run_on_too(tmp_path):
    """Between them a page may end: a line's first move stands in the line itself."""
    line = "```line {}\n1. e4 e5 2. Nf3 Nc6\n{}\n```\n\n"
    text = f"# A\n\n{WORDS * 2}\n\n{WORDS}\n\nWords.\n\n" + line.format("main", "(D)")
    text += "".join(f"{WORDS}\n\n{line.format(name, '3. Bb5')}" for name in ("b", "c", "d", "e", "f"))
    folder = write_booklet(tmp_path, text)
    part = next(part for part in lay_out(folder, "book", "A5") if pages_of(part, "diagram-1"))
    assert pages_of(part, "diagram-1") == [1]
    assert shortness([part])[2] == 0


def test_what_has_moved_keeps_nothing_before_it(tmp_path):
    """A row of boards too: the page may end right before it."""
    text = f"# A\n\n{WORDS * 2}\n\n{WORDS}\n\n```line main\n1. e4 (D) e5 (D)\n```" + f"\n\n{WORDS}" * 9
    moved = [box for part in lay_out(write_booklet(tmp_path, text), "book", "A5")
             for page in part.pages for box in page.descendants()
             if box.element is not None and "later" in (box.element.get("class") or "").split()]  # fmt: skip
    assert {box.element.get("class").split()[0] for box in moved} == {"abreast"}
    assert all(box.style["break_before"] == "auto" for box in moved)


def test_no_diagram_moves_where_there_is_room(tmp_path):
    folder = write_booklet(tmp_path, chapter(0))
    classes = [box.element.get("class") for part in lay_out(folder, "book", "A5")
               for page in part.pages for box in page.descendants() if box.element is not None]  # fmt: skip
    assert "diagram" in classes
    assert not [one for one in classes if one and "later" in one]


GREYS = (
    (b"0 0 0 rg", b"0 g"), (b"1 1 1 RG", b"1 G"), (b"0.533 0.533 0.533 RG", b"0.533 G"),
    (b"0.5 0.5 0.50 rg", b"0.5 0.5 0.50 rg"), (b"1 0 0 rg", b"1 0 0 rg"), (b"0 0 0 0 k", b"0 0 0 0 k"),
)  # fmt: skip


@pytest.mark.parametrize(("written", "expected"), GREYS)
def test_equal_parts_are_grey(written, expected):
    items = [written, {"not": "an operator"}, b"0 0 m"]
    stream_in_black(items)
    assert items == [expected, {"not": "an operator"}, b"0 0 m"]


def test_a_book_is_printed_in_black_alone(tmp_path):
    """Text, rules, boards and their annotations."""
    text = '# A\n\nWords.\n\n```line main\n1. e4 (D "c" plan d2-d4 weak f7 label e5 "x")\n```\n'
    print_to(write_booklet(tmp_path, text), "book", "A5", "en", tmp_path / "a.pdf")
    used = {bytes(operator) for page in pypdf.PdfReader(tmp_path / "a.pdf").pages
            for _, operator in page.get_contents().operations}  # fmt: skip
    assert b"g" in used
    assert not used & {b"rg", b"RG", b"k", b"K", b"scn", b"SCN"}


@pytest.mark.parametrize(("before", "parted"), [(0, False), (2, True), (5, False)])
def test_a_table_is_parted_where_else_much_of_a_page_stays_empty(tmp_path, before, parted):
    """One that fits, or that leaves a little empty, stands whole."""
    table = "| a | b |\n| --- | --- |\n" + "".join(f"| {row} | x |\n" for row in range(15))
    text = f"# A\n\n{WORDS}" + f"\n\n{WORDS}" * before + f"\n\n{table}" + f"\n\n{WORDS}" * 4
    part = lay_out(write_booklet(tmp_path, text), "book", "A5")[1]
    spread = {number for number, page in enumerate(part.pages) for box in page.descendants()
              if box.element is not None and box.element.tag == "table"}  # fmt: skip
    assert (len(spread) == 2) == parted
    assert shortness([part])[2] == 0


@pytest.mark.parametrize(("rows", "parted"), [(3, False), (4, True)])
def test_a_table_of_few_high_rows_is_parted_too(tmp_path, rows, parted):
    """Into two and two of them: it is high that a table keeps a page empty, not many rows."""
    table = "| a | b |\n| --- | --- |\n" + f"| {WORDS[:160]} | {WORDS[:160]} |\n" * rows
    text = f"# A\n\n{WORDS}\n\n{WORDS}\n\n{table}" + f"\n\n{WORDS}" * 4
    part = lay_out(write_booklet(tmp_path, text), "book", "A5")[1]
    counts = [sum(box.element is not None and box.element.tag == "tr" for box in page.descendants()
                  if type(box).__name__ == "TableRowBox") for page in part.pages]  # fmt: skip
    assert [count for count in counts if count] == ([3, 3] if parted else [rows + 1])


def test_a_table_that_no_page_can_hold_begins_where_it_stands(tmp_path):
    """It is cut in any case, and would leave a column empty that it had left before."""
    table = "| a | b |\n| --- | --- |\n" + f"| {WORDS} | {WORDS} |\n" * 7
    part = lay_out(write_booklet(tmp_path, f"# A\n\n{WORDS}\n\n{table}" + f"\n\n{WORDS}" * 9), "handout", "A5")[0]
    columns = [column for page in part.pages for column in _columns(page)]
    held = [any(box.element is not None and box.element.tag == "td" for box in column.descendants()) for column in columns]
    assert held[:2] == [True, True]


@pytest.mark.parametrize(("lines", "pages"), [(26, 1), (27, 1), (28, 2), (62, 2), (63, 3), (202, 6), (203, 7)])
def test_no_last_page_has_lines_that_a_line_more_on_each_page_would_hold(tmp_path, lines, pages):
    """An A5 page has 34 lines, and 26 under a chapter's opening."""
    text = "# A\n\n" + "\n\n".join(f"Line {number}." for number in range(lines))
    chapter = lay_out(write_booklet(tmp_path, text), "book", "A5")[1]
    assert len(chapter.pages) == pages
    assert faults_of([chapter]) == []


@pytest.mark.parametrize(("lines", "pages"), [(82, 1), (84, 1), (85, 2)])
def test_nor_has_a_handout(tmp_path, lines, pages):
    """Two columns of an A5 page have a line more each."""
    text = "\n".join(f"- Line {number}." for number in range(lines))
    parts = lay_out(write_booklet(tmp_path, f"# A\n\n{text}"), "handout", "A5")
    assert len(parts[0].pages) == pages
    assert faults_of(parts) == []


@pytest.mark.parametrize(("head", "end"), [(0.0, 20), (10.0, 19)])
def test_a_table_has_its_head_on_its_further_pages_too(head, end):
    """A page of 100 pixels, from a table's eleventh row on: ten rows of 10, or its head and nine."""
    table = Piece(None, [Line(10.0)] * 25, 0.0, 0.0, False, False, orphans=1, widows=1, head=head)
    filling = _Filling([table], [Room(100.0)], True, True, {}, room=Room(100.0))
    assert filling._page(0, 10, False) == (0, end)


@pytest.mark.parametrize(("at", "end"), [(3, 7), (7, 7), (9, 9), (10, 10)])
def test_a_note_takes_room_on_the_page_of_its_mark(at, end):
    """Two and a half of ten lines, with the rule over it; the mark's line goes over where that is too much."""
    lines = [Line(10.0, 20.0 if number == at else 0.0) for number in range(12)]
    text = Piece(None, lines, 0.0, 0.0, False, False)
    filling = _Filling([text], [Room(100.0)], True, True, {}, 5.0, room=Room(100.0))
    assert filling._page(0, 0, False) == (0, end)


def test_what_is_read_does_not_hang_on_where_pages_ended(tmp_path):
    """Margins, paddings, lines and notes of all that comes after, wherever a page ended before."""
    more = "\n\n".join(f"{WORDS}[^{number}] {WORDS}\n\n```line l{number}\n1. e4 e5 2. Nf3 {{{WORDS}}}\n```\n\n"
                       f"- {WORDS}\n\n[^{number}]: {WORDS}" for number in range(4))  # fmt: skip
    read = []
    for before in (0, 3, 8, 13):
        text = "# A\n\n" + "Words.\n\n" * before + more
        part = lay_out(write_booklet(tmp_path / f"{before}", text), "book", "A5")[1]
        pieces = list(Reading(part.pages).pieces())
        assert any(line.notes for piece in pieces for line in piece.lines)
        read.append([(piece.margin, round(piece.padding, 2), [(line.height, line.notes) for line in piece.lines])
                     for piece in pieces[3 + before :]])  # fmt: skip
    assert len(read[0]) > 10
    assert read[1:] == [read[0]] * 3


@pytest.mark.parametrize("rows", range(29, 35))
def test_no_part_of_a_table_has_a_single_row(tmp_path, rows):
    words = "Words in a cell, so many of them that the table is a long one and may be parted. " * 2
    table = "| a | b |\n| --- | --- |\n" + "".join(f"| {row} | {words if row < 9 else 'x'} |\n" for row in range(rows))
    parts = lay_out(write_booklet(tmp_path, f"# A\n\n{table}"), "book", "A5")
    assert faults_of(parts) == []


def test_the_places_under_an_opening_table_stand_apart(tmp_path):
    """However long they are: side by side they would read as one sentence."""
    lines = "".join(f"# {name}\n\n```line l\n1. e4 e5 2. Nf3 Nc6 3. {move}\n```\n\x00"
                    for name, move in zip("ABC", ("Bb5 a6", "Bc4 Bc5", "d4 exd4"), strict=True))  # fmt: skip
    folder = write_booklet(tmp_path, "# All\n\n```table\n```\n", *lines.split("\x00")[:-1])
    seen = 0
    for part in lay_out(folder, "handout", "A5", "de"):
        for row in (box for page in part.pages for box in page.descendants()
                    if box.element is not None and box.element.get("class") == "places"
                    and type(box).__name__ == "TableRowBox"):  # fmt: skip
            for cell in row.children[1:]:
                seen += 1
                assert cell.padding_right >= cell.style["font_size"]
    assert seen >= 3
