"""Engines for the tests: the scripted one, answers without any, and positions to ask about."""

from __future__ import annotations

import random
import shlex
import sys
from pathlib import Path

import chess

from builder.proof.engine_answers import Answer, FoundLine, Question, Score

FAKE = Path(__file__).parent / "fake_engine.py"


def fake(mode: str = "ok", *arguments: object) -> str:
    """The command of the scripted engine."""
    return shlex.join([sys.executable, str(FAKE), mode, *map(str, arguments)])


def random_questions(count: int, seed: int = 1) -> list[Question]:
    """As many different positions, from games played at random."""
    dice = random.Random(seed)
    found: dict[str, None] = {}
    board = chess.Board()
    while len(found) < count:
        if board.is_game_over() or board.ply() > 60:
            board = chess.Board()
        board.push(dice.choice(list(board.legal_moves)))
        if any(board.legal_moves):
            found[board.epd()] = None
    return [Question(epd) for epd in found]


def after(moves: str, start: str = chess.STARTING_FEN) -> chess.Board:
    """The board after moves in SAN without numbers."""
    board = chess.Board(start)
    for san in moves.split():
        board.push_san(san)
    return board


class Known:
    """A lookup that knows what it was told: after some moves, the lines `SAN… score`, where the
    score is in pawns from White's side, or `#3` and `#-3` for mates by White and Black."""

    def __init__(self, answers: dict[str, tuple[str, ...]], start: str = chess.STARTING_FEN) -> None:
        self.answers: dict[str, Answer] = {}
        self.asked: list[Question] = []
        for moves, lines in answers.items():
            board = after(moves, start)
            self.answers[board.epd()] = Answer(tuple(_line(board, line) for line in lines))

    def __call__(self, question: Question) -> Answer | None:
        self.asked.append(question)
        return self.answers.get(question.epd)


def _line(board: chess.Board, text: str) -> FoundLine:
    *sans, score = text.split()
    board = board.copy()
    return FoundLine(tuple(board.push_san(san) for san in sans), _score(score))


def _score(text: str) -> Score:
    if text.startswith("#"):
        moves = int(text[1:])
        return Score.mate(abs(moves), by_white=moves > 0)
    return Score(round(100 * float(text)))
