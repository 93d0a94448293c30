"""Whole games counted by position, so far as the booklet covers them.

In: PGN files of the booklet's games/ folder and the positions to count. Out: for each position
how often it stood in a game, and which moves were played there. Positions are counted, not move
orders, so that transpositions count.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TextIO

import chess
import chess.pgn

from builder.faults import Faults
from builder.model import Booklet, PositionKey, position_key
from builder.place import Place
from builder.source.files import BookletFiles


@dataclass(slots=True)
class Tally:
    """Games that had a position, and for each move how many went on with it.

    A game counts once for a position, by the move it played there first.
    """

    games: int = 0
    moves: dict[chess.Move, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GameCounts:
    """`games` counts all games read; `by_position` holds those positions that any had."""

    games: int
    by_position: dict[PositionKey, Tally]

    def at(self, key: PositionKey) -> Tally:
        return self.by_position.get(key, Tally())


def game_files(files: BookletFiles) -> tuple[str, ...]:
    """The PGN files of games/, in file-name order, relative to the booklet."""
    folder = files.inside("games")
    if folder is None or not folder.is_dir():
        return ()
    return tuple(
        f"games/{entry.name}" for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
        if entry.suffix.lower() == ".pgn" and files.inside(f"games/{entry.name}") is not None
    )  # fmt: skip


def booklet_positions(booklet: Booklet) -> tuple[set[PositionKey], int]:
    """The positions in front of and behind every move of the booklet, and the latest of their
    ply numbers."""
    keys: set[PositionKey] = set()
    last = 0
    for plies in booklet.reached.values():
        for ply in plies:
            keys.add(ply.before.key)
            keys.add(ply.after.key)
            last = max(last, ply.after.ply_number)
    return keys, last


def count_games(
    files: BookletFiles,
    keys: set[PositionKey],
    last_ply: int,
    faults: Faults,
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> GameCounts:
    """Counts the booklet's games at the positions `keys`, up to the ply number `last_ply`.

    `progress` is called with bytes read and bytes in all. A game with a move that can't be read
    counts as far as it could be read, with a warning at its line.
    """
    names = game_files(files)
    paths = [path for name in names if (path := files.inside(name)) is not None]
    total = sum(path.stat().st_size for path in paths)
    counter = _Counter(keys, last_ply)
    done = 0
    for name, path in zip(names, paths):
        with _open(path) as raw:
            text = _Lines(raw)
            while chess.pgn.read_game(text, Visitor=lambda: _Follower(counter)):
                counter.end_game()
                if counter.slip:
                    faults.warning("game-move", Place(name, text.line, 1, 2),
                                   f"this game stops being readable: {counter.slip}")  # fmt: skip
                    counter.slip = ""
                progress(done + text.bytes, total)
        done += path.stat().st_size
    return GameCounts(counter.games, counter.tallies)


def _open(path: Path) -> TextIO:
    """UTF-8 if the file is; else Latin-1, which is what the PGN standard (section 4.1) says."""
    try:
        with path.open(encoding="utf-8") as trial:
            for _ in iter(lambda: trial.read(1 << 20), ""):
                pass
        return path.open(encoding="utf-8-sig")
    except UnicodeDecodeError:
        return path.open(encoding="latin-1")


class _Lines(io.TextIOBase):
    """A text file that knows how far it was read."""

    def __init__(self, raw: TextIO) -> None:
        self._raw = raw
        self.line = 0
        self.bytes = 0

    def readline(self, size: int = -1) -> str:  # type: ignore[override]
        text = self._raw.readline(size)
        self.line += 1
        self.bytes += len(text)
        return text


class _Counter:
    """What has been counted, and the state of the game being read."""

    def __init__(self, keys: set[PositionKey], last_ply: int) -> None:
        self.keys = keys
        self.pawns = {key[0] for key in keys}
        self.last_ply = last_ply
        self.games = 0
        self.tallies: dict[PositionKey, Tally] = {}
        self.slip = ""
        self._seen: dict[PositionKey, chess.Move | None] = {}

    def move(self, board: chess.Board, move: chess.Move) -> None:
        if board.pawns not in self.pawns:
            return  # The key would cost more than the move.
        key = position_key(board)
        if key in self.keys and self._seen.get(key) is None:
            self._seen[key] = move

    def stand(self, board: chess.Board) -> None:
        """A game's last position, from which nothing was played."""
        key = position_key(board)
        if key in self.keys:
            self._seen.setdefault(key, None)

    def end_game(self) -> None:
        self.games += 1
        for key, move in self._seen.items():
            tally = self.tallies.setdefault(key, Tally())
            tally.games += 1
            if move is not None:
                tally.moves[move] = tally.moves.get(move, 0) + 1
        self._seen.clear()


class _Follower(chess.pgn.BaseVisitor[bool]):
    """Follows a game's main moves as far as the booklet could reach."""

    def __init__(self, counter: _Counter) -> None:
        self.counter = counter
        self.stopped = False
        self.last: chess.Board | None = None

    def begin_variation(self) -> chess.pgn.SkipType:
        return chess.pgn.SKIP

    def begin_parse_san(self, board: chess.Board, san: str) -> chess.pgn.SkipType | None:
        if self.stopped or board.ply() > self.counter.last_ply:
            self.stopped = True
            return chess.pgn.SKIP
        return None

    def visit_move(self, board: chess.Board, move: chess.Move) -> None:
        self.counter.move(board, move)

    def visit_board(self, board: chess.Board) -> None:
        if not self.stopped:
            self.last = board

    def handle_error(self, error: Exception) -> None:
        if not self.stopped:
            self._end()
        self.stopped = True
        self.counter.slip = str(error)[:120]

    def result(self) -> bool:
        if not self.stopped:
            self._end()
        return True

    def _end(self) -> None:
        """The game's last position had no move of it."""
        if self.last is not None:
            self.counter.stand(self.last)


def read_counts(booklet: Booklet, files: BookletFiles, faults: Faults,
                progress: Callable[[int, int], None] = lambda done, total: None) -> GameCounts:  # fmt: skip
    """The booklet's own games at the booklet's positions."""
    keys, last = booklet_positions(booklet)
    return count_games(files, keys, last, faults, progress)

