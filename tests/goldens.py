"""Small files that hold what an output should be: UPDATE_GOLDENS=1 bash tests/run writes them."""

from __future__ import annotations

import os
from pathlib import Path


def check_golden(path: Path, text: str) -> None:
    """Compares `text` with the file; writes the file instead where an update is asked for."""
    if os.environ.get("UPDATE_GOLDENS"):
        path.write_text(text, encoding="utf-8", newline="\n")
    assert text == path.read_text(encoding="utf-8"), f"{path.name}: UPDATE_GOLDENS=1 accepts it"
