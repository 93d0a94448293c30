"""What stands at the moves of a game: comments, NAGs and the signs that stand for them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from builder.intake.levels import Level, Told
from builder.intake.marks import without_marks
from builder.intake.tree import MOST_COMMENTS, Node
from builder.pgn.nags import SUFFIX_NAGS
from builder.pgn.tokens import COMMAND
from builder.pgn.words import clean

MOST_COMMENT = 20_000  # letters


def add_words(node: Node, words: Iterable[str]) -> None:
    """Puts comments behind a move, each once."""
    node.after = tuple(dict.fromkeys((*node.after, *words)))


@dataclass(frozen=True, slots=True)
class Remarks:
    """Puts remarks to the moves they stand at, up to `last_ply`. `own` tells that a booklet's marks
    stand in the comments."""

    told: Told
    own: bool
    last_ply: int

    def comment(self, raw: str, at: int, level: Level, outermost: bool) -> None:
        """The comment `raw` at offset `at`; in front of a variation's first move it waits for that."""
        if level.is_left_out(self.last_ply):
            return
        for command in COMMAND.finditer(raw):
            span = at + command.start() + 1, at + command.end() + 1
            self.told.leave(
                f"commands for programs, [%{command.group(1)[:20]} …], are left out", *span
            )
        words = COMMAND.sub(" ", raw)
        text = clean(without_marks(words) if self.own else words)
        if len(text) > MOST_COMMENT:
            self.told.warning(
                "pgn-large", at, at + 1,
                f"this comment is longer than {MOST_COMMENT:,} letters, and is cut",
            )  # fmt: skip
            text = text[:MOST_COMMENT].rsplit(" ", 1)[0] + " …"
        if not text:
            return
        if len(level.opening) + len(level.last.after) >= MOST_COMMENTS:
            self.told.leave(f"comments beyond {MOST_COMMENTS} at one move are left out", at, at + 1)
        elif level.written or outermost:
            add_words(level.last, [text])
        else:
            level.opening.append(text)

    def nag(self, text: str, match: re.Match[str], level: Level) -> None:
        """A NAG as written, `$14`."""
        number = int(text[1:5] or -1)
        if not 0 <= number <= 255 or len(text) > 4:
            self.told.warning("nag", *match.span(), f"{text[:20]} is no NAG", "NAGs are $0 to $255")
        elif number:  # 0 says nothing (10).
            self.add_nag(number, match, level)

    def suffix(self, text: str, match: re.Match[str], level: Level) -> None:
        """A sign behind a move, as `!?`."""
        if text in SUFFIX_NAGS:
            self.add_nag(SUFFIX_NAGS[text], match, level)
        else:
            self.told.warning("nag", *match.span(), f"{text[:20]} is no move sign",
                              "signs: " + " ".join(SUFFIX_NAGS))  # fmt: skip

    def add_nag(self, number: int, match: re.Match[str], level: Level) -> None:
        """Gives the NAG of that number to the level's last move."""
        if level.is_left_out(self.last_ply):
            return
        if level.written:
            if number not in level.last.nags:
                level.last.nags += (number,)
        else:
            self.told.warning("nag-place", *match.span(), "this sign stands behind no move")
