"""Whole talks: moves heard in their right place. The talks in `dev` were there while the hearing was
made, those in `kept` were not; they were written for the project, each with its truth and notes."""

from __future__ import annotations

from pathlib import Path

import pytest
from speech.score import score, total, transcripts

SCRIPTS = Path(__file__).parent / "scripts"
RECALL, PRECISION = 0.90, 0.95


@pytest.mark.parametrize("folder", ["dev", "kept"])
def test_moves_are_heard(folder):
    found = [score(path) for path in transcripts(SCRIPTS / folder)]
    if not found:
        pytest.skip("no talks there")
    told = "\n".join(one.as_text() for one in [*found, total(found)])
    assert total(found).recall >= RECALL, told
    assert total(found).precision >= PRECISION, told
