"""Outputs reach their folder all together, or not at all.

Everything is made in a staging folder beside the target. Only when the whole build has
succeeded are the files moved into place: each replaces its predecessor in one step, a journal
tells which did, and a failure takes all of them back. A build that was killed half-way through
that is taken back by the next one.

The target may hold files of other people. A list in it, `MANIFEST`, names those that an earlier
build wrote; no other file is ever replaced or removed.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from urllib.parse import quote, unquote

from builder.faults import Faults, why
from builder.place import file_place
from builder.write.moving import Moves, Placed, plain_path, remove_if_empty

MANIFEST = ".plyleaf-files"
_HEAD = "# Written by Plyleaf, which replaces and removes these files and no others.\n"
# What an author keeps in a booklet's folder.
_AUTHORS = ("chapters", "games", "images", "theme")


def target_is_allowed(target: Path, booklet: Path, faults: Faults) -> bool:
    """Whether outputs may go there; if not, an error tells why."""
    real, home = target.resolve(), booklet.resolve()
    reason = ""
    if real.exists() and not real.is_dir():
        reason = "it is a file"
    elif home.is_relative_to(real):
        reason = "the booklet itself is in it"
    elif any(real.is_relative_to(home / name) for name in _AUTHORS):
        reason = f"the booklet's own {real.relative_to(home).parts[0]}/ are there"
    elif target.absolute().is_relative_to(home) and not real.is_relative_to(home):
        # A booklet that comes from somebody else may hold such a link.
        reason = "a link in the booklet leads out of it"
    if reason:
        faults.error("out-place", file_place(target), f"the outputs can't go into {target}: {reason}",
                     "choose another folder with --out")  # fmt: skip
    return not reason


class Stage:
    """A build in the making. Outputs write into the folder of their part; then `commit`."""

    def __init__(self, target: Path, folder: Path) -> None:
        self.target = target
        self._folder = folder

    def part(self, name: str) -> Path:
        """The folder whose files will be the part's: `site`, `pdf`, `pgn`."""
        folder = self._folder / "new" / name
        folder.mkdir(parents=True, exist_ok=True)
        return folder

    def earlier(self, part: str) -> tuple[str, ...]:
        """The files of a part that an earlier build left in the target."""
        manifest = read_manifest(self.target)
        return tuple(sorted(path for path, of in manifest.items() if of == part))

    def commit(self, faults: Faults) -> bool:
        """Moves all parts into place and removes what an earlier build of them left over.

        Parts that were not staged stay as they are. After an error nothing has changed.
        """
        old = read_manifest(self.target)
        new = {path: part.name for part in sorted((self._folder / "new").iterdir())
               for path in _files(part)}  # fmt: skip
        if not self._is_free(new, old, faults):
            return False
        staged = set(new.values()) | {part.name for part in (self._folder / "new").iterdir()}
        stale = [path for path, part in old.items() if part in staged and path not in new]
        kept = {path: part for path, part in old.items() if part not in staged}
        write_manifest(self.part("manifest"), {**kept, **new})
        placed = [*new.items(), (MANIFEST, "manifest")]
        try:
            Moves(self._folder, self.target, tuple(stale),
                  tuple(Placed(path, part, self._is_file(path)) for path, part in placed)).make(
            )  # fmt: skip
        except OSError as error:
            faults.error("out-write", file_place(self.target),
                         f"the outputs can't be put into place: {why(error)}",
                         "the last good output is as it was")  # fmt: skip
            return False
        return True

    def _is_file(self, path: str) -> bool:
        """Whether something that is no folder is there."""
        there = self.target / path
        return os.path.lexists(there) and (there.is_symlink() or not there.is_dir())

    def _is_free(self, new: Iterable[str], old: Iterable[str], faults: Faults) -> bool:
        """No file of somebody else stands where one of ours would."""
        ours = {*old, MANIFEST}
        free = True
        for path in new:
            pure = PurePosixPath(path)
            for step in (*reversed(pure.parents[:-1]), pure):
                there = self.target / step
                if not os.path.lexists(there) or str(step) in ours:
                    continue
                if step != pure and there.is_dir() and not there.is_symlink():
                    continue
                if step == pure and there.is_dir() and not _strangers(there, self.target, ours):
                    continue
                faults.error("out-stranger", file_place(there),
                             "no earlier build wrote this, so it is not replaced",
                             "move it away, or choose another folder with --out")  # fmt: skip
                free = False
                break
        return free


@contextmanager
def staging(target: Path, faults: Faults) -> Iterator[Stage | None]:
    """A stage for `target`, gone at the end whatever happens; None after an error.

    What an earlier build that was killed left behind is put right first.
    """
    try:
        target = target.resolve()
        made = [path for path in (target, *target.parents) if not path.exists()]
        target.mkdir(parents=True, exist_ok=True)
        lock = _lock(target)
    except OSError as error:
        busy = isinstance(error, BlockingIOError)
        reason = "another build is writing into it" if busy else why(error)
        faults.error("out-write", file_place(target), f"the outputs can't go into {target}: {reason}")
        yield None
        return
    folder = _staging_folder(target)
    try:
        try:
            _clear(folder, target)
            folder.mkdir()
            (folder / "new").mkdir()
        except OSError as error:
            faults.error("out-write", file_place(target),
                         f"the outputs can't be made beside {target}: {why(error)}"
            )  # fmt: skip
            yield None
            return
        yield Stage(target, folder)
    finally:
        try:
            _clear(folder, target)
        except OSError:
            pass  # the next build tries again
        os.close(lock)
        for path in made:
            remove_if_empty(path)


def _lock(target: Path) -> int:
    """Keeps a second build out of the target until the descriptor is closed, also by a kill.

    Raises BlockingIOError where another build holds it. On systems without `flock` nothing is
    kept out.
    """
    descriptor = os.open(target, os.O_RDONLY)
    try:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(descriptor)
        raise
    except (ImportError, OSError):
        pass  # not Unix, or a file system without locks
    return descriptor


def _staging_folder(target: Path) -> Path:
    """Beside the target; inside where the target is a file system of its own."""
    name = f".{target.name}.plyleaf"
    beside = target.stat().st_dev == target.parent.stat().st_dev
    return (target.parent if beside and os.access(target.parent, os.W_OK) else target) / name


def _clear(folder: Path, target: Path) -> None:
    """Takes a staging folder away, after taking back what was half done from it."""
    if not os.path.lexists(folder):
        return
    Moves.take_back_left_over(folder, target)
    shutil.rmtree(folder)


# --- the list of our files --------------------------------------------------------------------


def read_manifest(target: Path) -> dict[str, str]:
    """The part of each file that an earlier build wrote; paths that lead elsewhere are left out."""
    try:
        text = (target / MANIFEST).read_text(encoding="utf-8")
    except (OSError, ValueError):
        return {}
    found: dict[str, str] = {}
    for line in text.splitlines():
        part, _, path = line.partition(" ")
        path = unquote(path)
        if path and not line.startswith("#") and plain_path(target, path) is not None:
            found[path] = part
    return found


def write_manifest(folder: Path, files: dict[str, str]) -> None:
    lines = "".join(f"{part} {quote(path)}\n" for path, part in sorted(files.items()))
    (folder / MANIFEST).write_text(_HEAD + lines, encoding="utf-8")


def _files(folder: Path) -> list[str]:
    """The files under a folder, relative to it, in order."""
    return sorted(
        path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir()
    )


def _strangers(folder: Path, target: Path, ours: set[str]) -> bool:
    """Whether a folder holds anything that is not ours."""
    return any(
        path.relative_to(target).as_posix() not in ours
        for path in folder.rglob("*") if not path.is_dir()
    )  # fmt: skip
