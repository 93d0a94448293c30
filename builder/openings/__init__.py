"""Names and ECO codes of openings, by position.

The data are those of OCN, the Open Chess Naming of the Club d'Escacs Figueres
(https://github.com/escacsfigueres/ocn, CC BY 4.0; see LICENSE.txt), as PyPI `ocn-chess` 1.2.1 brings
them, made small by `make_data.py`: a line for each position with what identifies it, code and name.
"""

from __future__ import annotations

import struct
from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, field
from hashlib import blake2b
from pathlib import Path

import chess

from builder.model import Line, Opening, PositionKey

DATA = Path(__file__).parent / "openings.tsv"
_KEY = struct.Struct("<10Q")


def digest(key: PositionKey) -> str:
    """What identifies a position in the data."""
    return blake2b(_KEY.pack(*key), digest_size=8).hexdigest()


@dataclass(frozen=True, slots=True)
class Openings:
    """The data as they are in the file, in which a booklet looks up a few dozen positions only."""

    lines: list[bytes] = field(repr=False)  # sorted by the digests that they begin with

    @staticmethod
    def read() -> Openings:
        return Openings(DATA.read_bytes().splitlines())

    def at(self, key: PositionKey) -> Opening | None:
        """What a position is called, None where it has no name."""
        wanted = digest(key).encode()
        row = bisect_left(self.lines, wanted)
        if row == len(self.lines) or not self.lines[row].startswith(wanted):
            return None
        _, code, name = self.lines[row].decode().split("\t")
        return Opening(code, name)

    def of(self, chapters_lines: Iterable[Line]) -> Opening | None:
        """What all of these lines have in common: the last name on the way that their main moves share
        from the initial position, by whatever order of moves they come to it."""
        ways = [_way(line) for line in chapters_lines]
        ways = [way for way in ways if way]
        shared = set(ways[0]).intersection(*ways[1:]) if ways else set()
        named = (self.at(key) for key in reversed(ways[0] if ways else []) if key in shared)
        return next((opening for opening in named if opening), None)


def _way(line: Line) -> list[PositionKey]:
    """The positions of a line's main moves, and of those that lead to it; none where it begins
    elsewhere than a game does."""
    main = line.main_plies()
    path = main[-1].path() if main else line.start_ply.path() if line.start_ply else ()
    if not path or path[0].before.fen != chess.STARTING_FEN:
        return []
    return [ply.after.key for ply in path]
