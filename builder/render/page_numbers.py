"""Page numbers that are not known yet: a mark in the HTML stands for the page of an anchor.

The press lays pages out with zeros for the marks and fills in the numbers when all pages are
known (`builder.press.numbers`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from markupsafe import Markup, escape

# U+2063, INVISIBLE SEPARATOR, and its neighbours: letters without a shape that no text needs
# (Unicode, General Punctuation: invisible operators for formulas). `unmarked` takes them out of
# what authors wrote.
MARK = "\u2063"
ZERO, ONE = "\u2061", "\u2062"
MARKED = re.compile(f"{MARK}([^{MARK}<>]+){MARK}")


class PageMarks(Mapping[str, Markup]):
    """For templates: `page_of[anchor]` is the mark that the page's number will replace."""

    def __getitem__(self, anchor: str) -> Markup:
        return Markup(MARK) + escape(anchor) + Markup(MARK)

    def __contains__(self, anchor: object) -> bool:
        return True

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 0


def unmarked(text: str) -> str:
    """`text` without what looks like a mark."""
    return text.translate({ord(MARK): None, ord(ZERO): None, ord(ONE): None})
