"""Lines merged into trees: by path, in authored order, at any length and depth."""

from __future__ import annotations

import pytest
from tiny import line_of, tiny

from builder.book.tree import Tree, move_trees


def drawn(tree: Tree) -> str:
    """One line a node: its move, indented by its depth, and how often it was authored."""
    return "\n".join(
        f"{'  ' * depth}{node.ply.label}{f' x{len(node.plies)}' if len(node.plies) > 1 else ''}"
        for node, depth in tree.walk()
    )


CASES = {
    "one line": (
        line_of("1. e4 e5 2. Nf3"),
        ["1.e4\n  1...e5\n    2.Nf3"],
    ),
    "a variation is a sister": (
        line_of("1. e4 e5 (1... c5 2. Nf3) 2. Nf3"),
        ["1.e4\n  1...e5\n    2.Nf3\n  1...c5\n    2.Nf3"],
    ),
    "lines that begin alike are merged": (
        line_of("1. e4 e5 2. Nf3", "line a") + line_of("1. e4 e5 2. Nc3 Nf6", "line b"),
        ["1.e4 x2\n  1...e5 x2\n    2.Nf3\n    2.Nc3\n      2...Nf6"],
    ),
    "the order is the author's": (
        line_of("1. d4 (1. c4) d5", "line a") + line_of("1. b3", "line b"),
        ["1.d4\n  1...d5\n1.c4\n1.b3"],
    ),
    "a line from a named position goes on from there": (
        line_of("1. e4 e5 @open", "line a") + line_of("2. Nf3 Nc6", "line b from @open"),
        ["1.e4\n  1...e5\n    2.Nf3\n      2...Nc6"],
    ),
    "a name that is given later": (
        line_of("2. Nf3", "line b from @open") + line_of("1. e4 e5 @open 2. Nc3", "line a"),
        ["1.e4\n  1...e5\n    2.Nf3\n    2.Nc3"],
    ),
    "two starts are two trees": (
        line_of("1. e4", "line a")
        + line_of("1. Ke2", 'line b from "4k3/8/8/8/8/8/8/4K3 w - - 0 1"'),
        ["1.e4", "1.Ke2"],
    ),
    "other move numbers, another start": (
        line_of("1. Ke2", 'line a from "4k3/8/8/8/8/8/8/4K3 w - - 0 1"')
        + line_of("40. Ke2", 'line b from "4k3/8/8/8/8/8/8/4K3 w - - 0 40"'),
        ["1.Ke2", "40.Ke2"],
    ),
    "transpositions stay apart": (
        line_of("1. d4 d5 2. c4", "line a") + line_of("1. c4 d5 2. d4", "line b"),
        ["1.d4\n  1...d5\n    2.c4\n1.c4\n  1...d5\n    2.d4"],
    ),
    "a side-line of the prose": (
        line_of("1. e4 e5") + "\nAlso [2.Nf3 Nc6].\n",
        ["1.e4\n  1...e5\n    2.Nf3\n      2...Nc6"],
    ),
}


@pytest.mark.parametrize("text, expected", CASES.values(), ids=CASES)
def test_trees(tmp_path, text, expected):
    made = tiny(tmp_path, text)
    assert made.faults == (), made.told()
    assert [drawn(tree) for tree in move_trees(made.chapter.lines)] == expected


def test_what_leads_to_a_line_in_another_chapter_is_part_of_its_tree(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 e5 @open"), line_of("2. Nf3", "line b from @open"))
    (tree,) = move_trees(made.booklet.chapters[1].lines)
    assert drawn(tree) == "1.e4\n  1...e5\n    2.Nf3"


def test_very_long_and_very_deep(tmp_path):
    """More plies and more levels than Python's stack would carry."""
    shuffle = "Nf3 Nf6 Ng1 Ng8 " * 700
    nested = "1. e4 " + "".join(f"({move} " for move in ("e3", "e4") * 700) + ")" * 1400
    made = tiny(tmp_path, line_of(shuffle, "line a") + line_of(nested, "line b"))
    assert made.faults == (), made.told()[:300]
    (tree,) = move_trees(made.chapter.lines)
    depths = [depth for _, depth in tree.walk()]
    assert max(depths) == 2799
    assert len(depths) == 2800 + 2
