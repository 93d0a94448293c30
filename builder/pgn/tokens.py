"""The tokens of PGN movetext: the standard's (section 7), and what real files add to them."""

from __future__ import annotations

import re

import chess

from builder.pgn.nags import SIGN_NAGS

_SQUARE = "[a-h][1-8]"
_SIGNS = "|".join(re.escape(sign) for sign in sorted(SIGN_NAGS, key=len, reverse=True))
TOKEN = re.compile(
    rf"""(?P<space>\s+)
    |(?P<comment>\{{[^}}]*\}}?)
    |(?P<rest>;[^\n]*)
    |(?P<open>\()
    |(?P<close>\))
    |(?P<nag>\$\d*)
    |(?P<result>(?:1-0|0-1|1/2(?:-1/2)?|½-½|\*)(?=[\s(){{}};]|$))
    |(?P<passing>(?:--|Z0|0000|@@@@)(?=[\s(){{}};$!?]|$))
    |(?P<castling>[O0o]-[O0o](?:-[O0o])?(?:\+\+|[+#](?![-/=]))?)
    |(?P<number>\d+(?:[ \t]*\.[.\s]*|…|(?=\s|$)))
    |(?P<san>[KQRBNP]?[a-h]?[1-8]?[-x:]?{_SQUARE}(?:=?[QRBN]|=?[qrbn](?![a-h\d])|\([QRBN]\)|/[QRBN])?
        (?:\+\+|[+#](?![-/=]))?(?:\s?e\.p\.|ep\b)?(?!\w|=[A-Za-z]))
    |(?P<sign>{_SIGNS}(?=[\s(){{}};$]|$))
    |(?P<suffix>[!?]+)
    |(?P<word>[^\s(){{}};$!?]+)
    |(?P<stray>.)""",
    re.VERBOSE | re.DOTALL,
)
# What looks like a move and is none: a piece's letter in another language, a move of other rules.
MOVE_LIKE = re.compile(rf"[^\s]{{0,4}}{_SQUARE}\S{{0,4}}$")
# What programs write into comments for one another.
COMMAND = re.compile(r"\[%\s*(\w+)[^\]]*\]?")


def plain_san(text: str) -> str:
    """A move as `chess` reads it."""
    text = re.sub(r"\s?e\.p\.$|ep$", "", text).replace(":", "x").replace("++", "+")
    if text[0] in "O0o":
        return text.replace("0", "O").replace("o", "O")
    text = re.sub(r"[(/]([QRBN])\)?", r"=\1", text)
    return text.removeprefix("P")


def uci_move(text: str, board: chess.Board) -> chess.Move | None:
    """A legal move written as `g1f3` or `e7e8q`."""
    match = re.fullmatch(rf"({_SQUARE})[-x]?({_SQUARE})=?([QRBNqrbn])?[+#]?", text)
    if match is None:
        return None
    promotion = chess.PIECE_SYMBOLS.index(match.group(3).lower()) if match.group(3) else None
    move = chess.Move(chess.parse_square(match.group(1)), chess.parse_square(match.group(2)),
                      promotion)  # fmt: skip
    return move if board.is_legal(move) else None
