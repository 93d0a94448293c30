"""The files of `plyleaf new`: they lie in `booklet/` beside this file, as they are written."""

from __future__ import annotations

from pathlib import Path

_FILES = Path(__file__).parent / "booklet"


def write_starter(folder: Path) -> tuple[Path, ...]:
    """Writes the small booklet into `folder`; the files written.

    Raises FileExistsError where the folder holds anything, OSError where it can't be made.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileExistsError(f"{folder} is there already and not empty")
    written: list[Path] = []
    for file in sorted(path for path in _FILES.rglob("*") if path.is_file()):
        target = folder / file.relative_to(_FILES)
        target.parent.mkdir(parents=True, exist_ok=True)
        with target.open("xb") as handle:
            handle.write(file.read_bytes())
        written.append(target)
    return tuple(written)
