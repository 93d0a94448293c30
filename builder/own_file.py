"""Files of ours that stand alone, where a reader named them or where they have their place: put there
whole, and never over anything that isn't such a file.

A build's outputs have a place of their own, see `builder.write.stage`.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from builder.faults import Faults, why
from builder.place import file_place

_HEAD = 16_384  # bytes that tell what a file is


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file. `is_ours` tells it from others and may raise OSError; `stranger` says in a
    sentence what anything else is; `option` names the file on the command line, if anything does."""

    is_ours: Callable[[Path], bool]
    stranger: str
    option: str = "--out"

    def is_free(self, target: Path, faults: Faults, name: str = "") -> bool:
        """Whether nothing but such a file stands there; if not, an error tells, of the `name` if the
        file is called otherwise than by its path."""
        here = file_place(name or target)
        if not os.path.lexists(target):
            return True
        if target.is_dir():
            faults.error("out-place", here, "this is a folder",
                         f"name a file with {self.option}" if self.option else "move it away")  # fmt: skip
            return False
        try:
            found = target.is_file() and self.is_ours(target)
        except OSError as error:
            faults.error("out-write", here, f"this can't be read: {why(error)}")
            return False
        if not found:
            other = f", or choose another name with {self.option}" if self.option else ""
            faults.error("out-stranger", here, f"{self.stranger}, so it is not replaced",
                         f"move it away{other}")  # fmt: skip
        return found


def is_new(target: Path, faults: Faults) -> bool:
    """Whether nothing stands where a file goes that nobody named; such a file replaces nothing,
    not even one of ours. If something does, an error tells."""
    if not os.path.lexists(target):
        return True
    faults.error("out-stranger", file_place(target), "this is there already",
                 f"to replace it, name it: -o {target}")  # fmt: skip
    return False


@dataclass(frozen=True, slots=True)
class OwnFile:
    """A file to write; `name` is what faults call it if not by its path."""

    kind: Kind
    target: Path
    content: bytes
    name: str = ""


def beginning(test: Callable[[bytes], bool]) -> Callable[[Path], bool]:
    """For a kind that is told by the first bytes of its files."""

    def is_ours(path: Path) -> bool:
        with path.open("rb") as file:
            return test(file.read(_HEAD))

    return is_ours


def write_new_files(files: Iterable[tuple[Path, bytes]]) -> list[Path]:
    """Writes files where nothing is yet; all of them, or none, and no folder then either.

    Raises OSError, whose `filename` is the one that could not be written.
    """
    written: list[Path] = []
    made: list[Path] = []
    try:
        for path, content in files:
            try:
                _make_folder(path.parent, made)
                with path.open("xb") as handle:
                    written.append(path)
                    handle.write(content)
            except OSError as error:
                error.filename = error.filename or str(path)
                raise
        return written
    except BaseException:
        _take_back(written, made)
        raise


def _make_folder(folder: Path, made: list[Path]) -> None:
    missing = [part for part in (folder, *folder.parents) if not part.exists()]
    for part in reversed(missing):
        part.mkdir()
        made.append(part)


def _take_back(written: list[Path], made: list[Path]) -> None:
    for path in written:
        path.unlink(missing_ok=True)
    for folder in reversed(made):
        with suppress(OSError):  # somebody else has put something there
            folder.rmdir()


def write_own_files(files: Sequence[OwnFile], faults: Faults) -> bool:
    """Puts files into place, each in one step and none unless all can be; whether that was done.

    Each is written beside its place first; nothing of that stays behind.
    """
    free = [file.kind.is_free(file.target, faults, file.name) for file in files]
    if not all(free):
        return False
    drafts = [file.target.with_name(f".{file.target.name}.plyleaf") for file in files]
    here: str | Path = ""
    try:
        for file, draft in zip(files, drafts, strict=True):
            here = file.name or file.target
            file.target.parent.mkdir(parents=True, exist_ok=True)
            draft.unlink(missing_ok=True)  # left by a run that was killed
            with draft.open("xb") as handle:
                handle.write(file.content)
                handle.flush()
                os.fsync(handle.fileno())
        for file, draft in zip(files, drafts, strict=True):
            here = file.name or file.target
            os.replace(draft, file.target)
    except OSError as error:
        faults.error("out-write", file_place(here), f"this can't be written: {why(error)}",
                     f"name another place with {files[0].kind.option}" if files[0].kind.option else "")  # fmt: skip
        return False
    finally:
        for draft in drafts:
            with suppress(OSError):  # its folder is none, or is not to be written in
                draft.unlink(missing_ok=True)
    return True
