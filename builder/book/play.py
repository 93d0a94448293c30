"""Tokens of movetext to plies.

In: a parsed line and where it starts. Out: a stream in which every move is a `Ply` of the
model; comments, diagrams and claims are still as parsed, with the position they stand at.
Legality and SAN are `chess`'s; the explanations are `explain.py`'s.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeAlias

import chess

from builder import names
from builder.book.explain import explain_move, moves_after
from builder.faults import Faults
from builder.model import Ply, Position, Result, VariationEnd, VariationStart
from builder.place import Place
from builder.source.syntax import (
    ClaimToken, CloseToken, CommentToken, DiagramToken, MoveItem, MoveToken, NagToken, NameToken,
    NumberToken, OpenToken, ResultToken,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Placed:
    """Something that stands at a position of the line: `ply` is None at its start."""

    token: CommentToken | DiagramToken | ClaimToken
    ply: Ply | None
    depth: int


PlayedItem: TypeAlias = Ply | VariationStart | VariationEnd | Result | Placed


@dataclass(frozen=True, slots=True)
class NameFound:
    """A name given in the line, and where."""

    token: NameToken
    ply: Ply | None


@dataclass(frozen=True, slots=True)
class Beginning:
    """Where moves begin, and what they are called.

    `ply` is the move that reached the start when that lies in another line. `depth` is that
    of the first moves.
    """

    anchor: str
    chapter: str
    position: Position
    ply: Ply | None = None
    depth: int = 0


@dataclass(frozen=True, slots=True)
class Played:
    """A line, played out. `lost` holds the names behind moves that can't be played; `whole`
    tells that there were no such moves, `main_whole` that there were none outside variations."""

    beginning: Beginning
    items: tuple[PlayedItem, ...]
    names: tuple[NameFound, ...]
    lost: frozenset[str] = frozenset()
    whole: bool = True
    main_whole: bool = True

    def plies(self) -> tuple[Ply, ...]:
        return tuple(item for item in self.items if isinstance(item, Ply))


@dataclass(slots=True)
class _Level:
    """One level of nesting while playing.

    `last` is the last ply, `before` the position in front of it (what a variation replaces).
    `failed` is set by a move that can't be played: what follows it is passed over in silence,
    so that one slip is one error (`passed_over` tells that something was). A variation is
    dead when it is not known which move it replaces.
    """

    position: Position
    before: Position | None = None
    last: Ply | None = None
    parent: Ply | None = None
    previous: Ply | None = None
    failed: bool = False
    passed_over: bool = False
    dead: bool = False
    open_place: Place | None = None
    replaced: Ply | None = None
    written: int = 0
    names: list[NameToken] = field(default_factory=list)


def play_line(items: Iterable[MoveItem], beginning: Beginning, faults: Faults) -> Played:
    """Plays `items` out from the beginning; what is not legal is told to `faults`."""
    return _Player(tuple(items), beginning, faults).play()


class _Player:
    def __init__(self, items: tuple[MoveItem, ...], beginning: Beginning, faults: Faults) -> None:
        self.items = items
        self.beginning = beginning
        self.faults = faults
        self.out: list[PlayedItem] = []
        self.found_names: list[NameFound] = []
        self.count = 0
        self.failed = False
        self.levels = [
            _Level(beginning.position, last=beginning.ply, parent=beginning.ply)
        ]
        self.nags, self.move_names = _belongings(items)

    def play(self) -> Played:
        for index, item in enumerate(self.items):
            self._take(index, item)
        given = {found.token.name for found in self.found_names}
        written = {item.name for item in self.items if isinstance(item, NameToken)}
        return Played(self.beginning, tuple(self.out), tuple(self.found_names),
                      frozenset(written - given), not self.failed,
                      not self.levels[0].failed)  # fmt: skip

    def _take(self, index: int, item: MoveItem) -> None:
        level = self.levels[-1]
        match item:
            case MoveToken():
                self._move(index, item, level)
            case NumberToken():
                self._number(item, level)
            case OpenToken():
                self._open(item, level)
            case CloseToken():
                self._close(item)
            case NagToken():
                if not level.written and not level.dead:
                    self.faults.error("nag-place", item.place, "this sign stands behind no move")
            case NameToken():
                if not level.failed and not level.written and not level.dead:
                    if len(self.levels) > 1:
                        self.faults.error("name-place", item.place,
                                          "this name stands behind no move")  # fmt: skip
                    else:
                        self.found_names.append(NameFound(item, self.beginning.ply))
            case ResultToken():
                self.out.append(Result(item.text, item.place))
            case _ if not level.failed and not level.dead:
                ply = level.last if level.written else self._base(level)
                self.out.append(Placed(item, ply, len(self.levels) - 1))

    def _base(self, level: _Level) -> Ply | None:
        """The ply whose position is in force before a level's first move."""
        return level.parent

    def _move(self, index: int, token: MoveToken, level: _Level) -> None:
        if level.failed or level.dead:
            level.passed_over = True
            level.written += 1
            return
        before = level.position
        board = before.board()
        move = self._read(token, board, level)
        level.written += 1
        level.before = before
        if move is None:
            level.failed = self.failed = True
            level.previous = level.last
            return
        san = board.san_and_push(move)  # A pass is `--`.
        self._check_form(token, san)
        self.count += 1
        name_token = self.move_names.get(index)
        ply = Ply(
            anchor=names.ply_anchor(self.beginning.anchor, self.count),
            chapter=self.beginning.chapter,
            line=self.beginning.anchor,
            move=move,
            san=san,
            nags=self.nags.get(index, ()),
            before=before,
            after=Position(board),
            parent=level.last if level.written > 1 else level.parent,
            depth=self.beginning.depth + len(self.levels) - 1,
            place=token.place,
            name=name_token.name if name_token else None,
        )
        level.previous = level.last if level.written > 1 else level.parent
        level.last = ply
        level.position = ply.after
        self.out.append(ply)
        if name_token:
            self.found_names.append(NameFound(name_token, ply))

    def _read(self, token: MoveToken, board: chess.Board, level: _Level) -> chess.Move | None:
        """The move, or None after an error."""
        if not token.text:
            return None  # Told when it was read.
        after = moves_after(level.last if level.written else level.parent)
        if token.text == "--":
            if board.is_check():
                self.faults.error("pass-check", token.place,
                                  f"a side in check can't pass{after}")  # fmt: skip
                return None
            return chess.Move.null()
        try:
            return board.parse_san(token.text.replace(":", "x"))
        except ValueError as error:
            told = explain_move(token.text, board, error)
            self.faults.error(told.code, token.place, f"{told.message}{after}", told.hint)
            return None

    def _check_form(self, token: MoveToken, san: str) -> None:
        """A check or capture sign that isn't so is a slip, though the move can be read."""
        written = token.text.replace(":", "x")
        if written == "--":
            return
        if written[-1] in "+#" and written[-1] != san[-1]:
            real = {"+": "gives check", "#": "is mate"}.get(san[-1], "gives no check")
            self.faults.warning("move-sign", token.place, f"{written} {real}", f"write {san}")
        if "x" in written and "x" not in san:
            self.faults.warning("move-sign", token.place, f"{written} takes nothing",
                                f"write {san}")  # fmt: skip

    def _number(self, token: NumberToken, level: _Level) -> None:
        if level.failed or level.dead:
            return
        position = level.position
        white = position.white_to_move
        right = token.number == position.move_number
        if right and (token.dots == 0 or (token.dots == 1) == white):
            return
        expected = f"{position.move_number}{'.' if white else '...'}"
        # `4. Nxd4 4. Nf6` is a common slip; `4.` before Black's move after a comment as well.
        written = f"{token.number}{'.' * token.dots}"
        if level.replaced is not None and not level.written:
            self.faults.error(
                "move-number", token.place,
                f"move number {written} is wrong: this variation replaces {level.replaced.label}",
                f"write {expected}, or put the variation behind the move {written}",
            )  # fmt: skip
            level.failed = token.number != position.move_number
            self.failed = self.failed or level.failed
            return
        after = moves_after(level.last if level.written else level.parent)
        self.faults.error("move-number", token.place, f"move number {written} is wrong{after}",
                          f"it should be {expected}")  # fmt: skip

    def _open(self, token: OpenToken, level: _Level) -> None:
        nothing = level.before is None
        if nothing and not level.dead:
            self.faults.error("variation-place", token.place,
                              "this variation replaces no move",
                              "a variation stands behind the move that it replaces")  # fmt: skip
        if nothing or level.dead:
            self.levels.append(_Level(level.position, dead=True))
            return
        assert level.before is not None
        inner = _Level(level.before, parent=level.previous, last=level.previous,
                       open_place=token.place)  # fmt: skip
        if level.failed:
            # The move that can't be played has no ply; its alternatives are still checked.
            inner.dead = level.passed_over
        else:
            assert level.last is not None
            inner.replaced = level.last
            self.out.append(VariationStart(level.last, token.place))
        self.levels.append(inner)

    def _close(self, token: CloseToken) -> None:
        if len(self.levels) == 1:
            return
        level = self.levels.pop()
        if level.replaced is not None:
            self.out.append(VariationEnd(token.place))
        if not level.written and not level.dead and level.open_place:
            self.faults.error("variation-empty", level.open_place, "this variation has no moves")


def _belongings(
    items: tuple[MoveItem, ...],
) -> tuple[dict[int, tuple[int, ...]], dict[int, NameToken]]:
    """For each move's index its NAGs and its name, which may stand behind a comment."""
    nags: dict[int, tuple[int, ...]] = {}
    found: dict[int, NameToken] = {}
    last: list[int | None] = [None]
    for index, item in enumerate(items):
        match item:
            case MoveToken():
                last[-1] = index
            case OpenToken():
                last.append(None)
            case CloseToken() if len(last) > 1:
                last.pop()
            case NagToken() if (move := last[-1]) is not None:
                nags[move] = (*nags.get(move, ()), item.value)
            case NameToken() if (move := last[-1]) is not None:
                found.setdefault(move, item)
    return nags, found
