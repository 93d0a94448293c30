"""Whole talks: moves heard in their right place. The talks in `dev` and `more` were there while the
hearing was made, those in `kept` were not; all were written for the project, with their truth."""

from __future__ import annotations

from pathlib import Path

import pytest
from speech.score import score, total, transcripts

SCRIPTS = Path(__file__).parent / "scripts"
# The least shares of moves that are heard, and that are right of those given out as sure.
LEAST = {"dev": (0.90, 0.95), "more": (0.90, 0.93), "kept": (0.90, 0.95)}


@pytest.mark.parametrize("folder", LEAST)
def test_moves_are_heard(folder):
    found = [score(path) for path in transcripts(SCRIPTS / folder)]
    if not found:
        pytest.skip("no talks there")
    told = "\n".join(one.as_text() for one in [*found, total(found)])
    recall, precision = LEAST[folder]
    assert total(found).recall >= recall, told
    assert total(found).precision >= precision, told
