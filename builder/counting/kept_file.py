"""Counts that travel with a booklet in place of a file that is too large to: `games/NAME.counts`.

Front matter tells what was counted; then comes CSV (RFC 4180) with a row for each position and move,
and one without a move for each position, for the games that ended there. It is text and sorted, so
that it can lie under version control, and the same counts are the same bytes.
"""

from __future__ import annotations

import csv
import io
import json
import re
import tomllib
from collections.abc import Mapping

import chess

from builder.counting.store import Kept
from builder.faults import Faults
from builder.model import Ply, PositionKey
from builder.model.counts import Results, Tally
from builder.own_file import Kind, beginning
from builder.place import Place, file_place
from builder.source.files import BookletFiles

SUFFIX = ".counts"
HEAD = "position,move,white,draws,black,unknown\n"
_FENCE = "+++\n"
COUNTS = Kind(beginning(lambda head: HEAD.encode() in head), "this holds no counts of ours", "")
_FRONT = re.compile(r"\+\+\+\n(.*?)^\+\+\+\n", re.S | re.M)


def epds(reached: Mapping[PositionKey, tuple[Ply, ...]]) -> dict[PositionKey, str]:
    """The positions in front of and behind the booklet's moves, as the file writes them (EPD)."""
    found: dict[PositionKey, str] = {}
    for plies in reached.values():
        for ply in plies:
            for position in (ply.before, ply.after):
                if position.key not in found:
                    found[position.key] = position.epd
    return found


def counts_text(file: str, kept: Kept, plies: int, names: Mapping[PositionKey, str]) -> str:
    """A file's counts as text; `names` are the positions' EPDs."""
    out = io.StringIO()
    out.write(f"{_FENCE}file   = {json.dumps(file, ensure_ascii=False)}\ngames  = {kept.games}\n"
              f"latest = {json.dumps(kept.latest)}\nplies  = {plies}\n{_FENCE}{HEAD}")  # fmt: skip
    rows = csv.writer(out, lineterminator="\n")
    for epd, key in sorted((names[key], key) for key in kept.tallies):
        tally = kept.tallies[key]
        moves = sorted((move.uci(), results) for move, results in tally.moves.items())
        for move, one in (("", tally.ended), *moves):
            rows.writerow((epd, move, one.white, one.draws, one.black, one.unknown))
    return out.getvalue()


def read_counts(name: str, files: BookletFiles, names: Mapping[PositionKey, str], plies: int,
                faults: Faults) -> tuple[str, Kept] | None:  # fmt: skip
    """The file that was counted, and what it says of the booklet's positions; None, and an error,
    where the text is no counts. What the booklet has and the text hasn't is a warning."""
    source = files.read(name, faults)
    if source is None:
        return None
    try:
        file, kept, counted_plies = _read(source.text, {epd: key for key, epd in names.items()})
    except _Wrong as wrong:
        line = wrong.line
        faults.error("counts-file", Place(name, line, 1, 2), f"these are no counts: {wrong}",
                     "plyleaf count --keep writes them")  # fmt: skip
        return None
    missing = len(names.keys() - kept.tallies.keys())
    if missing or counted_plies != plies:
        what = f"{missing:,} of the booklet's positions were" if missing else "the longest lines were"
        faults.warning("counts-old", file_place(name), f"{what} not counted in {file}",
                       f"count again: plyleaf count FOLDER {file} --keep")  # fmt: skip
    return file, kept


class _Wrong(Exception):
    def __init__(self, line: int, words: str) -> None:
        super().__init__(words)
        self.line = line


def _read(text: str, keys: Mapping[str, PositionKey]) -> tuple[str, Kept, int]:
    front = _FRONT.match(text)
    if front is None or not text.startswith(HEAD, front.end()):
        raise _Wrong(1, "the beginning is missing")
    try:
        told = tomllib.loads(front.group(1))
        file, games, latest, plies = (told[name] for name in ("file", "games", "latest", "plies"))
        if (type(file), type(games), type(latest), type(plies)) != (str, int, str, int):
            raise ValueError("a value has the wrong type")
    except (tomllib.TOMLDecodeError, KeyError, ValueError) as error:
        raise _Wrong(2, f"the front matter: {error}") from None
    first = text.count("\n", 0, front.end()) + 2
    return _printable(file), Kept(games, latest, 0, (), _tallies(text[front.end() + len(HEAD) :], first, keys)), plies


def _tallies(text: str, first: int, keys: Mapping[str, PositionKey]) -> dict[PositionKey, Tally]:
    moves: dict[PositionKey, dict[chess.Move, Results]] = {}
    ended: dict[PositionKey, Results] = {}
    for line, row in enumerate(csv.reader(text.splitlines()), start=first):
        if len(row) != 6 or not all(cell.isascii() and cell.isdigit() and len(cell) < 12 for cell in row[2:]):
            raise _Wrong(line, "a row has a position, a move and four numbers")
        key = keys.get(row[0])
        if key is None:
            continue  # of the booklet as it was
        results = Results(*map(int, row[2:]))
        if not row[1]:
            ended[key] = results
            continue
        try:
            moves.setdefault(key, {})[chess.Move.from_uci(row[1])] = results
        except ValueError:
            raise _Wrong(line, f"{row[1][:20]} is no move") from None
    return {key: Tally(moves.get(key, {}), results) for key, results in ended.items()}


def _printable(text: str) -> str:
    return "".join(char for char in text[:200] if char.isprintable())
