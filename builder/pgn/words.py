"""Words from a file that may be hostile: cleaned once, escaped wherever they are written."""

from __future__ import annotations

import re

# Marks that turn the direction of what follows (Unicode bidirectional algorithm, UAX #9).
_TURNS = re.compile("[\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069\ufeff]")
# Our scanner's marks (see builder.source.scan), and halves of letters.
_BROKEN = re.compile("[\ue000-\ue003\ud800-\udfff]")
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")


def clean(text: str) -> str:
    """The words on one line: no control codes, no marks that turn it, none of our scanner's."""
    text = _BROKEN.sub("\ufffd", _TURNS.sub("", text))
    return " ".join(_CONTROL.sub(" ", text).split())
