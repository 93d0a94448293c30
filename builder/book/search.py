"""Where moves in the prose belong.

In: moves as written, and what the chapter has played so far. Out: the plies that they name,
new ones included, or an error. The order of looking is the contract's: the current line, its
variations, the chapter's earlier lines, newest first. Two rules of our own stand beside it, and
the author's guide tells them: moves that stand nowhere yet go on from the position in force
where their number fits, and inside a line's comment the moves that lead to the comment come
first.
"""

from __future__ import annotations

import re
from bisect import insort
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TypeAlias

import chess

from builder.model import Ply, Position, PositionKey, position_key
from builder.source.syntax import MoveToken, NumberToken

Turn: TypeAlias = int  # a move's number and side: half-moves since 1. White

_TARGET = re.compile(r"([KQRBN]?)[a-h]?[1-8]?[x:]?([a-h][1-8])(?:=?([QRBN]))?[+#]?")


@dataclass(frozen=True, slots=True)
class At:
    """A position of the chapter, and the move that reached it (None: a start). It `is_lost` where the
    author's moves go on from it and can't be played: then it is not the one that his words mean."""

    position: Position
    ply: Ply | None
    is_lost: bool = False

    @property
    def turn(self) -> Turn:
        return self.position.ply_number


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
        sans = tuple(item.text.replace(":", "x") for item in tokens if isinstance(item, MoveToken))
        return Wanted(first.number, first.dots < 3, sans)

    @property
    def turn(self) -> Turn:
        return 2 * (self.number - 1) + (not self.white)


@dataclass(slots=True)
class _Level:
    """The places of a line at one turn."""

    main: list[At] = field(default_factory=list)
    branches: list[At] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Spot:
    """The first place of a line with some position; `added` counts places."""

    at: At
    is_branch: bool
    added: int


@dataclass(slots=True)
class _Here:
    """Where a position stands at one turn: the first place of each line, by the lines' numbers."""

    spots: dict[int, _Spot] = field(default_factory=dict)
    newest: int = -1

    def add(self, line: int, spot: _Spot) -> None:
        self.spots.setdefault(line, spot)
        self.newest = max(self.newest, line)

    def first(self, current: int | None) -> tuple[int, _Spot]:
        """In the order of looking, with its line."""
        line = current if current in self.spots else self.newest
        return line, self.spots[line]


@dataclass(slots=True)
class _Steps:
    """The plies that play one move from one position: the newest, and the first behind each ply."""

    newest: Ply
    behind: dict[str, Ply] = field(default_factory=dict)


_FIRST = -1  # the number of the game's first position, which is looked at last of all


class Known:
    """The lines of a chapter so far; `whole` tells that all of them could be played to the end.

    Whatever is looked for has a turn, and most of it stands there already: so places are kept by
    their turns, and positions by the moves that are played from them. A chapter may hold thousands
    of brackets, each of which may be a side-line that the next ones look into.
    """

    def __init__(self) -> None:
        self.whole = True
        self.ids: dict[str, KnownLine] = {}
        self._numbers: dict[str, int] = {}  # of lines, by their anchors
        self._line_of: dict[str, KnownLine] = {}  # by the anchors of their plies
        # What follows a ply, or the start, on its level of a line, by the anchors of both.
        self._onward: dict[tuple[str, str], Ply] = {}
        self._levels: dict[Turn, dict[int, _Level]] = defaultdict(dict)
        self._order: dict[Turn, list[int]] = defaultdict(list)  # the numbers of those lines
        self._here: dict[tuple[PositionKey, Turn], _Here] = defaultdict(_Here)
        self._turns: dict[PositionKey, set[Turn]] = defaultdict(set)
        self._steps: dict[PositionKey, dict[chess.Move, _Steps]] = defaultdict(dict)
        self._targets: dict[PositionKey, set[str]] = defaultdict(set)
        # The positions of a turn from which a move to that target is played.
        self._played: dict[tuple[Turn, str], dict[PositionKey, None]] = defaultdict(dict)
        self._added = 0
        self._place(_FIRST, At(Position(chess.Board()), None), False)

    # --- what is known -----------------------------------------------------------------------

    def add(self, line: KnownLine) -> None:
        number = self._numbers[line.anchor] = len(self._numbers)
        if line.given_id is not None:
            self.ids[line.given_id] = line
        self._place(number, line.start, False)
        self._add(line, line.main, False)
        self._add(line, line.branches, True)

    def add_aside(self, line: KnownLine | None, plies: list[Ply]) -> None:
        """Joins a side-line to the line that it leaves."""
        if line is not None:
            line.branches.extend(plies)
            self._add(line, plies, True)
        else:
            self._index(plies)

    def _add(self, line: KnownLine, plies: list[Ply], are_branches: bool) -> None:
        for ply in plies:
            self._line_of[ply.anchor] = line
            self._place(self._numbers[line.anchor], At(ply.after, ply), are_branches)
            if not are_branches or (ply.parent and ply.parent.depth == ply.depth):
                self._onward.setdefault((line.anchor, _anchor(ply.parent)), ply)
        self._index(plies)

    def _place(self, line: int, at: At, is_branch: bool) -> None:
        levels = self._levels[at.turn]
        if line not in levels:
            levels[line] = _Level()
            insort(self._order[at.turn], line)
        (levels[line].branches if is_branch else levels[line].main).append(at)
        key = at.position.key
        self._added += 1
        self._here[key, at.turn].add(line, _Spot(at, is_branch, self._added))
        self._turns[key].add(at.turn)
        for target in self._targets[key]:
            self._played[at.turn, target][key] = None

    def _index(self, plies: list[Ply]) -> None:
        for ply in plies:
            key, target = ply.before.key, _target(ply.san)
            steps = self._steps[key].setdefault(ply.move, _Steps(ply))
            steps.newest = ply
            steps.behind.setdefault(_anchor(ply.parent), ply)
            self._targets[key].add(target)
            for turn in self._turns[key]:
                self._played[turn, target][key] = None

    def line_of(self, ply: Ply | None, current: KnownLine | None) -> KnownLine | None:
        """The line that a side-line from `ply` belongs to; the current one at a start."""
        return current if ply is None else self._line_of.get(ply.anchor, current)

    # --- looking -----------------------------------------------------------------------------

    def standing(self, wanted: Wanted, current: KnownLine | None,
                 only: KnownLine | None = None) -> list[Answer]:  # fmt: skip
        """The answers that have most of the moves already, in the first place that has any: the
        main moves of the current line, its variations, the other lines, newest first; or in one
        line `only`."""
        best: tuple[int, ...] | None = None
        found: list[tuple[int, Answer]] = []
        first = self._numbers[current.anchor] if current else None
        for key in self._played.get((wanted.turn, _target(wanted.sans[0])), ()):
            here = self._here[key, wanted.turn]
            if only is not None and self._numbers[only.anchor] not in here.spots:
                continue
            line, spot = here.first(self._numbers[only.anchor] if only else first)
            answer = self._play(wanted, spot.at)
            if answer is None or not answer.exists:
                continue
            rank = (-len(answer.known), line != first, -line, spot.is_branch)
            if best is None or rank < best:
                best, found = rank, []
            if rank == best:
                found.append((spot.added, answer))
        return [answer for _, answer in sorted(found, key=lambda pair: pair[0])]

    def possible(self, wanted: Wanted, current: KnownLine | None,
                 only: KnownLine | None = None) -> list[Answer]:  # fmt: skip
        """The answers in the first place where the moves can be played."""
        for places in self._tiers(wanted.turn, current, only):
            answers = self.answers(wanted, places)
            if answers:
                return answers
        return []

    def places(self, turn: Turn, current: KnownLine | None,
               only: KnownLine | None = None) -> Iterator[At]:  # fmt: skip
        """The places of a turn, in the order of looking."""
        for places in self._tiers(turn, current, only):
            yield from places

    def _tiers(self, turn: Turn, current: KnownLine | None,
               only: KnownLine | None) -> Iterator[list[At]]:  # fmt: skip
        levels = self._levels.get(turn, {})
        first = self._numbers[line.anchor] if (line := only or current) else None
        others = () if only else reversed(self._order.get(turn, []))
        for number in (first, *(other for other in others if other != first)):
            if number in levels:
                yield levels[number].main
                yield levels[number].branches

    def answers(self, wanted: Wanted, places: Iterable[At]) -> list[Answer]:
        """Every way to play the moves from one of the places, all of them legal; from the first
        place where several have the same position."""
        found: dict[PositionKey, Answer | None] = {}
        for at in places:
            if at.turn == wanted.turn and at.position.key not in found:
                found[at.position.key] = self._play(wanted, at)
        return [answer for answer in found.values() if answer is not None]

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
                step = self._step(ply, board, move)
                following = step is not None
                if step is not None:
                    ply = step
                    known.append(step)
            board.push(move)
        return Answer(at, tuple(known), position_key(board))

    def _step(self, ply: Ply | None, board: chess.Board, move: chess.Move) -> Ply | None:
        """The ply that plays `move` here: the line's own one first, else any, newest first."""
        steps = self._steps.get(position_key(board), {}).get(move)
        if steps is None:
            return None
        return steps.behind.get(_anchor(ply), steps.newest)

    def onward(self, line: KnownLine, at: At, turn: Turn) -> Iterator[At]:
        """The positions that follow `at` on its own level of the line, up to that turn."""
        ply = self._onward.get((line.anchor, _anchor(at.ply)))
        while ply is not None and ply.after.ply_number <= turn:
            yield At(ply.after, ply)
            ply = self._onward.get((line.anchor, ply.anchor))


def path_places(at: At, start: At, turn: Turn) -> Iterator[At]:
    """The positions on the way back from `at`, nearest first, down to that turn."""
    ply = at.ply
    if ply is None:
        yield start
    while ply is not None and ply.after.ply_number >= turn:
        yield At(ply.after, ply)
        if ply.parent is None:
            yield At(ply.before, None)
        ply = ply.parent


def _anchor(ply: Ply | None) -> str:
    """A ply's anchor; empty for a start."""
    return ply.anchor if ply else ""


def _target(san: str) -> str:
    """What moves where, and becomes what: the part of a move's SAN that can be written in one way
    only."""
    match = _TARGET.fullmatch(san)
    if match is None:
        return san.replace("0", "O").rstrip("+#")
    return "".join(part or "" for part in match.groups())
