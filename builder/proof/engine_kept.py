"""The answers that are kept, for those who have no engine at hand.

In: the booklet's files, the author's command, questions. Out: a lookup.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager

import chess

from builder.model import Position
from builder.proof.engine_answers import (
    Answer, EngineFault, Lookup, Question, Score, score_over,
)  # fmt: skip
from builder.proof.store import Store, StoreFault
from builder.source.files import BookletFiles


def kept_answers(files: BookletFiles, command: str, questions: Iterable[Question]) -> Lookup:
    """What is kept for these questions, from the engine that the command last started.

    No engine is needed. Raises EngineFault where the file can't be used.
    """
    found: dict[Question, Answer] = {}
    try:
        store = Store.open(files, writing=False)
        if store is not None:
            with store:
                engine = store.last_engine(command)
                if engine is None:
                    return found.get
                answers = ((one, store.best_answer(engine[0], one)) for one in questions)
                found = {one: answer for one, answer in answers if answer is not None}
    except StoreFault as fault:
        raise store_fault(fault) from None
    return found.get


@contextmanager
def kept_lookup(files: BookletFiles, command: str) -> Iterator[Lookup]:
    """What is kept for any question, as long as the context lasts. Raises EngineFault likewise."""
    try:
        store = Store.open(files, writing=False) if command else None
        if store is None:
            yield _nothing
            return
        with store:
            engine = store.last_engine(command)
            yield (lambda question: store.best_answer(engine[0], question)) if engine else _nothing
    except StoreFault as fault:
        raise store_fault(fault) from None


def _nothing(question: Question) -> None:
    """Where nothing is kept."""


def opinion(lookup: Lookup) -> Callable[[Position, chess.Move], float | None]:
    """What is known of a move, in pawns from its side's view: the score of the position behind it,
    or else of the line that begins with it."""

    def score(position: Position, move: chess.Move) -> float | None:
        board = position.board()
        white = board.turn
        board.push(move)
        found: Score | None = score_over(board)
        if found is None and (answer := lookup(Question.of(Position(board)))):
            found = answer.best.score
        elif found is None and (answer := lookup(Question.of(position))):
            line = answer.line_of(move)
            found = line.score if line else None
        return found.pawns(white) if found else None

    return score


def store_fault(fault: StoreFault) -> EngineFault:
    return EngineFault("engine-file", str(fault), "move it away, and the engine is asked again")
