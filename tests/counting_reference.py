"""Games counted with the rules library's own PGN reader (`chess.pgn`), the plain way."""

from __future__ import annotations

from collections import Counter
from typing import TextIO

import chess
import chess.pgn

from builder.counting.follow import Wanted
from builder.model import PositionKey, position_key
from builder.model.counts import GameCounts

RESULTS = ("1-0", "1/2-1/2", "0-1", "*")
# Games by position, move (None: they ended there) and result.
Counts = Counter[tuple[PositionKey, chess.Move | None, str]]


class _Visitor(chess.pgn.BaseVisitor[bool]):
    """Notes the wanted positions of a game's main line, each with the move played there first."""

    def __init__(self, wanted: frozenset[PositionKey], plies: int, counts: Counts) -> None:
        self.wanted, self.plies, self.counts = wanted, plies, counts
        self.result_tag, self.ended_with = "*", "*"
        self.seen: dict[PositionKey, chess.Move | None] = {}
        self.last: chess.Board | None = None
        self.over = False

    def visit_header(self, tagname: str, tagvalue: str) -> None:
        if tagname == "Result":
            self.result_tag = tagvalue

    def visit_result(self, result: str) -> None:
        self.ended_with = result

    def begin_variation(self) -> chess.pgn.SkipType:
        return chess.pgn.SKIP

    def begin_parse_san(self, board: chess.Board, san: str) -> chess.pgn.SkipType | None:
        if self.over or board.ply() > self.plies:
            self.over = True
            return chess.pgn.SKIP
        return None

    def visit_move(self, board: chess.Board, move: chess.Move) -> None:
        key = position_key(board)
        if key in self.wanted and self.seen.get(key) is None:
            self.seen[key] = move

    def visit_board(self, board: chess.Board) -> None:
        self.last = board

    def handle_error(self, error: Exception) -> None:
        """The rest of the main line is passed over by the reader."""

    def result(self) -> bool:
        if not self.over and self.last is not None and self.last.ply() <= self.plies:
            key = position_key(self.last)
            if key in self.wanted:
                self.seen.setdefault(key, None)
        result = self.result_tag if self.result_tag in RESULTS[:3] else self.ended_with
        for key, move in self.seen.items():
            self.counts[key, move, result] += 1
        return True



def plain_counts(file: TextIO, wanted: Wanted) -> tuple[int, Counts]:
    """How many games there are, and what they count."""
    games, counts, keys = 0, Counts(), frozenset(wanted.keys)
    while chess.pgn.read_game(file, Visitor=lambda: _Visitor(keys, wanted.plies, counts)):
        games += 1
    return games, counts


def as_plain(counts: GameCounts) -> Counts:
    """Our counts in that form."""
    found = Counts()
    for key, tally in counts.by_position.items():
        for move, results in ((None, tally.ended), *tally.moves.items()):
            numbers = (results.white, results.draws, results.black, results.unknown)
            for result, number in zip(RESULTS, numbers, strict=True):
                if number:
                    found[key, move, result] = number
    return found
