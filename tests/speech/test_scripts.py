"""Whole talks: moves heard in their right place. The talks in `dev` were there while the hearing was
made, those in `kept` were not; all were written for the project, with their truth. A third of `dev`
is heard here, so that the suite stays short; `tests/speech/score.py` scores all."""

from __future__ import annotations

from pathlib import Path

import pytest
from speech.score import score, total, transcripts

SCRIPTS = Path(__file__).parent / "scripts"
# The least shares of moves that are heard, and that are right of those given out as sure; and of how
# many talks one is heard.
LEAST = {"dev": (0.90, 0.95, 3), "kept": (0.90, 0.95, 1)}


@pytest.mark.parametrize("folder", LEAST)
def test_moves_are_heard(folder):
    recall, precision, every = LEAST[folder]
    found = [score(path) for path in transcripts(SCRIPTS / folder)[::every]]
    if not found:
        pytest.skip("no talks there")
    told = "\n".join(one.as_text() for one in [*found, total(found)])
    assert total(found).recall >= recall, told
    assert total(found).precision >= precision, told
