"""A game's tokens and a chapter's notes on it, woven into one stream.

In: the tokens of a game's file, and tokens of the chapter that are to stand behind some of its main
moves. Out: all of them in order, or a part of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from builder.faults import Faults
from builder.place import Place
from builder.source.syntax import (
    CloseToken, MoveItem, MoveToken, NagToken, NumberToken, OpenToken,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class At:
    """A move of the game as the author tells it."""

    number: int
    white: bool
    place: Place

    @property
    def text(self) -> str:
        return f"{self.number}{'.' if self.white else '...'}"

    def index(self, first_ply: int) -> int:
        """Which of the game's moves it is, counted from 0, where `first_ply` half-moves are
        before the first."""
        return 2 * (self.number - 1) + (not self.white) - first_ply


class Weaver:
    """A game's tokens, and what is to stand behind its main moves."""

    def __init__(self, items: tuple[MoveItem, ...], first_ply: int, faults: Faults) -> None:
        self._items = items
        self.first_ply = first_ply
        self.faults = faults
        self.moves = list(_main_moves(items))
        self.added: dict[int, list[MoveItem]] = {}

    def index(self, at: At) -> int | None:
        """Which of the main moves it is; None after an error."""
        index = at.index(self.first_ply)
        if 0 <= index < len(self.moves):
            return index
        ply = self.first_ply + max(0, len(self.moves) - 1)
        last = f"{ply // 2 + 1}{'...' if ply % 2 else '.'}"
        self.faults.error("game-number", at.place, f"this game has no move {at.text}",
                          f"its last is {last}{self._text(len(self.moves) - 1)}")  # fmt: skip
        return None

    def put(self, at: At, *tokens: MoveItem) -> None:
        index = self.index(at)
        if index is not None:
            self.added.setdefault(index, []).extend(tokens)

    def put_notes(self, notes: tuple[MoveItem, ...]) -> None:
        """The body's notes, each at the move whose number stands before it."""
        index: int | None = None
        lost, depth, numbered = False, 0, False
        for item in notes:
            if isinstance(item, NumberToken) and depth == 0:
                at = At(item.number, item.dots < 3, item.place)
                index = self.index(at) if item.number else None
                lost, numbered = index is None, True
                continue
            if isinstance(item, MoveToken) and depth == 0 and not lost:
                if not numbered and index is not None:
                    index += 1
                numbered = False
                if index is not None:
                    lost = not self._is_game_move(index, item)
                    continue
            numbered = numbered and depth > 0
            depth += isinstance(item, OpenToken)
            if index is not None and not lost:
                self.added.setdefault(index, []).append(item)
            elif not lost:
                self.faults.error("game-note", item.place, "it isn't told which move this belongs to",
                                  "write the move's number in front: 12... { … }")  # fmt: skip
                lost = True
            depth -= isinstance(item, CloseToken)

    def _is_game_move(self, index: int, written: MoveToken) -> bool:
        there = self._text(index)
        if _bare(written.text) == _bare(there):
            return True
        self.faults.error("game-note", written.place,
                          f"the game's move here is {there}" if there else "the game has ended here",
                          "write the game's move, or its number alone")  # fmt: skip
        return False

    def _text(self, index: int) -> str:
        item = self._items[self.moves[index]] if 0 <= index < len(self.moves) else None
        return item.text if isinstance(item, MoveToken) else ""

    def items(self, begins: int | None, ends: int | None) -> tuple[MoveItem, ...]:
        """All of it woven: before the main move `begins` only the moves, behind `ends` nothing."""
        first = self.moves[begins] if begins is not None else 0
        last = len(self._items) if ends is None or ends + 1 >= len(self.moves) else self.moves[ends + 1]
        number_of = {at: number for number, at in enumerate(self.moves)}
        out: list[MoveItem] = []
        waiting: list[MoveItem] = []
        for at, item in enumerate(self._items[:last]):
            if at < first:
                if at in number_of:
                    out.append(item)
                continue
            if waiting and not isinstance(item, NagToken):
                out += waiting
                waiting = []
            out.append(item)
            if at in number_of:
                waiting = self.added.get(number_of[at], [])
        return (*out, *waiting)


def _main_moves(items: tuple[MoveItem, ...]) -> Iterator[int]:
    """Where the moves outside all variations stand."""
    depth = 0
    for index, item in enumerate(items):
        depth += isinstance(item, OpenToken) - isinstance(item, CloseToken)
        if isinstance(item, MoveToken) and depth == 0:
            yield index


def _bare(san: str) -> str:
    return re.sub(r"[+#=x:!?]", "", san).replace("0", "O")
