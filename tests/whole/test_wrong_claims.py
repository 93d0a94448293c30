"""A booklet of wrong claims: each is told at its line and column with the truth; its twin is clean.

The boards and what is so on them are those of tests/claims/test_meaning.py; here they go the whole
way, from a chapter's text to the faults of a run.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from claims.test_meaning import BOARDS
from tiny import read_and_make, tiny, write_booklet

from builder.faults import Fault
from builder.proof.claims import prove_claims

WORDS = "so it is"


def chapter(kind: str) -> tuple[str, list[tuple[int, str, str]]]:
    """A chapter that makes every claim of a kind, and (line, claim, part of the truth) of each.

    The claims stand in the prose behind a diagram of their board, by turns as printed words and
    silent.
    """
    lines: list[str] = ["# Claims", ""]
    made: list[tuple[int, str, str]] = []
    for board in BOARDS:
        claims = getattr(board, kind)
        if not claims:
            continue
        lines += [f'```diagram "{board.fen}"', "```", ""]
        for claim, truth in claims.items():
            silent = len(made) % 3 == 2
            lines += [f"{{% {claim} %}}" if silent else f"[{WORDS}]{{{claim}}}", ""]
            made.append((len(lines) - 1, claim, truth))
    return "\n".join(lines) + "\n", made


def proved(folder: Path, text: str) -> tuple[Fault, ...]:
    """The faults of the claims alone."""
    write_booklet(folder, text)
    _, booklet, faults = read_and_make(folder)
    prove_claims(booklet, faults)
    return faults.sorted()


def test_each_wrong_claim_is_told_where_it_stands(tmp_path):
    text, made = chapter("false")
    assert len(made) >= 60
    faults = proved(tmp_path, text)
    assert [fault.place.line for fault in faults] == [line for line, _, _ in made]
    for fault, (line, claim, truth) in zip(faults, made, strict=True):
        assert fault.code == "claim-false", fault.as_text()
        written = text.split("\n")[line - 1]
        at = written.index(claim)
        # The mark is on the claim, with its braces where it stands silent.
        assert fault.place.column - 1 <= at < fault.place.end_column, fault.as_text()
        assert truth in fault.message, fault.as_text()


def test_the_corrected_twin_is_clean(tmp_path):
    text, made = chapter("true")
    assert len(made) >= 60
    assert proved(tmp_path, text) == ()


@pytest.mark.parametrize("kind", ["false", "true"])
def test_it_reads_without_a_fault(kind, tmp_path):
    """Nothing but the claims is wrong with either booklet."""
    made = tiny(tmp_path, chapter(kind)[0])
    assert made.faults == (), made.told()
