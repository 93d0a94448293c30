"""A booklet's own marks in the comments of its PGN file, as `builder.write.pgn` puts them there."""

from __future__ import annotations

import re

from builder.write.pgn_remarks import LIKE_A_MARK, MARK

_MARKS = re.compile(rf"(?:(?:{MARK.pattern})\s*)+")
_GUARD = re.compile(rf"- (?={LIKE_A_MARK.pattern})")


def without_marks(comment: str) -> str:
    """A comment's own words. A comment that begins with a space has no marks."""
    words = " ".join(comment.split())
    marks = None if comment[:1].isspace() else _MARKS.match(words)
    if marks is None:
        return words
    rest = words[marks.end() :]
    return rest[2:] if _GUARD.match(rest) else rest
