"""The signs that judge a position: NAGs 10 to 19 of the PGN standard (section 10)."""

from __future__ import annotations

# NAGs 10 to 12 all say that the game is level (PGN standard, section 10).
ASSESSMENTS = {nag: nag for nag in range(13, 20)} | {10: 10, 11: 10, 12: 10}
ASSESSMENT_SIGNS = {
    10: "=", 13: "unclear", 14: "+=", 15: "=+", 16: "+/-", 17: "-/+", 18: "+-", 19: "-+",
}  # fmt: skip
