"""Blocks that tell how often moves are played, filled from the booklet's games."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import chess

from builder.faults import Faults
from builder.model import GamesFile, Played, PlayedMove, Ply, PositionKey
from builder.model.counts import NONE, GameCounts, Results


class PlayedBlocks:
    """Fills one block after another."""

    def __init__(self, reached: Mapping[PositionKey, tuple[Ply, ...]],
                 counts: GameCounts, faults: Faults) -> None:  # fmt: skip
        self._reached = reached
        self._counts = counts
        self._faults = faults

    def filled(self, block: Played) -> Played:
        """The block with its numbers; without, and an error, where games tell nothing."""
        counts = self._counts
        tally = counts.at(block.position.key)
        plies = self._plies(block.position.key)
        if not counts.files:
            self._faults.error("played-none", block.place, "the booklet has no games to count",
                               "put PGN files into games/")  # fmt: skip
        elif not plies:
            self._faults.error("played-end", block.place, "the booklet goes on with no move here",
                               "name a position that a line goes on from")  # fmt: skip
        elif not tally.moves:
            self._faults.error("played-none", block.place, "no game goes on from this position",
                               "take the block away, or add games that do")  # fmt: skip
        went_on = sum(tally.moves.values(), NONE).games
        own = [_row(ply, tally.played(move), went_on) for move, ply in plies.items()]
        own.sort(key=lambda row: -row.games)  # else in reading order
        others = sum((one for move, one in tally.moves.items() if move not in plies), NONE)
        rows = (*own, _row(None, others, went_on)) if others.games else tuple(own)
        files = tuple(GamesFile(file.name.rsplit("/", 1)[-1], file.latest) for file in counts.files)
        return replace(block, moves=rows, games=tally.games, files=files)

    def _plies(self, key: PositionKey) -> dict[chess.Move, Ply]:
        """The booklet's moves at a position, each where it stands first."""
        found: dict[chess.Move, Ply] = {}
        for plies in self._reached.values():
            for ply in plies:
                if ply.before.key == key:
                    found.setdefault(ply.move, ply)
        return found


def _row(ply: Ply | None, results: Results, went_on: int) -> PlayedMove:
    return PlayedMove(ply, results.games, results.games / max(1, went_on), results.score)
