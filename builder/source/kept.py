"""SQLite files that a booklet keeps for its author, in its folder `.plyleaf`.

Such a file may have come with somebody else's booklet: it is read as data, opened only where it
lies in the booklet's folder, and never overwritten when it is not one of ours.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from builder.faults import why
from builder.source.files import BookletFiles

FOLDER = ".plyleaf"

# A rollback journal that names another file makes SQLite delete that file (sqlite.org/fileformat2,
# 'The Rollback Journal' and 'super-journal'); ours never does, and one from elsewhere must not.
_SUPER_JOURNAL = bytes.fromhex("d9d505f920a163d7")


class StoreFault(Exception):
    """The file can't be used: the reason in a sentence."""


@dataclass(frozen=True, slots=True)
class KeptFile:
    """What a kept file is: its name in the booklet, its tables as they are made, the version of
    their meaning, and in words what it holds.

    A new version only adds tables; an older file is given them when it is next written to.
    """

    name: str
    tables: tuple[str, ...]
    version: int
    what: str

    def open(self, files: BookletFiles, writing: bool) -> sqlite3.Connection | None:
        """The booklet's file, in autocommit mode; when only reading, None where there is none.

        Raises StoreFault.
        """
        path = self._path(files)
        if not writing and not path.exists():
            return None
        with self.told():
            if writing:
                path.parent.mkdir(exist_ok=True)
            mode = "rwc" if writing else "ro"
            connection = sqlite3.connect(f"{path.as_uri()}?mode={mode}", uri=True, timeout=10)
        try:
            with self.told():
                connection.isolation_level = None
                connection.execute("PRAGMA trusted_schema = OFF")
                self._check(connection, writing)
        except BaseException:
            connection.close()
            raise
        return connection

    @contextmanager
    def told(self) -> Iterator[None]:
        """SQLite's errors, and the file system's, as StoreFault."""
        try:
            yield
        except sqlite3.Error as error:
            raise StoreFault(f"{self.name} can't be used: {error}") from None
        except OSError as error:
            raise StoreFault(f"{self.name} can't be used: {why(error)}") from None

    def _path(self, files: BookletFiles) -> Path:
        """The file's path; raises StoreFault where that leads out of the booklet."""
        path = files.inside(self.name)
        journal = files.inside(f"{self.name}-journal")
        if path is None or journal is None or path.parent != files.folder / FOLDER:
            raise StoreFault(f"{self.name} leads out of its place in the booklet")
        if path.exists() and not path.is_file():
            raise StoreFault(f"{self.name} is not a file")
        if journal.exists() and self._names_another(journal):
            raise StoreFault(f"{self.name}-journal was not written here")
        return path

    def _names_another(self, journal: Path) -> bool:
        try:
            with journal.open("rb") as file:
                file.seek(0, 2)
                file.seek(max(0, file.tell() - len(_SUPER_JOURNAL)))
                return file.read() == _SUPER_JOURNAL
        except FileNotFoundError:
            return False  # whoever was writing has finished
        except OSError as error:
            raise StoreFault(f"{self.name}-journal can't be read: {why(error)}") from None

    def _check(self, connection: sqlite3.Connection, writing: bool) -> None:
        """Raises StoreFault unless the file is one of ours and whole; makes an empty one ours."""
        connection.execute("BEGIN")  # both as they are at one moment
        tables = _tables(connection)
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        connection.execute("COMMIT")
        if not tables and version == 0 and not writing:
            raise StoreFault(f"{self.name} is empty")
        if version > self.version:
            raise StoreFault(f"{self.name} was written by a newer version of this program")
        missing = [sql for sql in self.tables if sql not in tables]
        ours = tables <= set(self.tables) and bool(tables) == (version > 0)
        if ours and writing and version < self.version:
            self._make(connection)
        elif not ours or missing or version != self.version:
            raise StoreFault(f"{self.name} is somebody else's file, not {self.what}")
        (state,) = connection.execute("PRAGMA quick_check(1)").fetchone()
        if state != "ok":
            raise StoreFault(f"{self.name} is damaged")

    def _make(self, connection: sqlite3.Connection) -> None:
        """Another process may have been here in the meantime."""
        with transaction(connection):
            there = _tables(connection)
            for sql in self.tables:
                if sql not in there:
                    connection.execute(sql)
            connection.execute(f"PRAGMA user_version = {self.version}")


def _tables(connection: sqlite3.Connection) -> set[str]:
    """As they were made."""
    rows = connection.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL")
    return {sql for (sql,) in rows}


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """All or nothing, for good when it is left."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")
