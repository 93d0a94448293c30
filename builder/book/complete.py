"""What can only be known when all lines are played: games' partings, opening tables, and how often
moves are played.

In: chapters. Out: the same chapters with these blocks filled in, wherever they stand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from builder.book.opening_tables import booklet_columns, line_columns
from builder.book.partings import Taught, parted
from builder.book.played import PlayedBlocks
from builder.faults import Faults, did_you_mean
from builder.model import (
    Block, Chapter, Footnote, Game, GameCounts, ItemList, OpeningTable, Played, Ply, PositionKey, Quote,
)  # fmt: skip


def complete(chapters: tuple[Chapter, ...], reached: Mapping[PositionKey, tuple[Ply, ...]],
             counts: GameCounts, faults: Faults) -> tuple[Chapter, ...]:  # fmt: skip
    """`counts` are what the booklet's games say."""
    taught = Taught.of(chapters, reached)
    filled = PlayedBlocks(reached, counts, faults)
    return tuple(_Completer(chapter, chapters, taught, filled, faults).chapter_of()
                 for chapter in chapters)  # fmt: skip


class _Completer:
    """Fills one chapter."""

    def __init__(self, chapter: Chapter, chapters: tuple[Chapter, ...], taught: Taught,
                 played: PlayedBlocks, faults: Faults) -> None:  # fmt: skip
        self.chapter = chapter
        self.chapters = chapters
        self.played = played
        self.faults = faults
        self.games = {game.anchor: parted(game, taught) for game in chapter.games}

    def chapter_of(self) -> Chapter:
        return replace(
            self.chapter,
            blocks=self._blocks(self.chapter.blocks),
            footnotes=tuple(
                Footnote(note.number, self._blocks(note.blocks)) for note in self.chapter.footnotes
            ),
            games=tuple(self.games.values()),
        )

    def _blocks(self, blocks: tuple[Block, ...]) -> tuple[Block, ...]:
        return tuple(self._block(block) for block in blocks)

    def _block(self, block: Block) -> Block:
        match block:
            case Game():
                return self.games[block.anchor]
            case OpeningTable():
                return self._table(block)
            case Played():
                return self.played.filled(block)
            case Quote():
                return Quote(self._blocks(block.blocks))
            case ItemList():
                return replace(block, items=tuple(self._blocks(item) for item in block.items))
        return block

    def _table(self, table: OpeningTable) -> OpeningTable:
        if table.of is None:
            columns = booklet_columns(self.chapters)
            if not columns:
                self.faults.error("table-empty", table.place,
                                  "no line of the booklet begins with the game's first move",
                                  "write table and a line's name")  # fmt: skip
            return replace(table, columns=columns)
        lines = {line.given_id: line for line in self.chapter.lines
                 if line.kind == "line" and line.given_id}  # fmt: skip
        line = lines.get(table.of)
        if line is None:
            self.faults.error("line-unknown", table.place,
                              f"this chapter has no line named {table.of}",
                              did_you_mean(table.of, lines)
                              or ("lines: " + ", ".join(lines) if lines else ""))  # fmt: skip
            return table
        columns = line_columns(line, self.chapters)
        if not columns:
            self.faults.error("table-empty", table.place,
                              f"the line {table.of} has no moves, so it can't be a table")
        elif len(columns) == 1 and not columns[0].notes:
            self.faults.warning("table-plain", table.place,
                                f"the line {table.of} has no variations: its table has one column",
                                "a table compares the ways that a line branches into")  # fmt: skip
        return replace(table, columns=columns)
