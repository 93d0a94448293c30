"""Signs behind moves, and the NAGs that they stand for."""

from __future__ import annotations

# PGN standard section 10, NAGs 1 to 6.
SUFFIX_NAGS = {"!": 1, "?": 2, "!!": 3, "??": 4, "!?": 5, "?!": 6}
# The written forms of NAGs 10 to 19 that the contract names, and the typeset forms of the same.
SIGN_NAGS = {
    "=": 10, "∞": 13, "+=": 14, "⩲": 14, "=+": 15, "⩱": 15, "+/-": 16, "±": 16,
    "-/+": 17, "∓": 17, "+-": 18, "+−": 18, "-+": 19, "−+": 19,
}  # fmt: skip
