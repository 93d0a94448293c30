"""A position, and what makes two of them the same."""

from __future__ import annotations

from typing import TypeAlias

import chess

# What makes two positions the same (FIDE Laws 9.2.3): placement, side to move, castling
# rights, and the en-passant square only where such a capture is legal.
PositionKey: TypeAlias = tuple[int, ...]


class Position:
    """A position: what stands on the board, and how to ask the rules about it."""

    __slots__ = ("_board", "_placement", "key")

    def __init__(self, board: chess.Board) -> None:
        """Takes a snapshot of `board`, without its move stack."""
        self._board = board.copy(stack=False)
        self._placement = ""  # worked out when it is first asked for: every output asks
        self.key: PositionKey = position_key(board)

    def board(self) -> chess.Board:
        """A fresh board, without move history, for the caller to play on."""
        return self._board.copy(stack=False)

    @property
    def white_to_move(self) -> bool:
        return self._board.turn

    @property
    def placement(self) -> str:
        """The piece placement field of the FEN."""
        if not self._placement:
            self._placement = self._board.board_fen()
        return self._placement

    @property
    def fen(self) -> str:
        """FEN by the PGN standard (16.1): en-passant square after every double step."""
        board = self._board
        square = chess.SQUARE_NAMES[board.ep_square] if board.ep_square else "-"
        return f"{self._fields(square)} {board.halfmove_clock} {board.fullmove_number}"

    @property
    def epd(self) -> str:
        """The four EPD fields, en-passant square only where the capture is legal."""
        board = self._board
        square = board.ep_square if board.has_legal_en_passant() else None
        return self._fields(chess.SQUARE_NAMES[square] if square is not None else "-")

    def _fields(self, en_passant: str) -> str:
        """The first four fields of the FEN."""
        board = self._board
        turn = "w" if board.turn else "b"
        return f"{self.placement} {turn} {board.castling_xfen()} {en_passant}"

    @property
    def move_number(self) -> int:
        """The number of the move about to be played."""
        return self._board.fullmove_number

    @property
    def ply_number(self) -> int:
        """Half-moves since the start as the move number tells them: 0 before 1.e4."""
        return self._board.ply()

    def __repr__(self) -> str:
        return f"Position({self.fen!r})"


def position_key(board: chess.Board) -> PositionKey:
    """The identity of a position; see `PositionKey`."""
    en_passant = board.ep_square if board.ep_square and board.has_legal_en_passant() else 0
    return (
        board.pawns, board.knights, board.bishops, board.rooks, board.queens, board.kings,
        board.occupied_co[chess.WHITE], int(board.turn), board.clean_castling_rights(),
        en_passant,
    )  # fmt: skip
