"""Files moved into a folder so that every step can be taken back.

In: a staging folder with new files under `new/PART/`. Out: the files in the target, or, after a
failure, the target as it was. A journal in the staging folder tells a later build what one that
was killed had begun.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

_JOURNAL = "journal.json"



@dataclass(frozen=True, slots=True)
class Placed:
    """A file to put into the target; `replaces` tells that an older one is there."""

    path: str
    part: str
    replaces: bool


@dataclass(frozen=True, slots=True)
class Moves:
    """What to remove from the target and what to put there, from a staging folder.

    Each step can be taken back, and taking back can be interrupted and begun again: an older
    file waits under `old/` until everything is done, a new one goes back to `new/`.
    """

    folder: Path
    target: Path
    removed: tuple[str, ...]
    placed: tuple[Placed, ...]

    def make(self) -> None:
        """Makes all moves. Raises OSError; then, and when interrupted, none is made."""
        self._write_journal()
        try:
            for path in self.removed:
                self._remove(path)
            for placed in self.placed:
                self._place(placed)
        except BaseException:
            self.take_back()
            raise
        (self.folder / _JOURNAL).unlink()

    def take_back(self) -> None:
        for placed in reversed(self.placed):
            there = plain_path(self.target, placed.path)
            kept = plain_path(self.folder / "old", placed.path)
            staged = plain_path(self.folder / "new" / placed.part, placed.path)
            if there is None or kept is None or staged is None:
                continue
            if placed.replaces and os.path.lexists(kept):
                os.replace(kept, there)
            elif not placed.replaces and os.path.lexists(there) and not os.path.lexists(staged):
                os.replace(there, staged)
                prune(there.parent, self.target)
        for path in self.removed:
            there, kept = plain_path(self.target, path), plain_path(self.folder / "old", path)
            if there is not None and kept is not None and os.path.lexists(kept):
                there.parent.mkdir(parents=True, exist_ok=True)
                os.replace(kept, there)
        (self.folder / _JOURNAL).unlink(missing_ok=True)

    @staticmethod
    def take_back_left_over(folder: Path, target: Path) -> None:
        """Undoes what a build that was killed had begun, by its journal if there is one."""
        try:
            data = json.loads((folder / _JOURNAL).read_text(encoding="utf-8"))
            removed = tuple(str(path) for path in data["removed"])
            placed = tuple(Placed(str(path), _part_name(part), bool(replaces))
                           for path, part, replaces in data["placed"])  # fmt: skip
        except (OSError, ValueError, KeyError, TypeError):
            return  # it had not begun to move anything
        Moves(folder, target, removed, placed).take_back()

    def _write_journal(self) -> None:
        placed = [(one.path, one.part, one.replaces) for one in self.placed]
        draft = self.folder / f"{_JOURNAL}.new"
        draft.write_text(json.dumps({"removed": self.removed, "placed": placed}), encoding="utf-8")
        os.replace(draft, self.folder / _JOURNAL)

    def _remove(self, path: str) -> None:
        there = plain_path(self.target, path)
        if there is None or not os.path.lexists(there) or there.is_dir():
            return
        os.replace(there, self._kept(path))
        prune(there.parent, self.target)

    def _place(self, placed: Placed) -> None:
        """The old file gets a second name first, so that there is one at every moment."""
        there = plain_path(self.target, placed.path)
        if there is None:
            raise OSError(errno.ELOOP, f"{placed.path} leads out of the folder")
        there.parent.mkdir(parents=True, exist_ok=True)
        if placed.replaces:
            kept = self._kept(placed.path)
            try:
                os.link(there, kept, follow_symlinks=False)
            except OSError:  # a file system without hard links
                draft = kept.with_name(f"{kept.name}.new")
                shutil.copy2(there, draft, follow_symlinks=False)
                os.replace(draft, kept)
        elif there.is_dir() and not there.is_symlink():
            there.rmdir()
        os.replace(self.folder / "new" / placed.part / placed.path, there)

    def _kept(self, path: str) -> Path:
        kept = self.folder / "old" / path
        kept.parent.mkdir(parents=True, exist_ok=True)
        return kept


def _part_name(text: object) -> str:
    """Raises ValueError for what can't be the name of a part."""
    if not isinstance(text, str) or not text.isalpha():
        raise ValueError(f"no part: {text!r}")
    return text


def plain_path(root: Path, path: str) -> Path | None:
    """`root / path` where that leads through no link and not out of `root`; else None."""
    pure = PurePosixPath(path)
    if pure.is_absolute() or not pure.parts or ".." in pure.parts or "\0" in path:
        return None
    steps = [root, *(root / parent for parent in pure.parents[:-1])]
    return None if any(step.is_symlink() for step in steps) else root / pure


def prune(folder: Path, root: Path) -> None:
    """Removes empty folders from `folder` upwards, below `root`."""
    while folder != root and root in folder.parents and remove_if_empty(folder):
        folder = folder.parent


def remove_if_empty(folder: Path) -> bool:
    try:
        folder.rmdir()
    except OSError:
        return False
    return True
