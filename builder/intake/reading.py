"""A file's games, one after another, each with its tree of moves."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

import chess

from builder.intake.play import Budget, Known, play
from builder.intake.tree import MoveTree
from builder.model import Position
from builder.pgn.games import RawGame
from builder.pgn.tell import Teller, whole_line
from builder.place import Place
from builder.source.fen import read_fen
from builder.write.pgn_remarks import BOOKLET_TAG

_SOMETHING = re.compile(r"\S")
_DECIDED = ("1-0", "0-1", "1/2-1/2")
# Values of the tag Variant for the game that we know; anything else has other rules.
_ORTHODOX = ("", "standard", "chess", "normal", "orthodox", "from position", "classical")


@dataclass(frozen=True, slots=True)
class Game:
    """A game: its raw form (for the tags), its moves, and how it ended (empty: not told)."""

    raw: RawGame
    tree: MoveTree
    result: str

    @property
    def own(self) -> bool:
        """Whether a booklet's export wrote it."""
        return is_own(self.raw)


# What is known of the game that begins at an offset of a text.
Guide: TypeAlias = Callable[[Position, str, int], Known]


def nothing_known(start: Position, text: str, at: int) -> Known:
    return Known((), at)


def is_own(raw: RawGame) -> bool:
    return raw.tag(BOOKLET_TAG) != "" and raw.tag("Event").startswith(raw.tag(BOOKLET_TAG))


def read_trees(raws: Iterable[RawGame], tell: Teller, budget: Budget,
               begin_at: Position | None = None, guide: Guide = nothing_known) -> Iterator[Game]:  # fmt: skip
    """The games that can be read, at least in part; faults are told. Ends when the budget does.

    `begin_at` is where games without a FEN tag begin, if not at the initial position.
    """
    initial = begin_at or Position(chess.Board())
    for raw in raws:
        start = _start(raw, initial, tell)
        if start is None:
            continue
        text = raw.movetext
        at, first = 0, True
        while first or _SOMETHING.search(text.text, at):
            # Moves behind a result are another game, one without tags (8.1: tags may be lacking).
            known = guide(start, text.text, at)
            found = play(text, known, start, is_own(raw), tell, budget)
            at = found.end if found.end > at else len(text.text)
            yield Game(raw, found.tree, found.result)
            if first and found.whole and not found.result and raw.tag("Result") in _DECIDED:
                _tell_cut(raw, tell)
            first, start = False, initial
            raw = RawGame(raw.number, (), text, raw.place)
        if budget.moves <= 0:
            return


def _tell_cut(raw: RawGame, tell: Teller) -> None:
    """The standard ends every game with its result (8.2.6)."""
    end = len(raw.movetext.text.rstrip())
    tell.warning("pgn-end", raw.movetext.place(max(0, end - 1)),
                 "the moves end without the result that the tags give",
                 "the file may have been cut off", raw.movetext)  # fmt: skip


def _start(raw: RawGame, initial: Position, tell: Teller) -> Position | None:
    """Where the game starts; None, and an error, where that is no position of chess."""
    tags = {tag.name: tag for tag in raw.tags}
    variant = tags.get("Variant")
    if variant is not None and variant.value.lower() not in _ORTHODOX:
        tell.error("pgn-variant", variant.place,
                   f"this game is played by other rules ({variant.value[:40]}), and is left out")
        return None
    fen = tags.get("FEN")
    if fen is None:
        return initial
    return read_position(fen.value, fen.place, tell)


def read_position(text: str, place: Place, tell: Teller) -> Position | None:
    """The position of a FEN. Castling rights and en-passant squares that can't be are taken away
    with a warning; other faults are errors."""
    source = whole_line(place.file, place.line, "")
    try:
        board = chess.Board(" ".join(text.split()))
    except ValueError:
        return _told(text, place, tell)
    status = board.status()
    for flag, words in (
        (chess.STATUS_BAD_CASTLING_RIGHTS, "a castling right without king and rook at home"),
        (chess.STATUS_INVALID_EP_SQUARE, "an en-passant square that no pawn has passed"),
    ):
        if status & flag:
            tell.warning("fen", place, f"this position has {words}; it is taken away",
                         source=source)  # fmt: skip
    board.castling_rights = board.clean_castling_rights()
    if status & chess.STATUS_INVALID_EP_SQUARE:
        board.ep_square = None
    if board.status() != chess.STATUS_VALID:
        return _told(board.fen(), place, tell)
    return Position(board)


def _told(text: str, place: Place, tell: Teller) -> Position | None:
    """What is wrong with a FEN, in the words that chapters get."""
    from builder.faults import Faults

    trial = Faults()
    position = read_fen(text, place, trial)
    for fault in trial.sorted():
        tell.error("fen", place, f"{fault.message}; what starts here is left out", fault.hint)
    return position
