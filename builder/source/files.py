"""The files of a booklet, and nothing outside it.

In: the booklet's folder. Out: texts and checked picture names. A path that leaves the folder,
also through a symbolic link, is a fault: chapters may come from somebody else.
"""

from __future__ import annotations

import os
import posixpath
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from builder.faults import Faults, did_you_mean, why
from builder.place import Place, Source, file_place

PICTURE_TYPES = (".png", ".jpg", ".jpeg", ".gif", ".webp", ".svg")
MOST_TEXT = 8 * 1024 * 1024  # Bytes; a chapter is a few dozen kB.
MOST_PICTURE = 64 * 1024 * 1024


def path_inside(folder: Path, name: str) -> Path | None:
    """Where `name` leads from `folder`, links followed, if that lies in `folder`; else None.

    Whether anything is there is asked by `os.path.isfile`, which takes a name that no file can have
    for one of a file that isn't there; `Path.is_file` raises OSError.
    """
    try:
        path = (folder / name).resolve()
    except (OSError, RuntimeError, ValueError):  # links in a circle; a NUL in the name
        return None
    return path if path.is_relative_to(folder.resolve()) else None


@dataclass(frozen=True, slots=True)
class BookletFiles:
    """The booklet's folder; `folder` is absolute and resolved."""

    folder: Path

    @staticmethod
    def at(folder: Path) -> BookletFiles:
        return BookletFiles(folder.resolve())

    def inside(self, name: str) -> Path | None:
        """The file of that name if it lies in the booklet, links followed; else None."""
        if not name or "\\" in name:
            return None
        return path_inside(self.folder, name)

    def read(self, name: str, faults: Faults, asked_at: Place | None = None) -> Source | None:
        """The text of a file in UTF-8, its line ends made `\\n`.

        What hinders is an error at `asked_at`, or at the file's own start.
        """
        data = self.read_bytes(name, faults, asked_at)
        return None if data is None else self._decode(name, data, faults)

    def read_bytes(self, name: str, faults: Faults, asked_at: Place | None = None) -> bytes | None:
        """A file's bytes; faults as in `read`."""
        here = asked_at or file_place(name)
        path = self.inside(name)
        if path is None:
            faults.error("file-outside", here, f"{name} is outside the booklet's folder")
            return None
        if not os.path.isfile(path):
            faults.error("file-missing", here, f"there is no file {name}", self._near(name))
            return None
        try:
            if path.stat().st_size > MOST_TEXT:
                faults.error("file-large", here, f"{name} is larger than {MOST_TEXT >> 20} MB",
                             "split it")  # fmt: skip
                return None
            return path.read_bytes()
        except OSError as error:
            faults.error("file-read", here, f"{name} can't be read: {why(error)}")
            return None

    def _decode(self, name: str, data: bytes, faults: Faults) -> Source | None:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            before = data[: error.start].replace(b"\r\n", b"\n")
            line = before.count(b"\n") + 1
            column = len(before.rsplit(b"\n", 1)[-1].decode("utf-8", "replace")) + 1
            faults.error("file-encoding", Place(name, line, column, column + 1),
                         "the file is not UTF-8 text", "save it as UTF-8")  # fmt: skip
            return None
        text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "\ufffd")
        source = Source(name, text)
        faults.add_source(source)
        return source

    def _near(self, name: str) -> str:
        parent = self.inside(str(PurePosixPath(name).parent))
        base = PurePosixPath(name).parent
        if parent is None or not os.path.isdir(parent):
            return f"there is no folder {base}" if parent else ""
        if os.path.lexists(self.folder / name):
            return f"{name} is a folder" if os.path.isdir(self.folder / name) else f"{name} can't be read"
        return did_you_mean(name, (str(base / entry.name) for entry in sorted(parent.iterdir())))

    def chapters(self) -> tuple[str, ...]:
        """The chapters in file-name order."""
        folder = self.inside("chapters")
        if folder is None or not folder.is_dir():
            return ()
        return tuple(
            f"chapters/{entry.name}"
            for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
            if entry.suffix == ".md" and entry.is_file() and not entry.name.startswith(".")
        )

    def picture(self, href: str, place: Place, faults: Faults) -> str | None:
        """The picture's name in the booklet, or None after an error."""
        name = href.split("#")[0]
        if "://" in href or href.startswith(("//", "data:")):
            faults.error("picture-remote", place, "a picture must be a file of the booklet",
                         "put it into images/")  # fmt: skip
            return None
        path = self.inside(name)
        if path is None and name.startswith("../"):
            # As an author thinks who writes it from chapters/.
            path = self.inside(name[3:])
            name = name[3:]
        if path is None:
            faults.error("file-outside", place, f"{name} is outside the booklet's folder")
        elif not os.path.isfile(path):
            faults.error("file-missing", place, f"there is no picture {name}", self._near(name))
        elif path.suffix.lower() not in PICTURE_TYPES:
            faults.error("picture-type", place, f"{name} is not a picture that a page can show",
                         "kinds: " + " ".join(PICTURE_TYPES))  # fmt: skip
        elif path.stat().st_size > MOST_PICTURE:
            faults.error("file-large", place, f"{name} is too large a picture")
        else:
            return posixpath.normpath(name)
        return None
