"""Moves in the prose: where they are looked for, and what becomes of new ones."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from tiny import line_of, tiny

from builder.model import Moves, Paragraph

MAIN = line_of(
    "1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Nf6 (4... Bc5 5. Be3 Qf6 6. c3 Nge7 @classical)\n"
    "5. Nxc6 bxc6 6. e5 Qe7 @pin 7. Qe2 Nd5"
)


def prose_moves(made) -> list[Moves]:
    """The moves in the paragraphs of a chapter, in order."""
    return [
        node for block in made.chapter.blocks if isinstance(block, Paragraph)
        for node in block.inlines if isinstance(node, Moves)
    ]  # fmt: skip


@dataclass(frozen=True)
class Case:
    """`after` is the move in front of each bracket's first one; `new` counts the new plies."""

    name: str
    prose: str
    after: tuple[str, ...]
    new: tuple[int, ...]
    chapter: str = MAIN


CASES = (
    Case("main line", "[6.e5 Qe7]", ("5...bxc6",), (0,)),
    Case("variation of the current line", "[4...Bc5 5.Be3]", ("4.Nxd4",), (0,)),
    Case("the contract's example", "[4...Bc5], [5.Nxc6 bxc6 6.e5]", ("4.Nxd4", "4...Nf6"), (0, 0)),
    Case("only in the variation", "[5.Be3 Qf6]", ("4...Bc5",), (0,)),
    Case("an alternative to the main line", "[6.Bd3]", ("5...bxc6",), (1,)),
    Case("past the end", "[8.c4 Ba6 9.b3]", ("7...Nd5",), (3,)),
    Case("partly known", "[6.e5 Ne4]", ("5...bxc6",), (1,)),
    Case("the whole path", "[1.e4 e5 2.Nf3 Nf6]", (None,), (1,)),
    Case("a new line from the start", "[1.d4 d5]", (None,), (2,)),
    Case("goes on from the bracket before", "[6.Bd3 d5] and then [7.O-O]",
         ("5...bxc6", "6...d5"), (2, 1)),
    Case("found again in an earlier bracket", "[6.Bd3 d5] and [6.Bd3 d5 7.O-O]",
         ("5...bxc6", "5...bxc6"), (2, 1)),
    Case("a named line", "[main: 5.Nxc6]", ("4...Nf6",), (0,)),
    Case("the number is optional inside", "[5.Nxc6 bxc6 e5]", ("4...Nf6",), (0,)),
    Case("a capture with a colon", "[4.N:d4]", ("3...exd4",), (0,)),
    Case("earlier line, newest first", "[5.Be3]", ("4...Bc5",), (0,),
         line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 d6 5. Be3", "line old")
         + "\n" + line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Bc5 5. Be3", "line newer")
         + "\n" + line_of("1. e4 c5 2. Nf3 d6 3. d4 cxd4 4. Nxd4 Nf6 5. Nc3", "line now")),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_place(case, tmp_path):
    made = tiny(tmp_path, f"{case.chapter}\nText {case.prose}.\n")
    assert made.faults == (), made.told()
    found = prose_moves(made)
    parents = tuple(node.plies[0].parent for node in found)
    assert tuple(ply and ply.label for ply in parents) == case.after
    assert tuple(len(node.new) for node in found) == case.new


def test_two_answers_are_an_error_that_names_both(tmp_path):
    """Two variations hold the move at different positions: the author has to say which."""
    chapter = line_of("1. e4 e5 (1... c5 2. Nf3 d6) (1... e6 2. Nf3 d5) 2. Nc3")
    made = tiny(tmp_path, f"{chapter}\nNow [2.Nf3].\n")
    assert made.codes() == ["moves-two"]
    assert "2.Nf3" in made.faults[0].excerpt
    assert "after 1...c5" in made.faults[0].message and "after 1...e6" in made.faults[0].message


def test_more_moves_tell_which(tmp_path):
    chapter = line_of("1. e4 e5 (1... c5 2. Nf3 d6) (1... e6 2. Nf3 d5) 2. Nc3")
    made = tiny(tmp_path, f"{chapter}\nNow [2.Nf3 d5 3.exd5].\n")
    assert made.faults == (), made.told()
    assert prose_moves(made)[0].plies[0].parent.label == "1...e6"


def test_comment_in_a_variation_means_the_variation(tmp_path):
    """`6.c3` stands in the main line too; a comment speaks of where it stands."""
    made = tiny(tmp_path, line_of("1. e4 e5 (1... c5 2. c3 {not [2.Nf3 d6]}) 2. Nf3 d6"))
    assert made.faults == (), made.told()
    aside = next(line for line in made.chapter.lines if line.kind == "aside")
    assert aside.items[0].parent.label == "1...c5"


def test_side_lines_are_joined_to_the_tree(tmp_path):
    made = tiny(tmp_path, f"{MAIN}\nText [6.Bd3 d5 7.O-O].\n")
    aside = made.chapter.lines[-1]
    assert (aside.kind, aside.start_ply.label) == ("aside", "5...bxc6")
    assert [ply.label for ply in aside.items[-1].path()][-4:] == [
        "5...bxc6", "6.Bd3", "6...d5", "7.O-O",
    ]  # fmt: skip


def test_a_bracket_that_does_not_parse_stays_text(tmp_path):
    made = tiny(tmp_path, "A list [1. one thing] and [see 4.1] stay.\n")
    assert made.faults == (), made.told()
    assert made.chapter.blocks[0].inlines[0].text == "A list [1. one thing] and [see 4.1] stay."
