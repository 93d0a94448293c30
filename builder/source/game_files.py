"""The PGN files that chapters cite games from.

In: a file's name and which of its games is meant. Out: that game as its file has it. Each file
is read once, as a whole and in bounded memory: a file of games to cite is a small one, other than
one of games to count.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from io import BytesIO

from builder.faults import Faults, Severity, did_you_mean
from builder.pgn.games import RawGame, read_games
from builder.pgn.lines import LineReader
from builder.pgn.tell import Teller
from builder.place import Place, Source
from builder.source.files import BookletFiles

MOST_LISTED = 6  # games named in a hint


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which game of a file: its number, or words (its players, round or date), or the only one."""

    file: str
    number: int | None
    words: str | None
    place: Place


@dataclass(frozen=True, slots=True)
class _Read:
    """A file's games, with what was told of them while they were read."""

    games: tuple[RawGame, ...]
    faults: Faults


@dataclass(slots=True)
class GameFiles:
    """The files read so far; None for one that can't be read (a fault was told)."""

    files: BookletFiles
    _known: dict[str, _Read | None] = field(default_factory=dict)

    def game(self, wanted: Wanted, faults: Faults) -> RawGame | None:
        """The game that is wanted; None after an error at the place where it was asked for."""
        if wanted.file not in self._known:
            self._known[wanted.file] = self._read(wanted, faults)
        read = self._known[wanted.file]
        if read is None:
            return None
        found = _choose(wanted, read.games, faults)
        if found is not None:
            _tell_again(read, found, faults)
        return found

    def _read(self, wanted: Wanted, faults: Faults) -> _Read | None:
        if not wanted.file.lower().endswith(".pgn"):
            faults.error("game-file", wanted.place, f"{wanted.file} is no PGN file",
                         "games stand in files whose names end in .pgn")  # fmt: skip
            return None
        data = self.files.read_bytes(wanted.file, faults, wanted.place)
        if data is None:
            return None
        told = Faults()
        tell = Teller(wanted.file, told)
        lines = list(LineReader(BytesIO(data), tell).lines())
        if tell.errors:  # It is no text at all.
            for fault in told.sorted():
                faults.error(fault.code, wanted.place, f"{wanted.file}: {fault.message}",
                             fault.hint)  # fmt: skip
            return None
        text = "".join(line.text + "\n" * line.ends for line in lines)
        faults.add_source(Source(wanted.file, text))
        told.add_source(Source(wanted.file, text))
        return _Read(tuple(read_games(lines, tell)), told)


def _choose(wanted: Wanted, games: tuple[RawGame, ...], faults: Faults) -> RawGame | None:
    if not games:
        faults.error("game-unknown", wanted.place, f"{wanted.file} holds no games")
        return None
    if wanted.number is not None:
        if 1 <= wanted.number <= len(games):
            return games[wanted.number - 1]
        count = "one game" if len(games) == 1 else f"{len(games)} games"
        faults.error("game-unknown", wanted.place,
                     f"{wanted.file} holds {count}, so there is no game {wanted.number}",
                     _listed(games))  # fmt: skip
        return None
    found = [game for game in games if wanted.words is None or _is_meant(game, wanted.words)]
    if len(found) == 1:
        return found[0]
    if not found:
        near = did_you_mean(wanted.words or "", [_players(game) for game in games])
        faults.error("game-unknown", wanted.place,
                     f"{wanted.file} holds no game {wanted.words}",
                     near or "games are known by number, players, round or date")  # fmt: skip
    else:
        which = "" if wanted.words is None else f" that are {wanted.words}"
        faults.error("game-ambiguous", wanted.place,
                     f"{wanted.file} holds {len(found)} games{which}",
                     f"write {wanted.file}#{found[0].number}: " + _listed(found))  # fmt: skip
    return None


def _is_meant(game: RawGame, words: str) -> bool:
    """Players as `White – Black`, the Round tag, or the Date tag, also with hyphens."""
    asked = _plain(words)
    dates = (game.tag("Date"), game.tag("Date").replace(".", "-"))
    return asked != "" and asked in {_plain(text) for text in (
        _players(game), game.tag("Round"), f"Round {game.tag('Round')}", *dates
    )}  # fmt: skip


def _plain(text: str) -> str:
    """For comparing: dashes of all kinds alike, spaces round them and case left out."""
    return re.sub(r"\s*[-\u2010-\u2015\u2212]+\s*", "-", " ".join(text.casefold().split()))


def _players(game: RawGame) -> str:
    return f"{game.tag('White') or '?'} – {game.tag('Black') or '?'}"


def _listed(games: list[RawGame] | tuple[RawGame, ...]) -> str:
    shown = "   ".join(f"{game.number} {_players(game)}" for game in games[:MOST_LISTED])
    return shown + ("   …" if len(games) > MOST_LISTED else "")


def _tell_again(read: _Read, game: RawGame, faults: Faults) -> None:
    """What was told of the chosen game while its file was read; the others are no matter."""
    last = game.movetext.first_line + game.movetext.text.count("\n")
    tell = {Severity.ERROR: faults.error, Severity.WARNING: faults.warning,
            Severity.NOTICE: faults.notice}  # fmt: skip
    for fault in read.faults.sorted():
        if game.place.line <= fault.place.line <= last:
            tell[fault.severity](fault.code, fault.place, fault.message, fault.hint)
