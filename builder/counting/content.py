"""What a file of games holds, told by its SHA-256, and whether it still holds that.

Hashing reads the whole file, which is most of the work where its counts are kept. So the hash of a
file that has lain untouched for a while is remembered with its stamp: device, inode, size, and the
times to the nanosecond at which its bytes and its inode were changed last. Whoever writes to it
changes these; the inode's time can't be set back like the other (POSIX.1-2017, <sys/stat.h> and
utimensat: st_ctim). A file that was touched lately is hashed every time, since a second change may
fall into the same tick of the file system's clock, or still wait in a mapping of memory.
"""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from builder.faults import why

UNTOUCHED = 60 * 10**9  # nanoseconds, until which a file's stamp tells nothing


class CountFault(Exception):
    """A file can't be counted: a stable code, the reason, and the remedy."""

    def __init__(self, code: str, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.code, self.message, self.hint = code, message, hint


@dataclass(frozen=True, slots=True)
class Stamp:
    """What tells without reading that a file is as it was; times are in nanoseconds since 1970."""

    device: int
    inode: int
    size: int
    modified: int
    changed: int

    @staticmethod
    def of(file: BinaryIO) -> Stamp:
        found = os.fstat(file.fileno())
        return Stamp(found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns, found.st_ctime_ns)

    def is_old(self, now: int) -> bool:
        """Whether the file was left alone long enough; never where `changed` means something else."""
        return os.name == "posix" and max(self.modified, self.changed) < now - UNTOUCHED

    def __str__(self) -> str:
        return f"{self.device} {self.inode} {self.size} {self.modified} {self.changed}"


def content_hash(path: Path, known: Callable[[Stamp], bytes | None],
                 remember: Callable[[Stamp, bytes], None]) -> bytes:  # fmt: skip
    """What tells one content of a file from another. Raises CountFault.

    `known` gives the hash that goes with a stamp, if it was remembered.
    """
    now = time.time_ns()
    with opened(path) as file:
        stamp = Stamp.of(file)
        if not stamp.is_old(now):
            return hashlib.file_digest(file, "sha256").digest()
        content = known(stamp)
        if content is None:
            content = hashlib.file_digest(file, "sha256").digest()
            if Stamp.of(file) == stamp:
                remember(stamp, content)
        return content


@contextmanager
def opened(path: Path) -> Iterator[BinaryIO]:
    """A file to read bytes from. What hinders, then and later, is a CountFault."""
    try:
        with path.open("rb") as file:
            yield file
    except OSError as error:
        raise CountFault("file-read", f"it can't be read: {why(error)}") from None
