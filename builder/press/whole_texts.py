"""Mends a fault of WeasyPrint 70: a text that fits its line all but the space at its end, with more
to come behind it, is cut after its first word, and the rest of the line stays empty.

(`split_first_line` finds the whole text on Pango's first line, as Pango leaves the space out of
account, but wider than there is room, as it itself does not; so it takes the first word to be wider
than the line. The space may hang over the end of a line: CSS Text 3, 4.1.2.)
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def whole_texts() -> Iterator[None]:
    """While WeasyPrint lays out."""
    from weasyprint.layout import inline

    split = inline.split_first_line

    def mended(text: str, style: Any, context: Any, room: float | None, *more: Any,
               **named: Any) -> Any:  # fmt: skip
        found = split(text, style, context, room, *more, **named)
        _, length, rest, *_ = found
        if rest is None or room is None or not text.endswith(" "):
            return found
        if b" " in text.encode()[:length].strip(b" "):
            return found  # more than one word, so a cut that was sought
        *_, rest, width, _, _ = split(text.rstrip(" "), style, context, room, *more, **named)
        if rest is not None or width > room:
            return found
        return split(text, style, context, None, *more, **named)

    inline.split_first_line = mended
    try:
        yield
    finally:
        inline.split_first_line = split
