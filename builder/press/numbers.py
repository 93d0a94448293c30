"""Page numbers that are filled in when a page is laid out already.

Chapters are laid out side by side, before anybody knows where they begin. So a page is set with
zeros for every page number that it prints, its own and those of references: as many zeros as the
number has digits. A zero is as wide as any digit in most faces; where it is not, each digit is
set in the middle of a zero's width. The layout depends on how many digits a number has, and not
on the number: a chapter that grows by two pages leaves the pages of all others as they are.

In the text, zeros to be replaced stand between letters without a shape, which name the number
(`hole`). WeasyPrint draws such a letter as an empty string and an adjustment written with a
decimal point, where its other adjustments within a line are whole numbers; that is how the zeros
are found in what it drew (`find`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from builder.render.page_numbers import MARK, ONE, ZERO

# A page's counter runs from here, so that it is told apart from other counters.
FIRST = 1_000_000
SPECIMEN = f"{MARK}{MARK}0123456789{MARK}"
_HOLE = re.compile(f"{MARK}([{ZERO}{ONE}]*){MARK}(0+){MARK}")
_HEX = re.compile(rb"<([0-9a-f]*)>")
_POINT = rb"-?\d+\.\d+(?:e-?\d+)?"


@dataclass(frozen=True, slots=True)
class Digits:
    """How one style sets the digits: their glyphs, and their widths in thousandths of an em."""

    glyphs: tuple[int, ...]
    widths: tuple[int, ...]

    def show(self, number: str, places: int) -> bytes:
        """The elements of a `TJ` array (ISO 32000-1, 9.4.3) that show `number` in `places`
        zeros' room; room that is left over stays empty in front."""
        shown = b"%d" % (-self.widths[0] * (places - len(number))) if places > len(number) else b""
        for digit in map(int, number):
            spare = self.widths[digit] - self.widths[0]
            before, after = spare // 2, spare - spare // 2
            shown += b"%s<%04x>%s" % (_adjust(before), self.glyphs[digit], _adjust(after))
        return shown.replace(b"><", b"")


def _adjust(by: int) -> bytes:
    return b"%d" % by if by else b""


@dataclass(frozen=True, slots=True)
class Hole:
    """Room for the number of a page in a page's content: that of an anchor, or of one of the part's
    own pages, which are counted from 0."""

    page: str | int
    places: int
    digits: Digits


# Bytes as they are, and holes between them.
Content: TypeAlias = tuple[bytes | Hole, ...]


def fill(content: Content, number: Callable[[str | int], int | None]) -> bytes:
    """The content with its numbers; where `number` knows none, the room stays empty."""
    return b"".join(
        piece if isinstance(piece, bytes) else b" %s " % _shown(piece, number(piece.page))
        for piece in content
    )


def _shown(room: Hole, number: int | None) -> bytes:
    return room.digits.show("" if number is None else str(number), room.places)


def hole(index: int | None, places: int) -> str:
    """Text for a number of `places` digits; `index` is that of its anchor among the part's, None
    for the page's own."""
    name = "" if index is None else format(index, "b").replace("0", ZERO).replace("1", ONE)
    return f"{MARK}{name}{MARK}{'0' * places}{MARK}"


def named(text: str) -> list[tuple[int | None, int]]:
    """The holes in a text: the indexes of their anchors, and their digits."""
    return [
        (int(name.replace(ZERO, "0").replace(ONE, "1"), 2) if name else None, len(zeros))
        for name, zeros in _HOLE.findall(text)
    ]


class NotFound(Exception):
    """The numbers of a text are not where they must be in what was drawn."""


def find(shown: bytes, text: str, anchors: Sequence[str], page: int,
         digits: Callable[[], Digits]) -> Content:  # fmt: skip
    """The operators that show `text` on a page, with holes for its zeros. Raises NotFound."""
    pieces: list[bytes | Hole] = []
    rest = shown
    for index, places in named(text):
        name = 0 if index is None else len(format(index, "b"))
        before, rest = _past(rest, name + 2)
        zeros, rest = _past(rest, 1)
        if len(_glyphs(zeros)) != 4 * places:
            raise NotFound
        pieces += (before, Hole(page if index is None else anchors[index], places, digits()))
    return (*pieces, rest)


def specimen(shown: bytes, widths: Mapping[int, int]) -> Digits:
    """How the digits are set, from the operators that show SPECIMEN. Raises NotFound."""
    _, rest = _past(shown, 2)
    glyphs = _glyphs(_past(rest, 1)[0])
    if len(glyphs) != 40:
        raise NotFound
    found = tuple(int(glyphs[at : at + 4], 16) for at in range(0, 40, 4))
    return Digits(found, tuple(widths[glyph] for glyph in found))


def _past(shown: bytes, count: int) -> tuple[bytes, bytes]:
    """What stands before and behind the first `count` letters without a shape that follow each
    other in an array of `TJ`."""
    letters = re.search(rb"(?:<>|(?<=>))%s(?:<>%s){%d}" % (_POINT, _POINT, count - 1), shown)
    if letters is None:
        raise NotFound
    return shown[: letters.start()], shown[letters.end() :]


def _glyphs(shown: bytes) -> bytes:
    return b"".join(_HEX.findall(shown))


def tidy(shown: bytes) -> bytes:
    """An operator without the adjustments by nothing that WeasyPrint writes behind glyphs."""
    if not shown.endswith(b"TJ"):
        return shown
    return shown.replace(b">0<", b"").replace(b">0]", b">]")
