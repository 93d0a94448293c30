"""A board set in the board font, read back from its text."""

from __future__ import annotations

from collections.abc import Sequence

from builder.draw.board import placement
from builder.draw.glyphs import GLYPH_TO_PIECE


def placement_of(read: Sequence[str], flip: bool = False) -> str:
    """The FEN placement of a board, from its lines of text.

    Letters that stand for no square (coordinates, spaces, the side to move) are passed over,
    and lines without squares too. Raises ValueError when eight rows of eight do not remain.
    """
    found = []
    for line in read:
        row = "".join(GLYPH_TO_PIECE.get(letter, "") for letter in line)
        if row:
            found.append(row)
    if [len(row) for row in found] != [8] * 8:
        raise ValueError(f"not a board: {found}")
    if flip:
        found = [row[::-1] for row in reversed(found)]
    return placement(tuple(found))
