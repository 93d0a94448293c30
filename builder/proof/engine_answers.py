"""What an engine is asked and what it says: questions, scores and lines.

Scores are told from White's side, as assessment signs are (PGN standard, section 10).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import chess

from builder.model import Position

MATE = 10_000  # centipawns that a mate counts in comparisons, less one for each move until then
MOST_CENTIPAWNS = 9_000  # what any other score is held to; engines differ far above a queen


@dataclass(frozen=True, slots=True)
class Score:
    """A score from White's side: `centipawns`, or a mate.

    `mate_in` is None, or the number of moves until the mate, 0 where it stands on the board;
    then `centipawns` only tells by its sign who mates.
    """

    centipawns: int
    mate_in: int | None = None

    @staticmethod
    def mate(moves: int, by_white: bool) -> Score:
        return Score(MATE - moves if by_white else moves - MATE, moves)

    def pawns(self, white: bool) -> float:
        """In pawns from that side; a mate is about a hundred."""
        value = self.centipawns
        if self.mate_in is None:
            value = max(-MOST_CENTIPAWNS, min(MOST_CENTIPAWNS, value))
        return (value if white else -value) / 100

    def __str__(self) -> str:
        """`+0.45`, `-1.20`, `mate in 3` (who mates is told by the line beside it)."""
        if self.mate_in is None:
            return f"{self.centipawns / 100:+.2f}"
        side = "White" if self.centipawns > 0 else "Black"
        return f"{side} mates in {self.mate_in}" if self.mate_in else f"{side} has mated"


@dataclass(frozen=True, slots=True)
class Question:
    """A position (the four fields of EPD) and how many best lines are wanted."""

    epd: str
    lines: int = 1

    @staticmethod
    def of(position: Position, lines: int = 1) -> Question:
        """The question about a position, for no more lines than there are moves."""
        return Question(position.epd, max(1, min(lines, position.board().legal_moves.count())))

    def board(self) -> chess.Board:
        return chess.Board(f"{self.epd} 0 1")


@dataclass(frozen=True, slots=True)
class FoundLine:
    """A line that the engine would play: at least one legal move, and its score."""

    moves: tuple[chess.Move, ...]
    score: Score

    @property
    def move(self) -> chess.Move:
        return self.moves[0]


@dataclass(frozen=True, slots=True)
class Answer:
    """The best lines, best first; never more than were asked for, at least one."""

    lines: tuple[FoundLine, ...]
    depth: int = 0

    @property
    def best(self) -> FoundLine:
        return self.lines[0]

    def line_of(self, move: chess.Move) -> FoundLine | None:
        return next((line for line in self.lines if line.move == move), None)


# The answer that is kept for a question, None where there is none.
Lookup: TypeAlias = Callable[[Question], Answer | None]
# Called with words for the author and how much of the asking is behind, from 0 to 1.
Progress: TypeAlias = Callable[[str, float], None]


class EngineFault(Exception):
    """The engine can't be had, or fails: a stable code, the reason, and the remedy."""

    def __init__(self, code: str, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.hint = hint


def score_over(board: chess.Board) -> Score | None:
    """The score of a game that is over by mate or stalemate (FIDE Laws 5.1.1, 5.2.1), else None."""
    if any(board.legal_moves):
        return None
    return Score.mate(0, by_white=not board.turn) if board.is_check() else Score(0)


def line_text(board: chess.Board, moves: tuple[chess.Move, ...], most: int = 8) -> str:
    """The first moves of a line with their numbers, as `9.c4 Ba6 10.b3`."""
    board = board.copy(stack=False)
    words = []
    for index, move in enumerate(moves[:most]):
        san = board.san(move)
        if board.turn:
            san = f"{board.fullmove_number}.{san}"
        elif index == 0:
            san = f"{board.fullmove_number}...{san}"
        words.append(san)
        board.push(move)
    return " ".join(words)
