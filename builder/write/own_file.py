"""A file of ours that stands alone, where its reader named it: written in one step, and never over
something that isn't such a file."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from builder.faults import Faults
from builder.place import Place

_HEAD = 1024  # bytes that tell what a file is


@dataclass(frozen=True, slots=True)
class OwnFile:
    """A kind of file. `is_ours` tells it by its first bytes; `stranger` says in a sentence what
    anything else is; `option` names the file on the command line."""

    is_ours: Callable[[bytes], bool]
    stranger: str
    option: str

    def is_free(self, target: Path, faults: Faults) -> bool:
        """Whether nothing but such a file stands there; if not, an error tells."""
        if not os.path.lexists(target):
            return True
        if target.is_dir():
            faults.error("out-place", file_place(target), "this is a folder",
                         f"name a file with {self.option}")  # fmt: skip
            return False
        try:
            with target.open("rb") as file:
                found = self.is_ours(file.read(_HEAD))
        except OSError as error:
            faults.error("out-write", file_place(target), f"this can't be read: {why(error)}")
            return False
        if not found:
            faults.error("out-stranger", file_place(target), f"{self.stranger}, so it is not replaced",
                         f"move it away, or choose another name with {self.option}")  # fmt: skip
        return found


def write_own_file(content: bytes, target: Path, faults: Faults) -> bool:
    """Writes the file in one step; whether that was done."""
    draft = target.with_name(f".{target.name}.plyleaf")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        draft.unlink(missing_ok=True)  # left by a run that was killed
        with draft.open("xb") as file:
            file.write(content)
        os.replace(draft, target)
    except OSError as error:
        faults.error("out-write", file_place(target), f"this can't be written: {why(error)}")
        return False
    return True


def file_place(path: Path) -> Place:
    return Place(str(path), 1, 1, 2)


def why(error: OSError) -> str:
    """Why the file system refuses, to stand behind a colon."""
    return (error.strerror or str(error)).lower()
