"""What is said of a move, and which legal moves it fits.

A shape holds what was named: piece, squares, what is taken. `fitting` asks the rules which legal
moves it can mean, with what each costs: what was left open, and what is unusual.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import chess

from builder.speech.costs import Costs, total

SHORT, LONG, EITHER = 1, 2, 3
OTHER, KINGSIDE, QUEENSIDE = 1, 2, 3


@dataclass(frozen=True, slots=True)
class Shape:
    """What is said of a move; None and 0 where nothing is.

    `castles` is one of SHORT, LONG, EITHER; `which` one of OTHER (not the one that moved last),
    KINGSIDE, QUEENSIDE. `retakes` tells of a capture where something was captured just before;
    `steps` how far a pawn goes. `placed` tells that no piece is named and a pawn is meant.
    """

    piece: int | None = None
    from_file: int | None = None
    from_rank: int | None = None
    origin: int | None = None
    to_file: int | None = None
    to_rank: int | None = None
    to: int | None = None
    takes: bool = False
    retakes: bool = False
    took: int | None = None
    becomes: int | None = None
    castles: int = 0
    en_passant: bool = False
    check: bool = False
    mate: bool = False
    back: bool = False
    steps: int = 0
    which: int = 0
    fianchetto: bool = False


@dataclass(frozen=True, slots=True)
class Legal:
    """A legal move with what can be said of it. `home` is the square where its piece stood first."""

    move: chess.Move
    piece: int
    took: int | None
    castles: int
    en_passant: bool
    by_white: bool
    home: int


@dataclass(frozen=True, slots=True)
class Fit:
    """A legal move that a shape can mean, what that costs, and the sum of it."""

    move: chess.Move
    cost: float
    costs: Costs = ()


def legal_moves(board: chess.Board, homes: Mapping[int, int]) -> tuple[Legal, ...]:
    """The legal moves; `homes` lead from squares to those where the pieces stood first."""
    return tuple(_legal(board, homes, move) for move in board.legal_moves)


def _legal(board: chess.Board, homes: Mapping[int, int], move: chess.Move) -> Legal:
    castles = 0
    if board.is_castling(move):
        castles = SHORT if board.is_kingside_castling(move) else LONG
    passing = board.is_en_passant(move)
    took = chess.PAWN if passing else board.piece_type_at(move.to_square)
    piece = board.piece_type_at(move.from_square)
    assert piece is not None
    return Legal(move, piece, None if castles else took, castles, passing, board.turn,
                 homes.get(move.from_square, move.from_square))  # fmt: skip


def fitting(shape: Shape, board: chess.Board, legal: Iterable[Legal], last: chess.Move | None, took_last: bool,
            last_of_side: int | None, weights: Mapping[str, float]) -> tuple[Fit, ...]:  # fmt: skip
    """The legal moves that a shape can mean, cheapest first.

    `last` is the move before, `took_last` whether it captured; `last_of_side` is the square to
    which the side to move went last.
    """
    found: list[tuple[chess.Move, Costs]] = []
    for one in legal:
        if not _contradicts(shape, one):
            reasons = (*_unusual(shape, one, last, took_last, last_of_side), *_unsaid(shape, board, one.move))  # fmt: skip
            found.append((one.move, tuple((reason, 1.0) for reason in reasons)))
    if not found:
        return ()
    if shape.takes and shape.piece is None:
        found = _by_the_least(found, weights)
    fits = [Fit(move, total(costs, weights), costs) for move, costs in found]
    least = min(fit.cost for fit in fits)
    rivals = sum(1 for fit in fits if fit.cost < least + 0.5)
    if rivals > 1:
        spread = (("open", math.log2(rivals)),)
        fits = [Fit(one.move, one.cost + total(spread, weights), one.costs + spread) for one in fits]
    return tuple(sorted(fits, key=lambda fit: (fit.cost, fit.move.uci())))


def _by_the_least(found: list[tuple[chess.Move, Costs]],
                  weights: Mapping[str, float]) -> list[tuple[chess.Move, Costs]]:  # fmt: skip
    """Captures by a piece that wasn't named, measured by the least piece that could."""
    least = min((name for _, costs in found for name, _ in costs if name.startswith("taker_")),
                key=lambda name: weights[name])  # fmt: skip
    return [(move, (*costs, (least, -1.0))) for move, costs in found]


def _contradicts(shape: Shape, one: Legal) -> bool:
    move = one.move
    if shape.castles:
        return not one.castles & shape.castles
    if one.castles:
        # A king that is said to go two squares castles; other words for it are no move.
        return shape.piece != chess.KING or shape.to != move.to_square
    origin, target = move.from_square, move.to_square
    rank_up = chess.square_rank(target) - chess.square_rank(origin)
    forward = rank_up if one.by_white else -rank_up
    return (
        _differs(shape.piece, one.piece)
        or _differs(shape.origin, origin)
        or _differs(shape.from_file, chess.square_file(origin))
        or _differs(shape.from_rank, chess.square_rank(origin))
        or _differs(shape.to, target)
        or _differs(shape.to_file, chess.square_file(target))
        or _differs(shape.to_rank, chess.square_rank(target))
        or _differs(shape.took, one.took)
        or (shape.becomes or None) != move.promotion
        and not (shape.becomes is None and move.promotion == chess.QUEEN)
        or (shape.takes and one.took is None)
        or (shape.en_passant and not one.en_passant)
        or (shape.steps > 0 and shape.steps != forward)
        or (shape.fianchetto and not _on_long_diagonal(target))
    )


def _differs(said: int | None, true: int | None) -> bool:
    return said is not None and said != true


def _on_long_diagonal(square: int) -> bool:
    """b2, g2, b7, g7."""
    return chess.square_file(square) in (1, 6) and chess.square_rank(square) in (1, 6)


def _unusual(shape: Shape, one: Legal, last: chess.Move | None, took_last: bool,
             last_of_side: int | None) -> Iterator[str]:  # fmt: skip
    """What is odd about meaning this move by the shape, by the names of costs."""
    move = one.move
    retakes = took_last and last is not None and move.to_square == last.to_square
    if one.took is not None and not shape.takes:
        if one.piece == chess.PAWN and shape.from_file is None and shape.origin is None:
            yield "pawn_takes_unsaid"
        elif one.piece != chess.PAWN:
            yield "takes_unsaid"
    if shape.takes and shape.to is None and shape.took is None and shape.to_file is None:
        if not retakes:
            yield "takes_elsewhere" if took_last else "takes_somewhere"
    if shape.retakes and not retakes:
        yield "retakes_elsewhere"
    if shape.takes and shape.piece is None:
        yield f"taker_{chess.piece_name(one.piece)}"
    if shape.back and not _goes_back(one):
        yield "not_back"
    if move.promotion and shape.becomes is None:
        yield "promotion_unsaid"
    if shape.castles == EITHER and one.castles == LONG:
        yield "castles_long_unsaid"
    if shape.which == OTHER and last_of_side == move.from_square:
        yield "not_other"
    if shape.which in (KINGSIDE, QUEENSIDE):
        kingside = chess.square_file(one.home) >= 4
        if kingside != (shape.which == KINGSIDE):
            yield "other_wing"
    said = shape.takes or shape.castles or shape.origin is not None
    if shape.piece is None and one.piece == chess.PAWN and not said:
        yield "pawn_unsaid"
    if shape.steps == 0 and shape.to is None and not shape.takes and not shape.castles:
        yield "target_unsaid"


def _unsaid(shape: Shape, board: chess.Board, move: chess.Move) -> Iterator[str]:
    """Whether a check or a mate that was told is none."""
    if not (shape.check or shape.mate):
        return
    if not board.gives_check(move):
        yield "no_check"
    elif shape.mate:
        after = board.copy(stack=False)
        after.push(move)
        if not after.is_checkmate():
            yield "no_mate"


def _goes_back(one: Legal) -> bool:
    rise = chess.square_rank(one.move.to_square) - chess.square_rank(one.move.from_square)
    return rise <= 0 if one.by_white else rise >= 0
