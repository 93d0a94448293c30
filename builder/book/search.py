"""Where moves in the prose belong.

In: moves as written, and what the chapter has played so far. Out: the plies that they name,
new ones included, or an error. The order of looking is the contract's: the current line, its
variations, the chapter's earlier lines, newest first. Two rules of our own stand beside it, and
the author's guide tells them: moves that stand nowhere yet go on from the position in force
where their number fits, and inside a line's comment the moves that lead to the comment come
first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import chess

from builder.model import Ply, Position, PositionKey
from builder.source.syntax import MoveToken, NumberToken


@dataclass(frozen=True, slots=True)
class At:
    """A position of the chapter, and the move that reached it (None: a start)."""

    position: Position
    ply: Ply | None


@dataclass(slots=True)
class KnownLine:
    """A line that the search may look into. `branches` are the plies of its variations, and of the
    side-lines of the prose that leave it."""

    anchor: str
    given_id: str | None
    start: At
    main: list[Ply]
    branches: list[Ply] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Answer:
    """Where the first move is played from, and how much of the moves is there already."""

    at: At
    known: tuple[Ply, ...]
    end: PositionKey

    @property
    def exists(self) -> bool:
        return bool(self.known)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Moves to be found: the first one's number and side, and the SAN of each."""

    number: int
    white: bool
    sans: tuple[str, ...]

    @staticmethod
    def of(items: Iterable[object]) -> Wanted:
        """From tokens that begin with a number and hold at least one move."""
        tokens = list(items)
        first = next(item for item in tokens if isinstance(item, NumberToken))
        sans = tuple(item.text for item in tokens if isinstance(item, MoveToken))
        return Wanted(first.number, first.dots < 3, sans)


class Known:
    """The lines of a chapter so far; `whole` tells that all of them could be played to the end."""

    def __init__(self) -> None:
        self.whole = True
        self.lines: list[KnownLine] = []
        self._next: dict[PositionKey, list[Ply]] = defaultdict(list)

    def add(self, line: KnownLine) -> None:
        self.lines.append(line)
        self._index(line.main)
        self._index(line.branches)

    def add_aside(self, line: KnownLine | None, plies: list[Ply]) -> None:
        """Joins a side-line to the line that it leaves."""
        if line is not None:
            line.branches.extend(plies)
        self._index(plies)

    def _index(self, plies: list[Ply]) -> None:
        for ply in plies:
            self._next[ply.before.key].append(ply)

    def named(self, given_id: str) -> KnownLine | None:
        for line in reversed(self.lines):
            if line.given_id == given_id:
                return line
        return None

    def line_of(self, ply: Ply | None, current: KnownLine | None) -> KnownLine | None:
        """The line that a side-line from `ply` belongs to; the current one at a start."""
        for line in reversed(self.lines):
            if ply is not None and (ply in line.main or ply in line.branches):
                return line
        return current

    def answers(self, wanted: Wanted, places: Iterable[At]) -> list[Answer]:
        """Every way to play the moves from one of the places, all of them legal."""
        found: dict[tuple[PositionKey, PositionKey], Answer] = {}
        for at in places:
            position = at.position
            if position.move_number != wanted.number or position.white_to_move != wanted.white:
                continue
            answer = self._play(wanted, at)
            if answer is None:
                continue
            key = (position.key, answer.end)
            if key not in found or len(answer.known) > len(found[key].known):
                found[key] = answer
        return list(found.values())

    def _play(self, wanted: Wanted, at: At) -> Answer | None:
        board = at.position.board()
        ply, following = at.ply, True
        known: list[Ply] = []
        for san in wanted.sans:
            try:
                move = board.parse_san(san) if san != "--" else chess.Move.null()
            except ValueError:
                return None
            if following:
                step = self._step(ply, board, move, known)
                following = step is not None
                if step is not None:
                    ply = step
                    known.append(step)
            board.push(move)
        return Answer(at, tuple(known), Position(board).key)

    def _step(self, ply: Ply | None, board: chess.Board, move: chess.Move,
              known: list[Ply]) -> Ply | None:  # fmt: skip
        """The ply that plays `move` here: the line's own one first, else any, newest first."""
        from builder.model import position_key

        there = [step for step in self._next[position_key(board)] if step.move == move]
        for step in there:
            if step.parent is ply:
                return step
        return there[-1] if there else None


def line_places(line: KnownLine, plies: Iterable[Ply]) -> Iterator[At]:
    """The positions before and after the plies of a line, its start first."""
    yield line.start
    for ply in plies:
        yield At(ply.after, ply)


def main_places(line: KnownLine) -> Iterator[At]:
    return line_places(line, line.main)


def all_places(line: KnownLine) -> Iterator[At]:
    yield from line_places(line, line.main)
    for ply in line.branches:
        yield At(ply.after, ply)


def path_places(at: At, start: At) -> Iterator[At]:
    """The positions on the way back from `at`, nearest first."""
    ply = at.ply
    while ply is not None:
        yield At(ply.after, ply)
        if ply.parent is None:
            yield At(ply.before, None)
            return
        ply = ply.parent
    yield start


def onward_places(line: KnownLine, at: At) -> Iterator[At]:
    """The positions that follow `at` on its own level of the line."""
    ply = at.ply
    plies = line.branches if ply is not None and ply in line.branches else line.main
    for step in plies:
        if step.parent is ply and (ply is None or step.depth == ply.depth):
            ply = step
            yield At(ply.after, ply)
