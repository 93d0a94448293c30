"""Random legal trees as PGN, written by this file and not by the project's own writer."""

from __future__ import annotations

import random

import chess

NAGS = (1, 2, 3, 4, 5, 6, 7, 10, 13, 14, 15, 16, 17, 18, 19, 22, 36, 132, 255)
# Words that mean something to Markdown, to HTML, or to the authoring language.
WORDS = (
    "good", "Black", "is", "worse.", "White wins!", "5.Nxc6", "[5.Nxc6]", "[main: 5.Nxc6]", "@name",
    "[@name]", "[x](@name)", "[x]{check}", "![x](@y)", "{%", "%", "%}", "% material even %", "```",
    "~~~", "```line x", "*", "**bold**", "_under_", "`code`", "<b>", "</script>", "<!--", "-->",
    "&amp;", "&#65;", "&", "\\", "\\*", "a\\", "#", "##", "1.", "2)", "-", "+", "=", "---", "===",
    ">", "> quote", "|", "a | b", "~", "~~gone~~", "[^1]", "[^1]:", "http://example.org/a_b", "(D",
    "(D)", "$1", "1-0", "*", "0-1", "; rest", "!!", "?", "e4", "O-O", "--", "Żółć", "“quote”", "…",
    "Diagram 7", "Diagram 7:", "- @name", "- Diagram 2", "+++", "\"", "'", "@", "from", "line",
    "[Event \"x\"]", "![", "](", "]", "[", ":", "flip", "x" * 60, "\u2028", "\xa0", "\x0b",
    "\u202e", "\ue000", "\ue0010", "::", "$$", "==", "^", "<http://x.y>", "\t", "€",
)  # fmt: skip


class TreeText:
    """One random game. `style` is what is varied: how often comments and variations come."""

    def __init__(self, seed: int, plies: int, words: float = 0.3, branches: float = 0.2,
                 depth: int = 6, passes: bool = True) -> None:  # fmt: skip
        self.random = random.Random(seed)
        self.left = plies
        self.words, self.branches, self.depth, self.passes = words, branches, depth, passes

    def game(self, board: chess.Board | None = None) -> str:
        board = board or chess.Board()
        tags = '[Event "Sample"]\n[White "?"]\n[Black "?"]\n'
        if board.fen() != chess.STARTING_FEN:
            tags += f'[FEN "{board.fen()}"]\n[SetUp "1"]\n'
        return f"{tags}\n{self._comment()} {self._level(board, 60, 0)} *\n\n"

    def _level(self, board: chess.Board, length: int, depth: int) -> str:
        parts: list[str] = []
        for _ in range(length):
            if self.left <= 0 or not any(board.legal_moves):
                break
            self.left -= 1
            before = board.copy()
            move = self._move(board)
            dots = "." if board.turn else "..."
            number = f"{board.fullmove_number}{dots}"
            parts.append(self.random.choice((number, f"{number} ", f"{number} ")) + board.san(move)
                         if move else f"{number} --")  # fmt: skip
            board.push(move)
            for nag in self.random.sample(NAGS, self.random.choice((0, 0, 0, 1, 2))):
                parts.append(f"${nag}")
            parts.append(self._comment())
            while depth < self.depth and self.random.random() < self.branches:
                inner = self._level(before.copy(), self.random.randint(1, 30), depth + 1)
                if inner:
                    parts.append(f"({self._comment()} {inner} )")
                    parts.append(self._comment())
        return " ".join(part for part in parts if part)

    def _move(self, board: chess.Board) -> chess.Move:
        if self.passes and not board.is_check() and self.random.random() < 0.03:
            return chess.Move.null()
        # Few different moves, so that lines repeat and transpose.
        legal = sorted(board.legal_moves, key=str)
        return self.random.choice(legal[: self.random.choice((2, 3, len(legal)))])

    def _comment(self) -> str:
        if self.random.random() > self.words:
            return ""
        count = self.random.choice((1, 2, 5, 60))
        text = " ".join(self.random.choice(WORDS) for _ in range(count))
        return "{" + text.replace("}", ")") + "}"
