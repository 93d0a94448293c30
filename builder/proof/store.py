"""The engine's answers, kept in one SQLite file of the booklet.

`.plyleaf/engine.sqlite` holds every answer by engine (its name and options), nodes, number of
lines and position (EPD). Each is committed by itself, so that an interrupted run loses none. The
file may have come with somebody else's booklet: it is read as data, opened only where it lies in
the booklet's folder, and never overwritten when it is not one of ours.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import chess

from builder.proof.engine_answers import Answer, FoundLine, Question, Score
from builder.source.files import BookletFiles

FOLDER = ".plyleaf"  # what a booklet keeps for its author
STORE_FILE = f"{FOLDER}/engine.sqlite"
VERSION = 1

_TABLES = (
    "CREATE TABLE engine (id INTEGER PRIMARY KEY, name TEXT NOT NULL, options TEXT NOT NULL,"
    " UNIQUE (name, options))",
    "CREATE TABLE command (command TEXT PRIMARY KEY, engine INTEGER NOT NULL) WITHOUT ROWID",
    "CREATE TABLE line (engine INTEGER NOT NULL, nodes INTEGER NOT NULL, lines INTEGER NOT NULL,"
    " epd TEXT NOT NULL, rank INTEGER NOT NULL, depth INTEGER NOT NULL,"
    " centipawns INTEGER NOT NULL, mate INTEGER, moves TEXT NOT NULL,"
    " PRIMARY KEY (engine, nodes, lines, epd, rank)) WITHOUT ROWID",
)
# A rollback journal that names another file makes SQLite delete that file (sqlite.org/fileformat2,
# 'The Rollback Journal' and 'super-journal'); ours never does, and one from elsewhere must not.
_SUPER_JOURNAL = bytes.fromhex("d9d505f920a163d7")


class StoreFault(Exception):
    """The file can't be used: the reason in a sentence."""


class Store:
    """The open file. Use it as a context. Every method may raise StoreFault."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    @staticmethod
    def open(files: BookletFiles, writing: bool) -> Store | None:
        """The booklet's answers; when only reading, None where none are kept."""
        path = _path(files)
        if not writing and not path.exists():
            return None
        with _told():
            if writing:
                path.parent.mkdir(exist_ok=True)
            mode = "rwc" if writing else "ro"
            connection = sqlite3.connect(f"{path.as_uri()}?mode={mode}", uri=True, timeout=10)
        try:
            with _told():
                connection.isolation_level = None
                connection.execute("PRAGMA trusted_schema = OFF")
                _check(connection, writing)
        except BaseException:
            connection.close()
            raise
        return Store(connection)

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()

    def engine(self, command: str, name: str, options: str) -> int:
        """The number of an engine, a new one where it is new; the command leads to it from now."""
        found = self._find("SELECT id FROM engine WHERE name = ? AND options = ?", name, options)
        if found and found == self._find("SELECT engine FROM command WHERE command = ?", command):
            return found[0]
        with _told(), self._transaction():
            if found is None:
                found = self._connection.execute(
                    "INSERT INTO engine (name, options) VALUES (?, ?) RETURNING id", (name, options)
                ).fetchone()
            self._connection.execute("REPLACE INTO command VALUES (?, ?)", (command, found[0]))
        return found[0]

    def last_engine(self, command: str) -> tuple[int, str] | None:
        """The number and name of the engine that a command last started."""
        return self._find("SELECT engine.id, engine.name FROM command JOIN engine"
                          " ON engine.id = engine WHERE command = ?", command)  # fmt: skip

    def answer(self, engine: int, nodes: int, question: Question) -> Answer | None:
        """The answer kept for exactly this question."""
        return self._answer(engine, nodes, question.lines, question)

    def best_answer(self, engine: int, question: Question) -> Answer | None:
        """The answer that most nodes went into, with at least the lines that are asked for."""
        row = self._find("SELECT nodes, lines FROM line WHERE engine = ? AND epd = ? AND lines >= ?"
                         " ORDER BY nodes DESC, lines LIMIT 1",
                         engine, question.epd, question.lines)  # fmt: skip
        return self._answer(engine, row[0], row[1], question) if row else None

    def keep(self, engine: int, nodes: int, question: Question, answer: Answer) -> None:
        """Keeps an answer for good before it returns."""
        rows = [
            (engine, nodes, question.lines, question.epd, rank, answer.depth,
             line.score.centipawns, line.score.mate_in, " ".join(move.uci() for move in line.moves))
            for rank, line in enumerate(answer.lines)
        ]  # fmt: skip
        with _told(), self._transaction():
            self._connection.executemany(
                "REPLACE INTO line VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", rows
            )

    def count(self) -> int:
        """How many answers are kept."""
        found = self._find("SELECT count(*) FROM line WHERE rank = 0")
        return found[0] if found else 0

    def _answer(self, engine: int, nodes: int, lines: int, question: Question) -> Answer | None:
        with _told():
            rows = self._connection.execute(
                "SELECT centipawns, mate, moves, depth FROM line WHERE engine = ? AND nodes = ?"
                " AND lines = ? AND epd = ? ORDER BY rank", (engine, nodes, lines, question.epd)
            ).fetchall()  # fmt: skip
        if not rows:
            return None
        board = question.board()
        found = tuple(_line(board, *row[:3]) for row in rows[: question.lines])
        return Answer(found, rows[0][3])

    def _find(self, sql: str, *values: object) -> Any:
        """The first row, or None."""
        with _told():
            return self._connection.execute(sql, values).fetchone()

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._connection.execute("ROLLBACK")
            raise
        self._connection.execute("COMMIT")


def _path(files: BookletFiles) -> Path:
    """The file's path; raises StoreFault where that leads out of the booklet."""
    path = files.inside(STORE_FILE)
    journal = files.inside(f"{STORE_FILE}-journal")
    if path is None or journal is None or path.parent != files.folder / FOLDER:
        raise StoreFault(f"{STORE_FILE} leads out of its place in the booklet")
    if path.exists() and not path.is_file():
        raise StoreFault(f"{STORE_FILE} is not a file")
    if journal.exists() and _names_another(journal):
        raise StoreFault(f"{STORE_FILE}-journal was not written here")
    return path


def _names_another(journal: Path) -> bool:
    try:
        with journal.open("rb") as file:
            file.seek(0, 2)
            file.seek(max(0, file.tell() - len(_SUPER_JOURNAL)))
            return file.read() == _SUPER_JOURNAL
    except OSError as error:
        raise StoreFault(f"{STORE_FILE}-journal can't be read: {error.strerror}") from None


def _check(connection: sqlite3.Connection, writing: bool) -> None:
    """Raises StoreFault unless the file is one of ours and whole; makes an empty one ours."""
    tables = {
        sql for (sql,) in connection.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL")
    }
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if not tables and version == 0:
        if writing:
            _make(connection)
            return
        raise StoreFault(f"{STORE_FILE} is empty")
    if version > VERSION:
        raise StoreFault(f"{STORE_FILE} was written by a newer version of this program")
    if tables != set(_TABLES) or version != VERSION:
        raise StoreFault(f"{STORE_FILE} is somebody else's file, not kept answers")
    (state,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    if state != "ok":
        raise StoreFault(f"{STORE_FILE} is damaged")


def _make(connection: sqlite3.Connection) -> None:
    connection.execute("BEGIN IMMEDIATE")
    for sql in _TABLES:
        connection.execute(sql)
    connection.execute(f"PRAGMA user_version = {VERSION}")
    connection.execute("COMMIT")


@contextmanager
def _told() -> Iterator[None]:
    """SQLite's errors, and the file system's, as StoreFault."""
    try:
        yield
    except sqlite3.Error as error:
        raise StoreFault(f"{STORE_FILE} can't be used: {error}") from None
    except OSError as error:
        raise StoreFault(f"{STORE_FILE} can't be used: {error.strerror}") from None


def _line(board: chess.Board, centipawns: object, mate: object, moves: object) -> FoundLine:
    """A kept line. Raises StoreFault where it is none in this position."""
    try:
        if not isinstance(centipawns, int) or not isinstance(mate, int | None):
            raise ValueError
        board = board.copy(stack=False)
        found = tuple(board.push_uci(move) for move in str(moves).split())
        if not found or not all(found):
            raise ValueError
    except ValueError:
        raise StoreFault(f"{STORE_FILE} holds an answer that is none") from None
    return FoundLine(found, Score(centipawns, mate))
