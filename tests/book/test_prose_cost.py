"""A chapter of many brackets is read in steps that grow with their number, not with its square."""

from __future__ import annotations

import random
import sys

import chess
import pytest
from tiny import line_of, tiny

FEW, MANY = 60, 240


def game(seed: int, plies: int) -> list[tuple[chess.Board, str]]:
    """Legal moves drawn by lot, each with the board before it."""
    lot, board = random.Random(seed), chess.Board()
    found = []
    for _ in range(plies):
        move = lot.choice(sorted(board.legal_moves, key=chess.Move.uci))
        found.append((board.copy(stack=False), board.san(move)))
        board.push(move)
    return found


def numbered(board: chess.Board, words: str) -> str:
    return f"{board.fullmove_number}{'.' if board.turn else '...'}{words}"


MAIN = game(1, 40)
LINE = line_of(" ".join(numbered(board, san) for board, san in MAIN))


def side_lines(count: int) -> str:
    """Each bracket makes a side-line of its own, of the same few positions."""
    lot, found = random.Random(2), []
    for _ in range(count):
        board = lot.choice(MAIN)[0].copy()
        begin, sans = board.copy(), []
        for _ in range(3):
            move = lot.choice(sorted(board.legal_moves, key=chess.Move.uci))
            sans.append(board.san(move))
            board.push(move)
        found.append(f"[{numbered(begin, ' '.join(sans))}]")
    return LINE + "\n" + " ".join(found)


def lines(count: int) -> str:
    """A line for each bracket, all from the first position."""
    return "\n".join(
        line_of(" ".join(numbered(board, san) for board, san in game(seed, 4)), f"line l{seed}")
        + f"\n[{numbered(*game(seed, 1)[0])}]\n"
        for seed in range(count)
    )


def calls(work) -> int:
    """How many functions were called, of Python and of C."""
    count = 0

    def heard(_frame, event, _argument):
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(heard)
    try:
        work()
    finally:
        sys.setprofile(None)
    return count


@pytest.mark.parametrize("chapter", [side_lines, lines])
def test_brackets_cost_no_more_when_they_are_many(chapter, tmp_path):
    texts = chapter(FEW), chapter(MANY)
    tiny(tmp_path / "first", texts[0])  # What is made once is made.
    few, many = (calls(lambda text=text: tiny(tmp_path / str(len(text)), text)) for text in texts)
    assert many / few < 1.3 * MANY / FEW
