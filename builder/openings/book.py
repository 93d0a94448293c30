"""How often moves are played in openings, by position.

The data are the public opening book that Debian's package `gnuchess-book` 1.02-2.1 brings (put into
the public domain by those who made it; see LICENSE-book.txt), 180,358 moves in 149,694 positions in the
Polyglot format, which `chess.polyglot` reads. Its weights tell how often a move was played.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import chess
import chess.polyglot

DATA = Path(__file__).parent / "book.bin"


@dataclass(frozen=True, slots=True)
class Played:
    """The moves that were played in a position with their shares, the most frequent first; `count` is
    how much the shares stand for."""

    shares: Mapping[chess.Move, float]
    count: int


@dataclass(frozen=True, slots=True)
class Book:
    """The data, while they are open."""

    reader: chess.polyglot.MemoryMappedReader

    def at(self, board: chess.Board) -> Played:
        """What was played in a position; nothing where it is not in the book."""
        weights = {entry.move: entry.weight for entry in self.reader.find_all(board)}
        count = sum(weights.values())
        return Played({move: weight / count for move, weight in weights.items()}, count)


@contextmanager
def opened_book() -> Iterator[Book]:
    with chess.polyglot.open_reader(DATA) as reader:
        yield Book(reader)
