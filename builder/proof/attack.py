"""Facts about attack and defence: who attacks what, pins, forks, batteries, discoveries.

To attack is as in the FIDE Laws of Chess, 3.1.2 and 3.1.3 (numbers of the 2023 edition, from
memory): kings attack, and so do pieces that may not move because of a pin; a piece that stands
behind another one doesn't.
"""

from __future__ import annotations

from collections.abc import Iterator

import chess

from builder.proof.fact import (
    VALUES, Case, Fact, Senseless, at, counted, listed, played, side_name, squares_listed,
)  # fmt: skip


def attackers(case: Case) -> Fact:
    """`attackers SQUARE SIDE = n`: pieces of that side that attack the square."""
    found = case.board.attackers(case.side, case.square)
    what = f"{side_name(case.side)} attackers of {chess.square_name(case.square)}"
    return counted(case, what, listed(case.board, found), len(found))


def undefended(case: Case) -> Fact:
    """`undefended SQUARE`: no piece of its own side attacks the square it stands on."""
    piece = case.piece(case.square)
    found = case.board.attackers(piece.color, case.square)
    name = at(case.board, case.square)
    if found:
        return Fact(False, f"{name} is defended by {listed(case.board, found)}")
    return Fact(True, f"nothing defends {name}")


def moves(case: Case) -> Fact:
    """`moves SQUARE = n`: squares the piece can go to, if it were its side's move."""
    piece = case.piece(case.square)
    board = case.board if case.board.turn == piece.color else case.passed()
    goals = {move.to_square for move in board.generate_legal_moves(chess.BB_SQUARES[case.square])}
    what = f"squares that {at(board, case.square)} can go to"
    return counted(case, what, squares_listed(sorted(goals)), len(goals))


# --- on one line ---------------------------------------------------------------------------------


def pinned(case: Case) -> Fact:
    """`pinned SQUARE`: to its king. `pinned SQUARE to SQUARE`: to the king or the more valuable
    piece that stands there."""
    piece = case.piece(case.square)
    name = at(case.board, case.square)
    if piece.piece_type == chess.KING:
        raise Senseless("a king can't be pinned")
    pins = {behind: pinner for pinner, behind in pins_of(case.board, case.square)}
    king = case.board.king(piece.color)
    to = case.term.squares[1] if len(case.term.squares) > 1 else king
    if to in pins:
        by = at(case.board, pins[to])
        return Fact(True, f"{name} is pinned to {at(case.board, to)} by {by}")
    if pins:
        behind = min(pins)
        finding = f"{name} is pinned to {at(case.board, behind)} by {at(case.board, pins[behind])}"
        remedy = f"write pinned {chess.square_name(case.square)} to {chess.square_name(behind)}"
        return Fact(False, finding, remedy)
    if to is not None and to != king and case.board.color_at(to) != piece.color:
        return Fact(False, f"no piece of {side_name(piece.color)}'s stands on "
                    f"{chess.square_name(to)}")  # fmt: skip
    if to in [square for _, square in _behind(case.board, case.square)]:
        return Fact(False, f"{at(case.board, to)} is worth no more than {name}")
    return Fact(False, f"{name} isn't pinned")


def pins_of(board: chess.Board, square: chess.Square) -> Iterator[tuple[int, int]]:
    """Who pins the piece on the square, and to what: its king, or a more valuable piece."""
    value = VALUES[board.piece_type_at(square) or 0]
    for pinner, behind in _behind(board, square):
        kind = board.piece_type_at(behind)
        if kind == chess.KING or VALUES[kind or 0] > value:
            yield pinner, behind


def _behind(board: chess.Board, square: chess.Square) -> Iterator[tuple[int, int]]:
    """Enemy sliders that attack the piece on the square, and its own side's piece behind it."""
    side = bool(board.color_at(square))
    sliders = board.bishops | board.rooks | board.queens
    for slider in board.attackers(not side, square) & chess.SquareSet(sliders):
        behind = next_behind(board, slider, square)
        if behind is not None and board.color_at(behind) == side:
            yield slider, behind


def next_behind(board: chess.Board, origin: int, square: int) -> chess.Square | None:
    """The first piece that is met when going on from `origin` through `square`."""
    line = chess.ray(origin, square) & board.occupied
    for other in chess.scan_forward(line):
        through = chess.between(origin, other)
        if through & chess.BB_SQUARES[square] and not chess.between(square, other) & board.occupied:
            return other
    return None


def skewer(case: Case) -> Fact:
    """`skewer SQUARE: SQUARE SQUARE`: a slider attacks the first, and through it the second,
    which is worth no more."""
    board = case.board
    origin, front, back = case.term.squares
    side = case.piece(origin).color
    for square in (front, back):
        if case.piece(square).color == side:
            raise Senseless(f"{at(board, square)} is {side_name(side)}'s own")
    front_name, back_name = at(board, front), at(board, back)
    name = at(board, origin)
    if not board.attackers_mask(side, front) & chess.BB_SQUARES[origin]:
        return Fact(False, f"{name} doesn't attack {front_name}")
    if next_behind(board, origin, front) != back or not _slides(board, origin):
        return Fact(False, f"{name} doesn't reach {back_name} through {front_name}")
    if not _outranks(board, front, back):
        remedy = f"write pinned {chess.square_name(front)} to {chess.square_name(back)}"
        return Fact(False, f"{back_name} is worth more than {front_name}: that is a pin", remedy)
    return Fact(True, f"{name} attacks {front_name}, and {back_name} behind it")


def _outranks(board: chess.Board, front: int, back: int) -> bool:
    kinds = board.piece_type_at(front), board.piece_type_at(back)
    if chess.KING in kinds:
        return kinds[0] == chess.KING
    return VALUES[kinds[0] or 0] >= VALUES[kinds[1] or 0]


def _slides(board: chess.Board, square: int) -> bool:
    sliders = board.bishops | board.rooks | board.queens
    return bool(sliders & chess.BB_SQUARES[square])


def battery(case: Case) -> Fact:
    """`battery SQUARE SQUARE [on SQUARE|FILE]`: two of a side's sliders that move along one line
    and stand on it with nothing between; aimed at the square, or standing on the file."""
    board = case.board
    first, second = case.term.squares[:2]
    if first == second or case.piece(first).color != case.piece(second).color:
        raise Senseless("a battery is made of two pieces of one side")
    names = f"{at(board, first)} and {at(board, second)}"
    line = chess.ray(first, second)
    straight = chess.square_file(first) == chess.square_file(second) or (
        chess.square_rank(first) == chess.square_rank(second)
    )
    movers = board.queens | (board.rooks if straight else board.bishops)
    pair = chess.BB_SQUARES[first] | chess.BB_SQUARES[second]
    if not line or movers & pair != pair:
        return Fact(False, f"{names} don't move along one line")
    between = chess.between(first, second) & board.occupied
    if between:
        return Fact(False, f"{listed(board, chess.SquareSet(between))} stands between {names}")
    if case.term.words:
        file = case.term.words[0]
        holds = all(chess.square_name(square)[0] == file for square in (first, second))
        return Fact(holds, f"{names} {'stand' if holds else 'do not stand'} on the {file}-file")
    if len(case.term.squares) == 3:
        return _aimed(board, first, second, case.term.squares[2], names)
    return Fact(True, f"{names} stand on one line, with nothing between")


def _aimed(board: chess.Board, first: int, second: int, target: int, names: str) -> Fact:
    goal = chess.square_name(target)
    line = chess.ray(first, second)
    pair = chess.BB_SQUARES[first] | chess.BB_SQUARES[second]
    between = chess.between(first, second)
    if not line & ~between & ~pair & chess.BB_SQUARES[target]:
        return Fact(False, f"the line of {names} doesn't lead to {goal}")
    front = first if chess.between(second, target) & chess.BB_SQUARES[first] else second
    block = chess.between(front, target) & board.occupied
    if block:
        return Fact(False, f"{listed(board, chess.SquareSet(block))} stands in the way to {goal}")
    return Fact(True, f"{names} aim at {goal}")


# --- at several at once --------------------------------------------------------------------------


def fork(case: Case) -> Fact:
    """`fork SQUARE: SQUARE SQUARE …`: the piece attacks enemy pieces on all of these."""
    board = case.board
    piece = case.piece(case.square)
    targets = case.term.squares[1:]
    if len(set(targets)) < len(targets):
        raise Senseless("a square is named twice")
    enemies = board.attacks(case.square) & chess.SquareSet(board.occupied_co[not piece.color])
    missed = [square for square in targets if square not in enemies]
    finding = f"{at(board, case.square)} attacks {listed(board, enemies)}"
    if missed:
        finding += f", not {', '.join(_target(board, square, piece.color) for square in missed)}"
    return Fact(not missed, finding)


def _target(board: chess.Board, square: int, side: chess.Color) -> str:
    color = board.color_at(square)
    if color is None:
        return f"{chess.square_name(square)}, which is empty"
    return at(board, square) + (f", which is {side_name(side)}'s own" if color == side else "")


def discovered_check(case: Case) -> Fact:
    """`discovered check`: the last move gave a check from a piece that it didn't move.
    `discovered check MOVE`: the move would."""
    if case.term.move:
        board = case.board
        move = played(board, case.term.move)
        san = case.term.move
    else:
        ply = case.claim.ply
        if ply is None:
            raise Senseless("no move leads to this position", "write discovered check and the move")
        board, move, san = ply.before.board(), ply.move, ply.label
    moved = _moved(board, move)
    board.push(move)
    checkers = board.checkers()
    found = [square for square in checkers if square not in moved]
    finding = f"{san} gives check with {listed(board, checkers)}" if checkers else (
        f"{san} gives no check")  # fmt: skip
    if checkers and not found:
        finding += ", the piece that moved"
    board.pop()
    return Fact(bool(found), finding)


def discovered_attack(case: Case) -> Fact:
    """`discovered attack MOVE SQUARE`: the move opens the line of another piece of its side to
    the enemy piece on the square."""
    board = case.board
    side = board.turn
    move = played(board, case.term.move)
    before = board.attackers(side, case.square)
    moved = _moved(board, move)
    board.push(move)
    now = board.attackers(side, case.square)
    found = [square for square in now if square not in before and square not in moved]
    target = _target(board, case.square, side)
    enemy = board.color_at(case.square) == (not side)
    opened = listed(board, found)
    board.pop()
    if not enemy:
        return Fact(False, f"after {case.term.move} there is no enemy piece to attack: {target}")
    if not found:
        return Fact(False, f"{case.term.move} opens no line to {target}")
    return Fact(True, f"{case.term.move} opens the line of {opened} to {target}")


def _moved(board: chess.Board, move: chess.Move) -> set[chess.Square]:
    """Where the pieces stand that the move moves; castling moves two."""
    if board.is_castling(move):
        kingside = chess.square_file(move.to_square) > chess.square_file(move.from_square)
        rank = chess.square_rank(move.from_square)
        return {chess.square(file, rank) for file in ((6, 5) if kingside else (2, 3))}
    return {move.to_square} if move else set()
