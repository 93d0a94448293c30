"""What the commands share that write new chapters: what they read, where the chapters go, and where
their moves start."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from builder.commands import Misuse
from builder.faults import Faults, why
from builder.terminal import Terminal

if TYPE_CHECKING:
    from builder.model import Position

_LISTED = 6  # files that are named; of more there is a count


def opened(path: Path) -> BinaryIO:
    """The file that was named. Raises Misuse where it can't be read."""
    if not path.is_file():
        raise Misuse(f"{path} is no file" if path.exists() else f"there is no file {path}")
    try:
        return path.open("rb")
    except OSError as error:
        raise Misuse(f"{path} can't be read: {why(error)}") from error


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


@contextmanager
def into_a_folder() -> Iterator[None]:
    """Work that writes chapters. Raises Misuse where the folder can't take them."""
    from builder.intake.folder import FolderFault

    try:
        yield
    except FolderFault as fault:
        raise Misuse(f"{fault}; nothing was written") from fault


def say_written(written: Sequence[Path], into: Path, terminal: Terminal) -> None:
    """Names the files as seen from here."""
    base = into.resolve()
    listed = ", ".join(str(into / path.relative_to(base)) for path in written[:_LISTED])
    more = f" and {len(written) - _LISTED:,} more" if len(written) > _LISTED else ""
    terminal.say(f"{terminal.paint('written', 'good')}: {listed}{more}")
