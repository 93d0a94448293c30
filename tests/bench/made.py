"""A booklet of any size, made for measuring: legal moves by chance, words about them, diagrams.

Seeded, so that the same numbers give the same booklet.
"""

from __future__ import annotations

import random
from pathlib import Path

import chess

WORDS = (
    "White", "Black", "the knight", "the bishop", "the centre", "a pawn", "the king", "looks at",
    "gives up", "keeps", "has to decide about", "stands well against", "and", "because", "while",
    "before", "the queen", "an open file", "the long diagonal", "is slow but sound", "comes first",
)  # fmt: skip


class Made:
    """Lines for a booklet of about `positions` different positions in `chapters` chapters, with
    about `diagrams` diagrams among them."""

    def __init__(self, positions: int, chapters: int = 12, diagrams: int = 0, seed: int = 7) -> None:
        self._chance = random.Random(seed)
        self._chapters = chapters
        self._per_chapter = positions // chapters
        self._diagrams = diagrams / max(1, positions)
        self._known: set[str] = set()

    def write(self, folder: Path) -> Path:
        (folder / "chapters").mkdir(parents=True)
        (folder / "booklet.toml").write_text(
            'title = "Made for measuring"\nside = "white"\ndate = 2026-01-02\n', encoding="utf-8"
        )
        for number in range(1, self._chapters + 1):
            text = self._chapter(number)
            (folder / "chapters" / f"{number:02}-part.md").write_text(text, encoding="utf-8")
        return folder

    def _chapter(self, number: int) -> str:
        wanted = len(self._known) + self._per_chapter
        parts = [f'+++\ntitle = "Part {number}"\n+++\n']
        line = 0
        while len(self._known) < wanted:
            line += 1
            moves = self._level(chess.Board(), self._chance.randint(16, 40), 0)
            parts.append(f"## The {line}th way\n\n{self._words(40)}.\n\n```line way-{line}\n{moves}\n```\n")
        return "\n".join(parts)

    def _level(self, board: chess.Board, length: int, depth: int) -> str:
        parts: list[str] = []
        for count in range(length):
            move = self._move(board)
            if move is None:
                break
            dots = "." if board.turn else "..."
            number = f"{board.fullmove_number}{dots} " if board.turn or not parts else ""
            before = board.copy()
            parts.append(number + board.san_and_push(move))
            new = board.epd() not in self._known
            self._known.add(board.epd())
            if new and self._chance.random() < self._diagrams:
                parts.append(f'(D "{self._words(4)}")')
            if self._chance.random() < 0.12:
                parts.append("{" + self._words(12) + ".}")
            if count and depth < 3 and self._chance.random() < 0.12:
                inner = self._level(before, self._chance.randint(2, 12), depth + 1)
                parts.append(f"({inner})" if inner else "")
        return " ".join(part for part in parts if part)

    def _move(self, board: chess.Board) -> chess.Move | None:
        """Few different moves in the opening, so that the lines share their beginnings."""
        legal = sorted(board.legal_moves, key=str)
        if not legal:
            return None
        return self._chance.choice(legal[-3:] if board.ply() < 6 else legal)

    def _words(self, count: int) -> str:
        return " ".join(self._chance.choice(WORDS) for _ in range(count))
