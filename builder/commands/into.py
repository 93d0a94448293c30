"""What the commands share that write new chapters: where these go, and where their moves start."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from builder.commands import Misuse
from builder.faults import Faults

if TYPE_CHECKING:
    from builder.model import Position


def booklet_folder(into: Path | None, words: str) -> Path:
    """The folder that was named; else this one if it is a booklet's, or a new one called by the
    `words`. Raises Misuse where that is taken."""
    from builder import names
    from builder.settings import SETTINGS_FILE

    if into is not None:
        return into
    if Path(SETTINGS_FILE).is_file():
        return Path(".")
    folder = Path(names.slug(words))
    if folder.exists():
        raise Misuse(f"there is {folder} already: choose a folder with --into")
    return folder


def start_position(fen: str, faults: Faults) -> Position | None:
    """The position that --fen tells; None, and an error, where it tells none."""
    from builder.intake.reading import read_position
    from builder.pgn.tell import Teller
    from builder.place import Place

    return read_position(fen, Place("--fen", 1, 1, len(fen) + 1), Teller("--fen", faults))
