"""A PGN game's movetext to tokens of our own.

In: a game as `builder.pgn` cuts it out of its file. Out: the same stream as that of a `line`
block, so that both are played by one player; the places are those of the PGN file. The words of
such a file are words and no language of ours: nothing in them is Markdown, a claim or a piece.
Moves in them that are written with their number may be found again in the lines (`MovesSource`
with `maybe`).

Section numbers are those of the PGN standard (revision of 1994-03-12).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from builder import model
from builder.pgn.games import RawGame
from builder.pgn.nags import SIGN_NAGS, SUFFIX_NAGS
from builder.pgn.tell import Stretch, Teller
from builder.pgn.tokens import COMMAND, MOVE_LIKE, TOKEN, plain_san
from builder.pgn.words import clean
from builder.place import Place
from builder.source.syntax import (
    CloseToken, CommentToken, Inline, MoveItem, MoveToken, MovesSource, NagToken, NumberToken,
    OpenToken, ResultToken,
)  # fmt: skip

MOST_PLIES = 5_000  # of a game that is set, with its variations
MOST_DEPTH = 100  # variations in one another
MOST_COMMENT = 20_000  # letters
MOST_MENTIONS = 100  # moves in a game's comments that are looked for in the lines

_SAN = r"(?:O-O(?:-O)?|0-0(?:-0)?|[KQRBN]?[a-h]?[1-8]?x?[a-h][1-8](?:=[QRBN])?)[+#]?[!?]{0,2}"
_MENTION = re.compile(
    rf"(?<![\w.])(?P<number>\d{{1,3}})\s?(?P<dots>\.\.\.|…|\.)\s?{_SAN}"
    rf"(?:\s(?:\d{{1,3}}\s?\.\s?)?{_SAN})*(?![\w=+-])"
)
_PART = re.compile(rf"(?P<number>(?P<digits>\d{{1,3}})\s?(?P<dots>\.\.\.|…|\.))|(?P<san>{_SAN})")


@dataclass(slots=True)
class _Level:
    """One level of nesting: the half-moves before its next move, and whether one was written."""

    ply: int
    opened: Place | None = None
    written: bool = False


@dataclass(slots=True)
class GameReader:
    """Reads one game. `first_ply` are the half-moves before its first move."""

    game: RawGame
    tell: Teller
    first_ply: int
    items: list[MoveItem] = field(default_factory=list)
    levels: list[_Level] = field(default_factory=list)
    plies: int = 0
    mentions: int = 0
    full: bool = False

    @property
    def text(self) -> Stretch:
        return self.game.movetext

    def read(self) -> tuple[MoveItem, ...]:
        """The game's tokens up to its result, with variations properly closed."""
        self.levels = [_Level(self.first_ply)]
        text, at = self.text.text, 0
        while at < len(text) and not self.full:
            match = TOKEN.match(text, at)
            assert match is not None and match.lastgroup is not None  # `stray` takes the rest
            at = match.end()
            self._take(match.lastgroup, match)
            if self.items and isinstance(self.items[-1], ResultToken):
                break
        for level in self.levels[1:][::-1]:
            assert level.opened is not None
            if not self.full:
                self._error("variation-open", level.opened, "this variation is never closed",
                            "put ) at its end")  # fmt: skip
            self.items.append(CloseToken(level.opened))
        return tuple(self.items)

    def _take(self, kind: str, match: re.Match[str]) -> None:
        text, place = match.group(), self._place(*match.span())
        level = self.levels[-1]
        match kind:
            case "space":
                pass
            case "comment":
                if not text.endswith("}"):
                    self._error("comment-open", self._place(match.start(), match.start() + 1),
                                "this comment is never closed", "put } at its end")  # fmt: skip
                self._comment(text[1:].removesuffix("}"), place)
            case "rest":
                self._comment(text[1:], place)
            case "open":
                self._open(place, level)
            case "close":
                self._close(place)
            case "nag":
                self._nag(text, place, level)
            case "suffix":
                self._sign(SUFFIX_NAGS.get(text), text, place, level)
            case "sign":
                self._sign(SIGN_NAGS.get(text), text, place, level)
            case "result":
                if len(self.levels) == 1:
                    result = {"1/2": "1/2-1/2", "½-½": "1/2-1/2"}.get(text, text)
                    self.items.append(ResultToken(result, place))
            case "number":
                self._number(text, place, level)
            case "san" | "castling" | "passing":
                self._move("--" if kind == "passing" else plain_san(text), place, level)
            case _:
                self._word(text, place, level)

    # --- moves -------------------------------------------------------------------------------

    def _move(self, san: str, place: Place, level: _Level) -> None:
        self.plies += 1
        if self.plies > MOST_PLIES:
            self.full = True
            self._error("pgn-large", place, f"this game has more than {MOST_PLIES:,} moves",
                        "a game that is set has fewer: take variations away")  # fmt: skip
            return
        level.ply += 1
        level.written = True
        self.items.append(MoveToken(san, place))

    def _number(self, text: str, place: Place, level: _Level) -> None:
        """A number that is wrong is told; the moves count (8.2.2: numbers are for the reader)."""
        digits = re.match(r"\d+", text)
        assert digits is not None
        number, black = divmod(level.ply, 2)
        if int(digits.group()[:9]) != number + 1:
            self.tell.warning("move-number", place, f"move number {text.strip()[:12]} is wrong",
                              f"it should be {number + 1}{'...' if black else '.'}")  # fmt: skip

    def _word(self, text: str, place: Place, level: _Level) -> None:
        """A word that looks like a move and is none ends its line; any other is passed over."""
        if text in ("e.p.", "ep"):
            return
        if MOVE_LIKE.match(text):
            self._error("move-syntax", place, f"{text[:40]} is not a move",
                        "moves are written with English letters: K Q R B N")  # fmt: skip
            self._move("", place, level)  # Kept, so that what is behind it is not misread.
        else:
            self.tell.warning("pgn-text", place,
                              f"{text[:40]} has no meaning here, and is left out",
                              "words belong into braces: { … }")  # fmt: skip

    # --- variations --------------------------------------------------------------------------

    def _open(self, place: Place, level: _Level) -> None:
        if len(self.levels) > MOST_DEPTH:
            self.full = True
            self._error("pgn-large", place,
                        f"variations are nested more than {MOST_DEPTH} deep")  # fmt: skip
            return
        self.items.append(OpenToken(place))
        self.levels.append(_Level(max(0, level.ply - 1), place))

    def _close(self, place: Place) -> None:
        if len(self.levels) == 1:
            self._error("variation-close", place, "no variation is open here", "take the ) away")
            return
        self.levels.pop()
        self.items.append(CloseToken(place))

    # --- signs and words ---------------------------------------------------------------------

    def _nag(self, text: str, place: Place, level: _Level) -> None:
        number = int(text[1:5] or -1)
        if not 0 <= number <= 255 or len(text) > 4:
            self.tell.warning("nag", place, f"{text[:20]} is no NAG", "NAGs are $0 to $255")
        elif number:  # 0 says nothing (10).
            self._sign(number, text, place, level)

    def _sign(self, nag: int | None, text: str, place: Place, level: _Level) -> None:
        if nag is None:
            self.tell.warning("nag", place, f"{text[:20]} is no move sign",
                              "signs: " + " ".join(SUFFIX_NAGS))  # fmt: skip
        elif not level.written:
            self.tell.warning("nag-place", place, "this sign stands behind no move")
        else:
            self.items.append(NagToken(nag, place))

    def _comment(self, raw: str, place: Place) -> None:
        """Commands for programs are left out without a word: a game's file keeps them."""
        words = clean(COMMAND.sub(" ", raw))
        if len(words) > MOST_COMMENT:
            self.tell.warning("pgn-large", place,
                              f"this comment is longer than {MOST_COMMENT:,} letters, and is cut")
            words = words[:MOST_COMMENT].rsplit(" ", 1)[0] + " …"
        if words:
            self.items.append(CommentToken(tuple(self._inlines(words, place)), place))

    def _inlines(self, words: str, place: Place) -> Iterator[Inline]:
        """The words, with the moves in them."""
        done = 0
        for match in _MENTION.finditer(words):
            if self.mentions >= MOST_MENTIONS:
                break
            self.mentions += 1
            if match.start() > done:
                yield model.Text(words[done : match.start()])
            yield MovesSource(None, tuple(_mentioned(match.group(), place)), place,
                              maybe=match.group())  # fmt: skip
            done = match.end()
        if done < len(words):
            yield model.Text(words[done:])

    def _place(self, start: int, end: int) -> Place:
        return self.text.place(start, end)

    def _error(self, code: str, place: Place, message: str, hint: str = "") -> None:
        self.tell.error(code, place, message, hint)


def _mentioned(text: str, place: Place) -> Iterator[NumberToken | MoveToken | NagToken]:
    for part in _PART.finditer(text):
        if part.group("number"):
            dots = 1 if part.group("dots") == "." else 3
            yield NumberToken(int(part.group("digits")), dots, place)
        else:
            san = part.group("san").rstrip("!?")
            yield MoveToken(plain_san(san), place)
            signs = part.group("san")[len(san) :]
            if signs in SUFFIX_NAGS:
                yield NagToken(SUFFIX_NAGS[signs], place)
