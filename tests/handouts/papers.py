"""Sheets of paper as somebody sees them who prints a PDF on both sides.

Words and their places are read by Poppler, which had no part in making them.
"""

from __future__ import annotations

import html
import re
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from board_text import placement_of

from builder.draw import glyphs

_WORD = re.compile(r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">'
                   r"(.*?)</word>")  # fmt: skip
_PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.S)


@dataclass(frozen=True)
class Word:
    """A word and the middle of its box, in points from the upper left corner."""

    text: str
    x: float
    y: float


@dataclass(frozen=True)
class Printed:
    width: float
    height: float
    words: tuple[Word, ...]

    def behind(self, edge: str) -> Printed:
        """This back as it lies behind its front, seen through the paper from the front.

        The printer turns the paper on an edge. Turned on an upright edge of the page, left and
        right change places; turned on a level one, top and bottom do. The long edges of a page
        that stands upright are its upright ones.
        """
        upright = (edge == "long") == (self.height > self.width)
        return Printed(self.width, self.height, tuple(
            Word(word.text, self.width - word.x if upright else word.x,
                 word.y if upright else self.height - word.y)
            for word in self.words
        ))  # fmt: skip

    def text(self) -> str:
        """The words line by line, each line from the left."""
        lines: list[list[Word]] = []
        for word in sorted(self.words, key=lambda word: word.y):
            if not lines or word.y - lines[-1][0].y > 2:
                lines.append([])
            lines[-1].append(word)
        return "\n".join(" ".join(word.text for word in sorted(line, key=lambda word: word.x))
                         for line in lines)  # fmt: skip

    def box(self, left: float, top: float, right: float, bottom: float) -> tuple[Word, ...]:
        return tuple(word for word in self.words
                     if left <= word.x < right and top <= word.y < bottom)  # fmt: skip


def printed(path: Path) -> list[Printed]:
    """The pages, words in the order in which the PDF draws them."""
    out = subprocess.run(["pdftotext", "-bbox", path, "-"], check=True, capture_output=True,
                         encoding="utf-8").stdout  # fmt: skip
    return [
        Printed(float(width), float(height), tuple(
            Word(html.unescape(text), (float(left) + float(right)) / 2,
                 (float(top) + float(bottom)) / 2)
            for left, top, right, bottom, text in _WORD.findall(inside)
        ))
        for width, height, inside in _PAGE.findall(out)
    ]  # fmt: skip


def numbers_behind(words: Iterable[Word], title: str) -> dict[int, Word]:
    """The numbers right behind `title`, as the 3 of 'Exercise 3', each with its place."""
    found: dict[int, Word] = {}
    before = ""
    for word in words:
        if before == title and word.text.isdigit():
            found[int(word.text)] = word
        before = word.text
    return found


def rows(found: dict[int, Word]) -> list[list[int]]:
    """The numbers in rows from the top, each from the left; 6 mm up or down make no new row."""
    lines: list[list[tuple[float, float, int]]] = []
    for number, word in sorted(found.items(), key=lambda item: item[1].y):
        if not lines or word.y - lines[-1][0][0] > 17:
            lines.append([])
        lines[-1].append((word.y, word.x, number))
    return [[number for _, _, number in sorted(line, key=lambda one: one[1])] for line in lines]


def board(words: Iterable[Word]) -> str:
    """The FEN placement of the one board among the words."""
    lines = [word for word in words if sum(c in glyphs.GLYPH_TO_PIECE for c in word.text) == 8]
    lines.sort(key=lambda word: word.y)
    return placement_of([word.text for word in lines])
