"""What the press keeps of a booklet between builds: parts that are laid out, and fonts.

The files lie in `.plyleaf/pages/` and are named by what they were made from, so that nothing in
them can be out of date. A booklet may come from somebody else, and these files with it: each is
sealed with a key that lies outside of booklets in its user's own folder, and what isn't sealed
with it is not read. A folder that can't be written keeps nothing, which is no fault.
"""

from __future__ import annotations

import hmac
import os
import re
import secrets
import stat
from contextlib import suppress
from pathlib import Path

FOLDER = Path(".plyleaf", "pages")
LARGEST = 64 * 1024 * 1024  # bytes of a file
MOST = 256 * 1024 * 1024  # bytes of all files together
_NAME = re.compile(r"[0-9a-f]{64}\.(part|font|subset)")
_SEAL = 32  # bytes


class Kept:
    """The files of one booklet, or of none."""

    def __init__(self, folder: Path | None, fresh: bool = False) -> None:
        """`folder` is the booklet's; with `fresh` what is kept is made anew."""
        self._fresh = fresh
        self._folder = _usable(folder) if folder else None
        self._key = _key() if self._folder else None
        self._used: set[str] = set()

    def read(self, name: str) -> bytes | None:
        """What was kept under the name, None where nothing of ours was."""
        if self._fresh or self._folder is None or self._key is None:
            return None
        try:
            with open(self._folder / name, "rb", opener=_open_plain) as file:
                data = file.read(LARGEST + 1)
        except OSError:
            return None
        seal, body = data[:_SEAL], data[_SEAL:]
        if len(data) > LARGEST or not hmac.compare_digest(seal, self._sealed(name, body)):
            return None
        self._used.add(name)
        with suppress(OSError):
            os.utime(self._folder / name)
        return body

    def keep(self, name: str, body: bytes) -> None:
        if self._folder is None or self._key is None or len(body) + _SEAL > LARGEST:
            return
        self._used.add(name)
        draft = self._folder / f".{name}.{os.getpid()}"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            draft.write_bytes(self._sealed(name, body) + body)
            draft.replace(self._folder / name)
        except OSError:
            with suppress(OSError):
                draft.unlink()

    def tidy(self) -> None:
        """Deletes what was used longest ago where there is too much, and nothing of this build."""
        if self._folder is None:
            return
        found: list[tuple[float, int, Path]] = []
        with suppress(OSError):
            for entry in os.scandir(self._folder):
                status = entry.stat(follow_symlinks=False)
                if _NAME.fullmatch(entry.name) and stat.S_ISREG(status.st_mode):
                    found.append((status.st_mtime, status.st_size, Path(entry.path)))
        room = MOST
        for _, size, path in sorted(found, reverse=True):
            room -= size
            if room < 0 and path.name not in self._used:
                with suppress(OSError):
                    path.unlink()

    def _sealed(self, name: str, body: bytes) -> bytes:
        assert self._key
        return hmac.digest(self._key, name.encode() + b"\0" + body, "sha256")


def _usable(booklet: Path) -> Path | None:
    """The folder, where it is or will be in the booklet and not behind a link."""
    for part in (booklet / FOLDER.parent, booklet / FOLDER):
        if part.is_symlink():
            return None
    return booklet / FOLDER


def _open_plain(path: str, flags: int) -> int:
    """Opens a file that is one, and no link, pipe or device."""
    flags |= getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    number = os.open(path, flags)
    if not stat.S_ISREG(os.fstat(number).st_mode):
        os.close(number)
        raise OSError("no plain file")
    return number


def _key() -> bytes | None:
    """This user's key, made when it is first wanted; None where there can't be one."""
    try:
        state = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
        file = state / "plyleaf" / "seal.key"
        if not file.exists():
            file.parent.mkdir(parents=True, exist_ok=True)
            draft = file.with_name(f".{file.name}.{os.getpid()}")
            draft.touch(mode=0o600)
            draft.write_bytes(secrets.token_bytes(_SEAL))
            with suppress(FileExistsError):
                os.link(draft, file)  # the first of several builds wins
            draft.unlink()
        key = file.read_bytes()
    except (OSError, RuntimeError):  # no home
        return None
    return key if len(key) == _SEAL else None
