"""The answers that are kept, for those who have no engine at hand.

In: the booklet's files, the author's command, questions. Out: a lookup.
"""

from __future__ import annotations

from collections.abc import Iterable

from builder.proof.engine_answers import Answer, EngineFault, Lookup, Question
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
                for question in questions if engine else ():
                    answer = store.best_answer(engine[0], question)
                    if answer is not None:
                        found[question] = answer
    except StoreFault as fault:
        raise store_fault(fault) from None
    return found.get


def store_fault(fault: StoreFault) -> EngineFault:
    return EngineFault("engine-file", str(fault), "move it away, and the engine is asked again")
