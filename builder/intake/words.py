"""Words from a file that may be hostile: cleaned once, escaped wherever they are written.

What a comment says must come out of Markdown as it went in, and nothing in it may become one of
our pieces, HTML or the end of the block that it stands in.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator

from builder.pgn.words import clean

WIDTH = 96  # letters of a line that we write

# What Markdown, or a scanner of ours, could take for more than a letter. An `&` alone is none.
_ACTIVE = re.compile(r"[\\`*_\[\]<>~|]|&(?=[#\w])")
_LINE_START = re.compile(r"(?P<digits>\d{1,9})(?=[.)](?:\s|$))|(?=[#>+=:-])")
# A full stop behind a number is a move number's.
_SENTENCE_END = re.compile(r"(?<=[^\d\s][.!?…])[\"'”’)]*\s+(?=[\"'“‘(]*[^\W\d_a-z])")


def toml_text(text: str) -> str:
    """A TOML basic string. JSON's escapes are among TOML's, once control codes are gone."""
    return json.dumps(clean(text), ensure_ascii=False)


def escaped(text: str) -> str:
    """Cleaned words as the inside of a Markdown paragraph, or of a comment in braces."""
    text = _ACTIVE.sub(r"\\\g<0>", text).replace("{", "&#123;").replace("}", "&#125;")
    return "\\" + text if text.startswith("%") else text  # {% would begin a claim


def paragraph(text: str, words: Callable[[str], str] = escaped) -> list[str]:
    """Cleaned words as the lines of a Markdown paragraph; `words` escapes them."""
    return [_no_block(line) for line in wrapped(words(text).split(" "))]


def _no_block(line: str) -> str:
    """A line that begins no list, heading, quotation or rule."""
    start = _LINE_START.match(line)
    if not start:
        return line
    at = start.end()
    return f"{line[:at]}\\{line[at:]}"


def wrapped(words: Iterable[str]) -> Iterator[str]:
    """Words on lines of at most `WIDTH` letters, where they fit."""
    line = ""
    for word in words:
        # A backslash at a line's end would be a break.
        if line and len(line) + 1 + len(word) > WIDTH and not line.endswith("\\"):
            yield line
            line = word
        else:
            line = f"{line} {word}" if line else word
    if line:
        yield line


def paragraphs(text: str, most: int = 700) -> list[str]:
    """A long text in parts of about `most` letters, parted between sentences."""
    parts: list[str] = []
    for sentence in sentences(text):
        if parts and len(parts[-1]) + len(sentence) < most:
            parts[-1] += " " + sentence
        else:
            parts.append(sentence)
    return parts


def sentences(text: str) -> list[str]:
    """The sentences with the quotation marks that end them, nothing lost."""
    found: list[str] = []
    at = 0
    for gap in _SENTENCE_END.finditer(text):
        end = gap.start() + len(gap.group().rstrip())
        found.append(text[at:end])
        at = gap.end()
    return [*found, text[at:]]
