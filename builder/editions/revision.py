"""A booklet as it was at a git revision, laid out in a temporary folder."""

from __future__ import annotations

import io
import subprocess
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory


class RevisionError(Exception):
    """The revision can't be read; the message says why, for the author."""


@contextmanager
def revision_folder(folder: Path, revision: str) -> Iterator[Path]:
    """The folder's files at `revision`, for as long as the context lasts.

    Raises RevisionError when git is missing, the folder lies in no repository, or there is no
    such revision.
    """
    if revision.startswith("-"):
        raise RevisionError(f"{revision} is not a revision")
    try:
        top = Path(_git(folder, "rev-parse", "--show-toplevel").decode().strip())
        below = folder.resolve().relative_to(top.resolve()).as_posix()
        tree = revision if below == "." else f"{revision}:{below}"
        archive = _git(top, "archive", "--format=tar", tree)
    except FileNotFoundError:
        raise RevisionError("git is needed to read an earlier revision, and isn't installed") from None
    except ValueError:
        raise RevisionError(f"{folder} is not inside its git repository") from None
    with TemporaryDirectory(prefix="plyleaf-") as temporary:
        _unpack(archive, Path(temporary))
        yield Path(temporary)


def _unpack(archive: bytes, folder: Path) -> None:
    """Plain files only: a link in somebody's repository leads nowhere."""
    with tarfile.open(fileobj=io.BytesIO(archive)) as tar:
        for member in tar:
            path = (folder / member.name).resolve()
            content = tar.extractfile(member) if member.isfile() else None
            if content is not None and path.is_relative_to(folder.resolve()):
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(content.read())


def _git(folder: Path, *words: str) -> bytes:
    done = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, check=False)
    if done.returncode:
        reason = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise RevisionError(reason[0].removeprefix("fatal: ") if reason else "git can't read it")
    return done.stdout
