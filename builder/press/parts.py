"""A document in parts that can be laid out each by itself.

A theme's template says where they begin, with a comment:

    <!-- part main recto -->

The first word says where in the book it stands (`Role`), the second on which side it opens:
`recto`, or `next` for the page that comes next. `<!-- end of parts -->` closes the last one; what
stands before the first and behind the last belongs to each. A document without such comments is
one part of the main matter.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from html import unescape

from builder.press.numbers import hole
from builder.render.page_numbers import MARK, MARKED, ONE, ZERO, unmarked

ELSEWHERE = "elsewhere:"  # the addresses of other parts' anchors begin so
SEAM = "seam"  # the anchor of the page behind a part, which is left out
_PART = re.compile(r"<!-- part (front|main|back) (recto|next) -->")
_END = re.compile(r"<!-- end of parts -->")
_SEAM = f'<div id="{SEAM}" style="break-before: recto"></div>\n'
_ID = re.compile(r"""<[^>]*?\sid="([^"]*)\"""")
_LINK = re.compile(r"""(<a\b[^>]*?\shref=")#([^"]*)("[^>]*)>""")


class Role(Enum):
    """The front has page numbers of its own, in roman; the main matter begins with page 1 and the
    back goes on."""

    FRONT = "front"
    MAIN = "main"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class Part:
    """HTML that is laid out by itself.

    Marks in `html` stand for page numbers (`builder.render.page_numbers`), those of `refers_to`;
    `anchors` are its own. `recto` says that it opens on a right-hand page; `closes`, that what
    follows does, so that it ends with a blank page where needed.
    """

    role: Role
    recto: bool
    html: str
    anchors: frozenset[str]
    refers_to: tuple[str, ...]
    closes: bool = False

    def text(self, places: Callable[[str], int]) -> str:
        """The HTML with room for the page numbers; `places` tells how many digits they have."""
        index = {anchor: number for number, anchor in enumerate(self.refers_to)}

        def room(mark: re.Match[str]) -> str:
            anchor = unescape(mark[1])
            return hole(index[anchor], places(anchor))

        return MARKED.sub(room, self.html)


def split(main: str, frame: str = "") -> tuple[Part, ...]:
    """The parts of the main matter and of its frame in the order of the book."""
    found = _split(unmarked(main), Role.MAIN)
    if frame:
        found += _split(frame.translate({ord(ZERO): None, ord(ONE): None}), Role.FRONT)
    ordered = [part for role in Role for part in found if part.role is role]
    known = frozenset(anchor for part in ordered for anchor in part.anchors)
    closing = [part.recto for part in ordered[1:]] + [False]
    return tuple(_linked(part, known, closes) for part, closes in zip(ordered, closing, strict=True))


def _split(html: str, alone: Role) -> list[Part]:
    marks = list(_PART.finditer(html))
    if not marks:
        return [_part(alone, True, html)]
    end = _END.search(html, marks[-1].end())
    stop, tail = (end.start(), html[end.end() :]) if end else (len(html), "")
    head, until = html[: marks[0].start()], [*(mark.start() for mark in marks[1:]), stop]
    return [
        _part(Role(mark[1]), mark[2] == "recto", head + html[mark.end() : at] + tail)
        for mark, at in zip(marks, until, strict=True)
    ]


def _part(role: Role, recto: bool, html: str) -> Part:
    return Part(role, recto, html, frozenset(map(unescape, _ID.findall(html))), ())


def _linked(part: Part, known: frozenset[str], closes: bool) -> Part:
    """Links to other parts get an address that WeasyPrint takes for one outside, and all links
    within the booklet the page that they lead to, for the theme's `attr(data-at)`."""

    def mark(found: re.Match[str]) -> str:
        """One of ours, and not something that an author wrote."""
        return found[0] if unescape(found[1]) in known else found[1]

    def link(found: re.Match[str]) -> str:
        before, name, after = found.groups()
        anchor = unescape(name)
        if anchor not in known:
            return found[0]  # WeasyPrint tells that it leads nowhere
        address = ("#" if anchor in part.anchors else ELSEWHERE) + name
        return f'{before}{address}{after} data-at="{MARK}{name}{MARK}">'

    html = _LINK.sub(link, MARKED.sub(mark, part.html))
    if closes:
        at = html.rfind("</body>")
        html = html[:at] + _SEAM + html[at:] if at >= 0 else html + _SEAM
    refers_to = dict.fromkeys(unescape(anchor) for anchor in MARKED.findall(html))
    return replace(part, html=html, refers_to=tuple(refers_to), closes=closes)
