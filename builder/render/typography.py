"""Straight quotation marks and apostrophes to those of print; in French, signs that stay on their line.

In: plain text and what stands before it. Out: the text with the marks that the language uses.
An author types what the keyboard has; what he types in the marks of print stays as it is.
Source of the marks: common practice of the languages' printers, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

APOSTROPHE = "’"
_STRAIGHT = re.compile(r"['\"]")
_BEFORE_OPENING = " \t\n\u00a0\u202f([{—–-/“‘„‚«‹"


@dataclass(frozen=True, slots=True)
class Quotes:
    """The marks round words, and round words within those."""

    opening: str
    closing: str
    inner_opening: str
    inner_closing: str


_ENGLISH = Quotes("“", "”", "‘", "’")
# A narrow no-break space keeps French marks off their words and on their line.
_MARKS = {
    "de": Quotes("„", "“", "‚", "‘"),
    "fr": Quotes("«\u202f", "\u202f»", "‘", "’"),
    "es": Quotes("«", "»", "“", "”"),
    "it": Quotes("«", "»", "“", "”"),
}


def quotes(text: str, language: str, before: str = "") -> str:
    """`text` with printed marks; `before` is the character that stands in front of it."""
    text = signs_kept(text, language)
    if "'" not in text and '"' not in text:
        return text
    marks = _MARKS.get(language, _ENGLISH)
    open_inner = False

    def printed(match: re.Match[str]) -> str:
        nonlocal open_inner
        at = match.start()
        last = text[at - 1] if at else before
        following = text[at + 1 : at + 2]
        opens = (not last or last in _BEFORE_OPENING) and bool(following.strip())
        if match.group() == '"':
            return marks.opening if opens else marks.closing
        if opens:
            open_inner = True
            return marks.inner_opening
        if following.isalnum() or not open_inner:
            return APOSTROPHE
        open_inner = False
        return marks.inner_closing

    return _STRAIGHT.sub(printed, text)


def signs_kept(text: str, language: str) -> str:
    """`text` with the spaces by which French sets signs off its words made ones that end no line:
    a colon has a whole space, the others a narrow one."""
    if language != "fr":
        return text
    text = re.sub(r" (?=:)", "\u00a0", text)
    text = re.sub(r" (?=[;!?»])", "\u202f", text)
    return re.sub(r"(?<=«) ", "\u202f", text)
