"""Opening tables: which ways get columns, and what stands in the notes."""

from __future__ import annotations

import pytest
from tiny import line_of, tiny

from builder.model import OpeningTable, Ply, VariationStart


def table(tmp_path, *chapters: str, of: str = "main") -> OpeningTable:
    first, *rest = chapters
    made = tiny(tmp_path, f"{first}\n```table {of}\n```\n", *rest)
    assert not [fault for fault in made.faults if fault.severity > 1], made.told()
    return next(block for block in made.chapter.blocks if isinstance(block, OpeningTable))


def ways(found: OpeningTable) -> list[str]:
    """Each column's own moves."""
    return [" ".join(ply.san for ply in column.plies[column.own :]) for column in found.columns]


def notes(found: OpeningTable) -> list[str]:
    return [f"{note.instead_of.label}: " + " ".join(
        item.label if isinstance(item, Ply) else "(" if isinstance(item, VariationStart) else ")"
        for item in note.items) for column in found.columns for note in column.notes]  # fmt: skip


def test_the_branch_that_leaves_last_stands_first(tmp_path):
    found = table(tmp_path, line_of(
        "1. e4 e5 (1... c5 2. Nf3 d6 3. d4) 2. Nf3 Nc6 (2... d6 3. d4 exd4 4. Nxd4) 3. Bb5 a6"))
    assert ways(found) == ["e4 e5 Nf3 Nc6 Bb5 a6", "d6 d4 exd4 Nxd4", "c5 Nf3 d6 d4"]
    assert [column.number for column in found.columns] == [1, 2, 3]


def test_what_is_short_or_deep_becomes_a_note(tmp_path):
    found = table(tmp_path, line_of(
        "1. e4 e5 (1... e6 2. d4) (1... c5 2. Nf3 d6 (2... Nc6 3. Bb5 g6 4. O-O (4. c3) Bg7) 3. d4 cxd4) 2. Nf3"))
    assert ways(found) == ["e4 e5 Nf3", "c5 Nf3 d6 d4 cxd4"]
    assert notes(found) == ["1...e5: 1...e6 2.d4", "2...d6: 2...Nc6 3.Bb5 3...g6 4.O-O ( 4.c3 ) 4...Bg7"]
    assert [note.number for column in found.columns for note in column.notes] == [1, 2]


def test_a_long_note_is_cut(tmp_path):
    moves = "3. d4 cxd4 4. Nxd4 Nf6 5. Nc3 a6 6. Be2 e5 7. Nb3 Be7 8. O-O O-O"
    found = table(tmp_path, line_of(f"1. e4 c5 (1... e5 2. Nf3 d6 3. d4) 2. Nf3 d6 (2... Nc6) {moves}"))
    assert [note.cut for column in found.columns for note in column.notes] == [False]
    found = table(tmp_path, line_of(
        f"1. e4 e5 (1... c5 2. Nf3 e6 (2... d6 {moves}) 3. c3 d5) 2. Nf3"))  # fmt: skip
    (note,) = [note for column in found.columns for note in column.notes]
    assert note.cut and len([item for item in note.items if isinstance(item, Ply)]) == 12


def test_lines_from_its_positions_belong_to_it(tmp_path):
    found = table(
        tmp_path,
        line_of("1. e4 e5 2. Nf3 @two") + line_of("2... Nc6 3. Bb5", "line a from @two")
        + line_of("2... d6 3. d4", "line b from @two") + line_of("1. d4 d5", "line other"),
    )  # fmt: skip
    assert ways(found) == ["e4 e5 Nf3 Nc6 Bb5", "d6 d4"]


def test_the_start_of_a_line_is_on_the_way(tmp_path):
    found = table(tmp_path, line_of("1. e4 e5 @open", "line first")
                  + line_of("2. Nf3 Nc6 (2... d6 3. d4 exd4 4. Nxd4)", "line main from @open"))  # fmt: skip
    assert [column.plies[0].label for column in found.columns] == ["1.e4", "1.e4"]


def test_the_verdict_is_that_of_the_last_move(tmp_path):
    found = table(tmp_path, line_of("1. e4 += e5 2. Nf3 = Nc6 (2... d6 3. d4 exd4 4. Nxd4 $16) 3. Bb5"))
    assert [column.sign for column in found.columns] == [None, 16]


def test_a_transposition_leads_to_the_other_column(tmp_path):
    found = table(tmp_path, line_of("1. e4 e5 (1... Nc6 2. Nf3 d6 3. d4 e5) 2. Nf3 Nc6 3. d4 d6 4. d5"))
    (first, second) = found.columns
    assert first.runs_into is None
    assert second.runs_into.column == 1 and second.runs_into.ply.label == "3...d6"


@pytest.mark.parametrize(("chapters", "expected"), [
    ((line_of("1. e4 e5 (1... c5 2. Nf3 d6 3. d4)"), line_of("1. d4 d5", "line b")),
     ["e4 e5", "d4 d5"]),
    ((line_of("1. e4 e5 (1... c5 2. Nf3 d6 3. d4)"),), ["e4 e5", "c5 Nf3 d6 d4"]),
], ids=["each chapter's first line", "of one line its variations"])  # fmt: skip
def test_the_whole_booklets_table(chapters, expected, tmp_path):
    found = table(tmp_path, *chapters, of="")
    assert found.of is None and ways(found) == expected


def test_side_lines_of_the_prose_and_solutions_are_left_out(tmp_path):
    found = table(
        tmp_path,
        line_of("1. e4 e5 @here 2. Nf3") + "\nOr [1...c5 2.Nf3 d6 3.d4 cxd4].\n"
        + "```exercise x from @here\ntask: t\nsolution: 2. f4 exf4 3. Nf3 g5 4. h4\n```\n",
    )  # fmt: skip
    assert ways(found) == ["e4 e5 Nf3"] and notes(found) == []
