"""The files of `plyleaf new`: they lie in `booklet/` beside this file, as they are written."""

from __future__ import annotations

from pathlib import Path

from builder.own_file import write_new_files

_FILES = Path(__file__).parent / "booklet"


def write_starter(folder: Path) -> tuple[Path, ...]:
    """Writes the small booklet into `folder`; the files written.

    Raises FileExistsError where the folder holds anything, OSError where it can't be made.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileExistsError(f"{folder} is there already and not empty")
    files = sorted(path for path in _FILES.rglob("*") if path.is_file())
    return tuple(write_new_files((folder / file.relative_to(_FILES), file.read_bytes()) for file in files))
