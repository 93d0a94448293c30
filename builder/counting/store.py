"""Counts that are kept, so that a file is counted once: `.plyleaf/games.sqlite`.

Rows are found by what the file holds (its SHA-256) and by how far its games were followed, not by the
file's name or date, and tell for each position what the file says of it. So a booklet that has
changed finds the positions that it still has, and counts again for the others only. The hashes of files
that have lain untouched are there, too, by their stamps (`content.py`).
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Iterable
from dataclasses import dataclass

import chess

from builder.counting.content import Stamp
from builder.counting.follow import Found, Slip, Wanted
from builder.model import PositionKey
from builder.model.counts import Results, Tally
from builder.source.files import BookletFiles
from builder.source.kept import FOLDER, KeptFile, StoreFault, transaction

STORE_FILE = f"{FOLDER}/games.sqlite"
MOST_FILES = 50  # whose counts are kept; of more, those counted longest ago go
_TABLES = (
    "CREATE TABLE file (id INTEGER PRIMARY KEY, hash BLOB NOT NULL, plies INTEGER NOT NULL,"
    " games INTEGER NOT NULL, latest TEXT NOT NULL, unread INTEGER NOT NULL, UNIQUE (hash, plies))",
    "CREATE TABLE slip (file INTEGER NOT NULL, line INTEGER NOT NULL, words TEXT NOT NULL,"
    " PRIMARY KEY (file, line)) WITHOUT ROWID",
    # A row with the move '' for every position, for the games that ended there.
    "CREATE TABLE played (file INTEGER NOT NULL, position BLOB NOT NULL, move TEXT NOT NULL,"
    " white INTEGER NOT NULL, draws INTEGER NOT NULL, black INTEGER NOT NULL,"
    " unknown INTEGER NOT NULL, PRIMARY KEY (file, position, move)) WITHOUT ROWID",
    "CREATE TABLE stamp (stamp TEXT NOT NULL UNIQUE, hash BLOB NOT NULL)",
)
_FILE = KeptFile(STORE_FILE, _TABLES, 2, "kept counts")
_KEY = struct.Struct("<10Q")


@dataclass(frozen=True, slots=True)
class Kept:
    """What is known of a file: its games, and tallies for all positions that were counted, also for
    those that no game had."""

    games: int
    latest: str
    unread: int
    slips: tuple[Slip, ...]
    tallies: dict[PositionKey, Tally]


NOTHING = Kept(0, "", 0, (), {})


def kept_of(found: Found, wanted: Wanted, before: Kept = NOTHING) -> Kept:
    """What was found, with what was known before of other positions of the same file."""
    moves: dict[int, dict[chess.Move | None, list[int]]] = {}
    for (number, move, result), games in found.counts.items():
        moves.setdefault(number, {}).setdefault(move, [0, 0, 0, 0])[result] = games
    tallies = dict(before.tallies)
    for number, key in enumerate(wanted.keys):
        played = {move: Results(*counts) for move, counts in moves.get(number, {}).items()}
        ended = played.pop(None, Results())
        tallies[key] = Tally(played, ended)
    slips = sorted({*before.slips, *found.slips}, key=lambda slip: (slip.line, slip.words))
    return Kept(found.games, found.latest, max(found.unread, before.unread), tuple(slips), tallies)


class Store:
    """The open file. Every method may raise StoreFault."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    @staticmethod
    def open(files: BookletFiles) -> Store:
        connection = _FILE.open(files, writing=True)
        assert connection is not None  # it was made
        return Store(connection)

    def close(self) -> None:
        self._connection.close()

    def content(self, stamp: Stamp) -> bytes | None:
        """The hash of the file that bore a stamp; None where that was not remembered."""
        with _FILE.told():
            row = self._connection.execute("SELECT hash FROM stamp WHERE stamp = ?",
                                           (str(stamp),)).fetchone()  # fmt: skip
        if row is not None and not isinstance(row[0], bytes):
            raise StoreFault(f"{STORE_FILE} holds a hash that is none")
        return row[0] if row else None

    def remember(self, stamp: Stamp, content: bytes) -> None:
        run = self._connection.execute
        with _FILE.told(), transaction(self._connection):
            run("REPLACE INTO stamp VALUES (?, ?)", (str(stamp), content))
            run("DELETE FROM stamp WHERE rowid NOT IN"
                " (SELECT rowid FROM stamp ORDER BY rowid DESC LIMIT ?)", (MOST_FILES,))  # fmt: skip

    def find(self, content: bytes, plies: int, keys: Iterable[PositionKey]) -> Kept:
        """What is kept of a file for these positions; positions not counted yet are left out."""
        with _FILE.told():
            row = self._connection.execute(
                "SELECT id, games, latest, unread FROM file WHERE hash = ? AND plies = ?",
                (content, plies),
            ).fetchone()
            if row is None:
                return NOTHING
            ident, games, latest, unread = row
            slips = self._connection.execute(
                "SELECT line, words FROM slip WHERE file = ? ORDER BY line", (ident,)
            ).fetchall()
            played = self._connection.execute(
                "SELECT position, move, white, draws, black, unknown FROM played WHERE file = ?",
                (ident,),
            )
            tallies = _tallies(played, {_KEY.pack(*key): key for key in keys})
        return Kept(games, latest, unread, tuple(Slip(*slip) for slip in slips), tallies)

    def keep(self, content: bytes, plies: int, kept: Kept) -> None:
        """Keeps what is known of a file, in place of what was."""
        run = self._connection.execute
        with _FILE.told(), transaction(self._connection):
            self._forget("SELECT id FROM file WHERE hash = ? AND plies = ?", content, plies)
            (ident,) = run("INSERT INTO file (hash, plies, games, latest, unread) VALUES (?, ?, ?, ?, ?)"
                           " RETURNING id",
                           (content, plies, kept.games, kept.latest, kept.unread)).fetchone()  # fmt: skip
            self._connection.executemany(
                "REPLACE INTO slip VALUES (?, ?, ?)",
                [(ident, slip.line, slip.words) for slip in kept.slips],
            )
            self._connection.executemany(
                "INSERT INTO played VALUES (?, ?, ?, ?, ?, ?, ?)",
                [(ident, _KEY.pack(*key), *row) for key, tally in kept.tallies.items()
                 for row in _rows(tally)],
            )  # fmt: skip
            self._forget("SELECT id FROM file ORDER BY id DESC LIMIT -1 OFFSET ?", MOST_FILES)

    def _forget(self, which: str, *values: object) -> None:
        for (ident,) in self._connection.execute(which, values).fetchall():
            for sql in ("DELETE FROM played WHERE file = ?", "DELETE FROM slip WHERE file = ?",
                        "DELETE FROM file WHERE id = ?"):  # fmt: skip
                self._connection.execute(sql, (ident,))


def _rows(tally: Tally) -> list[tuple]:
    pairs = [("", tally.ended), *((move.uci(), results) for move, results in tally.moves.items())]
    return [(move, one.white, one.draws, one.black, one.unknown) for move, one in pairs]


def _tallies(rows: Iterable[tuple], wanted: dict[bytes, PositionKey]) -> dict[PositionKey, Tally]:
    """Rows as tallies. Raises StoreFault where a row is none of ours."""
    moves: dict[PositionKey, dict[chess.Move, Results]] = {}
    ended: dict[PositionKey, Results] = {}
    known: dict[str, chess.Move] = {}  # the same few moves stand in most rows
    for packed, move, *numbers in rows:
        key = wanted.get(packed)
        if key is None:
            continue
        if {*map(type, numbers)} != {int} or min(numbers) < 0:
            raise StoreFault(f"{STORE_FILE} holds counts that are none")
        results = Results(*numbers)
        if not move:
            ended[key] = results
            continue
        if move not in known:
            known[move] = _move(move)
        moves.setdefault(key, {})[known[move]] = results
    return {key: Tally(moves.get(key, {}), results) for key, results in ended.items()}


def _move(uci: object) -> chess.Move:
    try:
        return chess.Move.from_uci(str(uci))
    except ValueError:
        raise StoreFault(f"{STORE_FILE} holds a move that is none") from None
