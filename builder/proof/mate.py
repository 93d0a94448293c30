"""Forced mates: `mate in n`."""

from __future__ import annotations

import chess

from builder.proof.fact import Case, Fact, Senseless, side_name

MOST_MOVES = 3
MOST_POSITIONS = 4000  # About a second. Enough to settle nearly every mate in two.


class Undecided(Exception):
    """The search was given up. Caught by `prove`."""


class _Search:
    """Looks for mates by force, checks first."""

    def __init__(self, board: chess.Board) -> None:
        self.board = board
        self.left = MOST_POSITIONS

    def key_move(self, count: int) -> chess.Move | None:
        """A move of the side to move that mates in at most `count` moves."""
        for move in self._candidates(count):
            self._push(move)
            mated = self._is_lost(count)
            self.board.pop()
            if mated:
                return move
        return None

    def _candidates(self, count: int) -> list[chess.Move]:
        moves = list(self.board.legal_moves)
        checks = [move for move in moves if self.board.gives_check(move)]
        return checks if count == 1 else checks + [move for move in moves if move not in checks]

    def _is_lost(self, count: int) -> bool:
        """Whether the side to move is mated, or is in `count` - 1 more moves whatever it plays."""
        replies = list(self.board.legal_moves)
        if not replies:
            return self.board.is_check()
        if count == 1:
            return False
        for reply in replies:
            self._push(reply)
            answer = self.key_move(count - 1)
            self.board.pop()
            if answer is None:
                return False
        return True

    def _push(self, move: chess.Move) -> None:
        self.left -= 1
        if self.left < 0:
            raise Undecided
        self.board.push(move)


def mate_in(case: Case) -> Fact:
    """`mate in n`: the side to move can force mate in n moves and not in fewer.

    Raises `Undecided` when that can't be settled within `MOST_POSITIONS`.
    """
    wanted = int(case.term.numbers[0])
    if not 1 <= wanted <= MOST_MOVES:
        raise Senseless(f"a mate is proved in 1 to {MOST_MOVES} moves")
    board = case.board.copy(stack=False)
    search = _Search(board)
    side = side_name(board.turn)
    for count in range(1, wanted + 1):
        move = search.key_move(count)
        if move is not None:
            finding = f"{side} mates in {count} with {case.board.san(move)}"
            remedy = "" if count == wanted else f"write mate in {count}"
            return Fact(count == wanted, finding, remedy)
    return Fact(False, f"{side} has no mate in {wanted}")
