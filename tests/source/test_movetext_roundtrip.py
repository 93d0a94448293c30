"""Random legal trees written as movetext and read back; random text that must not break it."""

from __future__ import annotations

import random
import string

import chess
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from tiny import line_of, tiny

from builder.model import Ply, VariationEnd, VariationStart

NAG_TEXT = {1: "!", 2: "?", 3: "!!", 4: "??", 5: "!?", 6: "?!", 10: "=", 14: "+=", 132: "$132"}


class TreeWriter:
    """A random tree as nested lists of (uci, nags, variations), and as movetext."""

    def __init__(self, seed: int, plies: int) -> None:
        self.random = random.Random(seed)
        self.left = plies

    def level(self, board: chess.Board, length: int, depth: int):
        """`length` moves from `board`, some with variations in their place."""
        moves = []
        for _ in range(length):
            legal = sorted(board.legal_moves, key=str)
            if not legal or self.left <= 0:
                break
            self.left -= 1
            move = self.random.choice(legal)
            nags = tuple(self.random.sample(sorted(NAG_TEXT), self.random.choice((0, 0, 1, 2))))
            variations = []
            while depth < 6 and self.random.random() < 0.2:
                inner = self.level(board.copy(), self.random.randint(1, 5), depth + 1)
                if inner:
                    variations.append(inner)
            moves.append((move.uci(), nags, variations, board.copy()))
            board.push(move)
        return moves

    def text(self, moves) -> str:
        parts = []
        for uci, nags, variations, board in moves:
            move = chess.Move.from_uci(uci)
            style = self.random.randint(0, 2)
            if style:
                dots = "." if board.turn else "..."
                parts.append(f"{board.fullmove_number}{dots}{' ' if style == 2 else ''}")
            parts.append(board.san(move) + " ")
            parts.extend(NAG_TEXT[nag] + " " for nag in nags)
            if self.random.random() < 0.1:
                parts.append("{a remark} ")
            parts.extend(f"({self.text(inner)}) " for inner in variations)
        return "".join(parts)


def plain(moves):
    """The tree without boards, to compare."""
    return [(uci, nags, [plain(inner) for inner in variations]) for uci, nags, variations, _ in moves]


def read_tree(items):
    """The model's stream as the same nested lists."""
    levels = [[]]
    for item in items:
        if isinstance(item, Ply):
            levels[-1].append((item.move.uci(), item.nags, []))
        elif isinstance(item, VariationStart):
            levels.append([])
        elif isinstance(item, VariationEnd):
            inner = levels.pop()
            levels[-1][-1][2].append(inner)
    return levels[0]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 2**32), plies=st.integers(1, 120))
def test_tree_comes_back(seed, plies, tmp_path):
    writer = TreeWriter(seed, plies)
    tree = writer.level(chess.Board(), 40, 0)
    made = tiny(tmp_path, line_of(writer.text(tree)))
    assert made.faults == (), made.told()
    assert read_tree(made.chapter.lines[0].items) == plain(tree)


@pytest.mark.parametrize("depth", [10, 3000])
def test_any_depth(depth, tmp_path):
    """Nesting is bounded by memory, not by a stack."""
    text = "1. e4 " + "(1. d4 (1. e4 " * (depth // 2) + "))" * (depth // 2)
    made = tiny(tmp_path, line_of(text))
    assert made.faults == ()
    assert max(ply.depth for ply in made.chapter.lines[0].plies()) == depth // 2 * 2


PIECES = ("```line main\n", "```\n", "```exercise e from @x\n", "task: ", "solution: ", "(D ", "(",
          ")", "{", "}", "{%", "%}", "[", "]", "](@x)", "]{check}", "[@x]", "![", "@x", "1. e4 ",
          "1... e5 ", "2. Nf3", "Nc6 ", "!?", "$3", "[^1]", "[^1]: ", "|", "\n\n", "- ", "> ", "    ",
          "`", "\\", "*", "_", "~~", "<b>", "<!--", "-->", "\"", "flip", "key e4", "plan e2-e4",
          "from", "+++\n", "#", "\ue000", "\ue0000\ue001", "\ue0020\ue003", "1-0", "--", ";", "%",
          "0" * 50 + ".", "\u202e", "\t", "[1.e4 e5]", "[main: 1.e4]")  # fmt: skip


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(parts=st.lists(st.sampled_from(PIECES) | st.text(string.printable, max_size=4), max_size=40))
@example(parts=["[" * 2000]).via("many open brackets")
@example(parts=["> " * 200 + "x"]).via("deep quotation")
@example(parts=["1. e4 @x\n", "[a](@x", "\n\n", ")"]).via("link over a blank line")
def test_any_text_gives_only_placed_faults(parts, tmp_path):
    text = "".join(parts)
    made = tiny(tmp_path, text)
    lines = len(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"))
    for fault in made.faults:
        assert 1 <= fault.place.line <= lines + 1
        assert 1 <= fault.place.column < fault.place.end_column
        assert fault.message and fault.as_text() and fault.as_json()
