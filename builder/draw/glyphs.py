"""The letters of the board font 'Plyleaf Board'.

A board is set as eight lines of eight letters. On light squares the letters are those of the
FEN, with `.` for an empty square; on dark squares they are the full-width forms of the same
letters. So text taken from a PDF is a readable board, and its compatibility normalisation
(Unicode NFKC) is the FEN's letters. Coordinates are circled letters and digits, the sign of
the side to move is a square: none of them can be taken for a piece.
"""

from __future__ import annotations

from pathlib import Path

from builder.draw.board import EMPTY, PIECES, BoardView, file_letters, rank_digits, rows

_ROOM = Path(__file__).resolve().parent
# The themes lie beside the code in the checkout, inside the package when installed.
FONTS = next(
    (fonts for fonts in (_ROOM.parent / "themes/fonts", _ROOM.parents[1] / "themes/fonts")
     if fonts.is_dir()), _ROOM.parents[1] / "themes/fonts",
)  # fmt: skip
BOARD_FAMILY = "Plyleaf Board"
BOARD_FILE = FONTS / "plyleaf-board.ttf"
FIGURINE_FAMILY = "Plyleaf Figurine"
FIGURINE_FILE = FONTS / "plyleaf-figurine.woff2"

_TO_DARK = {ord(letter): chr(ord(letter) - 0x20 + 0xFF00) for letter in PIECES + EMPTY}
_TO_CIRCLED = {
    **{ord(letter): chr(0x24D0 + ord(letter) - ord("a")) for letter in "abcdefgh"},
    **{ord(digit): chr(0x2460 + ord(digit) - ord("1")) for digit in "12345678"},
}
WHITE_TO_MOVE = "\u25a1"
BLACK_TO_MOVE = "\u25a0"
# What each letter of the board font that stands for a square shows: a FEN letter or `.`.
GLYPH_TO_PIECE = {
    **{letter: letter for letter in PIECES + EMPTY},
    **{dark: chr(light) for light, dark in _TO_DARK.items()},
}


def dark(letter: str) -> str:
    """The board font's letter for that content on a dark square."""
    return letter.translate(_TO_DARK)


def circled(letter: str) -> str:
    """The board font's letter for a coordinate."""
    return letter.translate(_TO_CIRCLED)


def square_lines(view: BoardView) -> tuple[str, ...]:
    """Eight lines of eight letters of the board font, as the board is seen."""
    lines = []
    for number, row in enumerate(rows(view)):
        shaded = row.translate(_TO_DARK)
        pair = (row, shaded) if number % 2 == 0 else (shaded, row)
        lines.append("".join(pair[column % 2][column] for column in range(8)))
    return tuple(lines)


def lines(view: BoardView) -> tuple[str, ...]:
    """The lines to set in the board font: squares, and beside them coordinates and the sign
    of the side to move. The ninth line, if any, is the file letters."""
    found = list(square_lines(view))
    if view.coordinates:
        digits = circled(rank_digits(view.flip))
        found = [digit + line for digit, line in zip(digits, found, strict=True)]
        found.append(circled(file_letters(view.flip)))
    if view.white_to_move is not None:
        sign = WHITE_TO_MOVE if view.white_to_move else BLACK_TO_MOVE
        found[7 if view.white_to_move != view.flip else 0] += sign
    return tuple(found)
