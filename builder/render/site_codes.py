"""Codes on paper that lead to the booklet's site.

In: the site's address, and beside what codes are wanted. Out: a code with the link written out,
for readers without a phone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from markupsafe import Markup, escape

from builder import names
from builder.draw.qr import qr_code
from builder.model import Chapter, Exercise
from builder.settings import Settings


@dataclass(frozen=True, slots=True)
class SiteCodes:
    """`address` ends in a slash; `at` holds "chapters", "exercises", "cover", or not."""

    address: str = ""
    at: tuple[str, ...] = ()

    def chapter(self, chapter: Chapter) -> Markup:
        """The code beside a chapter's opening; empty where none is wanted."""
        return self._code("chapters", names.chapter_page(chapter.slug))

    def exercise(self, exercise: Exercise) -> Markup:
        """The code beside a task, which leads to the same task on the site."""
        page = names.chapter_page(exercise.chapter)
        return self._code("exercises", f"{page}#{exercise.anchor}")

    def cover(self) -> Markup:
        """The code on the back cover."""
        return self._code("cover", "")

    def _code(self, place: str, page: str) -> Markup:
        if place not in self.at or not self.address:
            return Markup("")
        address = self.address + page
        code = qr_code(address, f"QR: {address}")
        shown = re.sub("^https?://", "", address).rstrip("/")
        return Markup(
            '<aside class="scan" style="width: {}mm">{}<a href="{}">{}</a></aside>'
        ).format(code.side, Markup(code.svg), address, _breakable(shown))


def _breakable(shown: str) -> Markup:
    """A link that may go on in the next line behind a slash, and before a dot or a hash."""
    return Markup(re.sub(r"(?<=/)(?=.)|(?=[.#-])", "\u200b", str(escape(shown))))


def site_codes(settings: Settings) -> SiteCodes:
    return SiteCodes(settings.address, settings.print.qr)
