"""Where something stands further on in a text.

A sign that opens something asks where the one stands that closes it. In a chapter with thousands
of open ones each question would read on to the end; here each kind of sign is looked for once.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field

_BLANK = re.compile(r"\n(?=[ \t>]*\n)")
_TICKS = re.compile("`+")


@dataclass(slots=True)
class Ahead:
    """Looks ahead in `text[start:end]`."""

    text: str
    start: int
    end: int
    _found: dict[str, list[int]] = field(default_factory=dict)

    def find(self, sign: str, at: int) -> int | None:
        """The next `sign` from `at` on; as many backticks in a row as it has, if it is of these."""
        return _next(self._places(sign), at)

    def in_paragraph(self, sign: str, at: int) -> int | None:
        """The same, if no blank line comes before it."""
        return self._before_blank(self.find(sign, at), at)

    def round_close(self, at: int) -> int | None:
        """The next `)` from `at` on that no quotation marks enclose."""
        quotes = bisect_left(self._places('"'), at)
        return _next(self._places(f"){quotes % 2}"), at)

    def round_close_in_paragraph(self, at: int) -> int | None:
        return self._before_blank(self.round_close(at), at)

    def is_quoted_at_end(self, at: int) -> bool:
        """Whether quotation marks from `at` on are left open."""
        quotes = self._places('"')
        return (len(quotes) - bisect_left(quotes, at)) % 2 == 1

    def _before_blank(self, found: int | None, at: int) -> int | None:
        blank = _next(self._places("\n"), at)
        return None if found is None or (blank is not None and blank < found) else found

    def _places(self, sign: str) -> Sequence[int]:
        if sign not in self._found:
            self._found.setdefault(sign, [])
            if sign[0] == "`":
                for match in _TICKS.finditer(self.text, self.start, self.end):
                    self._found.setdefault(match.group(), []).append(match.start())
            elif sign[0] == ")":  # with an even number of quotation marks before it, or an odd one
                quotes = self._places('"')
                self._found |= {")0": [], ")1": []}
                for place in self._all(")"):
                    self._found[f"){bisect_left(quotes, place) % 2}"].append(place)
            elif sign == "\n":
                self._found[sign] = [
                    match.start() for match in _BLANK.finditer(self.text, self.start, self.end)
                ]
            else:
                self._found[sign] = self._all(sign)
        return self._found[sign]

    def _all(self, sign: str) -> list[int]:
        signs = re.compile(re.escape(sign)).finditer(self.text, self.start, self.end)
        return [match.start() for match in signs]


def _next(places: Sequence[int], at: int) -> int | None:
    index = bisect_left(places, at)
    return places[index] if index < len(places) else None
