"""The engine's answers, kept in one SQLite file of the booklet.

`.plyleaf/engine.sqlite` holds every answer by engine (its name and options), nodes, number of
lines and position (EPD). Each is committed by itself, so that an interrupted run loses none.
"""

from __future__ import annotations

import sqlite3
from typing import Any

import chess

from builder.proof.engine_answers import Answer, FoundLine, Question, Score
from builder.source.files import BookletFiles
from builder.source.kept import FOLDER, KeptFile, StoreFault, transaction

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
_FILE = KeptFile(STORE_FILE, _TABLES, VERSION, "kept answers")


class Store:
    """The open file. Use it as a context. Every method may raise StoreFault."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    @staticmethod
    def open(files: BookletFiles, writing: bool) -> Store | None:
        """The booklet's answers; when only reading, None where none are kept."""
        connection = _FILE.open(files, writing)
        return Store(connection) if connection is not None else None

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()

    def engine(self, command: str, name: str, options: str) -> int:
        """The number of an engine, a new one where it is new; the command leads to it from now."""
        found = self._find("SELECT id FROM engine WHERE name = ? AND options = ?", name, options)
        if found and found == self._find("SELECT engine FROM command WHERE command = ?", command):
            return found[0]
        with _FILE.told(), transaction(self._connection):
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
        with _FILE.told(), transaction(self._connection):
            self._connection.executemany(
                "REPLACE INTO line VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", rows
            )

    def count(self) -> int:
        """How many answers are kept."""
        found = self._find("SELECT count(*) FROM line WHERE rank = 0")
        return found[0] if found else 0

    def _answer(self, engine: int, nodes: int, lines: int, question: Question) -> Answer | None:
        with _FILE.told():
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
        with _FILE.told():
            return self._connection.execute(sql, values).fetchone()


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
