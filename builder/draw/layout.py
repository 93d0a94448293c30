"""Where things lie on a drawn board, in squares: the same for SVG, print and PNG.

The squares fill 0 to 8 both ways, y downwards. Round them runs a thin rule and a bold one.
"""

from __future__ import annotations

THIN = 0.025  # the thin rule's width; it touches the squares
GAP = 0.05  # between the rules
BOLD = 0.065  # the bold rule's width
FRAME = THIN + GAP + BOLD

COORDINATE = 0.46  # font size of the coordinates
DIGITS_AT = 0.37  # how far left of the squares the digits' middle is
LETTERS_AT = 0.56  # how far below the squares the letters' base line is
MOVER_AT = 0.27  # how far right of the squares the sign of the side to move begins
MOVER = 0.26  # its size
MOVER_RIM = 0.04

# Room round the squares that holds all of this.
LEFT = RIGHT = 0.62
TOP = 0.16
BOTTOM = 0.74
WIDTH = LEFT + 8 + RIGHT
HEIGHT = TOP + 8 + BOTTOM

HATCH_STEP = 0.125  # between hatch lines along a rank: divides the square, so lines go on
HATCH = 0.022  # width of a hatch line
