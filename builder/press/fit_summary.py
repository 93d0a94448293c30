"""The summary on one page: in the largest type that fits, and if none does with fewer branches."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from builder.press.weasy import Spot
from builder.render.handouts.branches import (
    Repertoire, branch_count, family_count, thinned,
)  # fmt: skip
from builder.render.handouts.columns import Column, Strip, balanced
from builder.render.handouts.paper import GALLEY_HEIGHT, Paper
from builder.render.handouts.summary import (
    ShownStrip, Summary, galley_html, strip_anchor, summary,
)  # fmt: skip
from builder.render.handouts.summary_page import BOARDS, SIZES, Setting
from builder.settings import PrintSettings

# Lays out a galley and tells where its anchors stand.
Measure: TypeAlias = Callable[[str], Mapping[str, Spot]]


@dataclass(frozen=True, slots=True)
class FittedSummary:
    summary: Summary
    setting: Setting
    columns: tuple[Column, ...]
    boards: int


class SummaryFitter:
    """Finds out how a summary fits on a page. Laying out takes most of the time, so each line
    is measured once in each type size."""

    def __init__(self, paper: Paper, page_of: Mapping[str, int], page: PrintSettings,
                 measure: Measure) -> None:  # fmt: skip
        self._paper = paper
        self._page_of = page_of
        self._page = page
        self._measure = measure
        self._heights: dict[tuple[float, ShownStrip], float] = {}

    def fit(self, found: Sequence[Repertoire]) -> FittedSummary | None:
        """None where even the first moves don't fit."""
        whole = summary(self._paper, found, self._page_of, 0)
        best = self._set(whole, SIZES[-1])
        if best is None:
            return self._thinned(found)
        low, high = 0, len(SIZES) - 1  # the last is known to fit
        while low < high:
            middle = (low + high) // 2
            fitted = self._set(whole, SIZES[middle])
            if fitted is None:
                low = middle + 1
            else:
                best, high = fitted, middle
        return best

    def _thinned(self, found: Sequence[Repertoire]) -> FittedSummary | None:
        """In the smallest type, with as many families of branches as fit."""
        best = None
        low, high = 0, family_count(found)  # so many fit, so many don't
        while low + 1 < high:
            middle = (low + high) // 2
            thin = thinned(found, middle)
            left_out = branch_count(found) - branch_count(thin)
            fitted = self._set(summary(self._paper, thin, self._page_of, left_out), SIZES[-1])
            if fitted is None:
                high = middle
            else:
                best, low = fitted, middle
        return best

    def _set(self, what: Summary, size: float) -> FittedSummary | None:
        """With as many boards as there is room for; None where the strips don't fit."""
        at = Setting(self._page.width, self._page.height, size)
        strips = self._strips(what.strips, at)
        for boards in (*(count for count in BOARDS if count <= len(what.keys)), 0):
            columns = balanced(strips, at.columns, at.room(boards, what.left_out > 0))
            if columns is not None:
                return FittedSummary(what, at, columns, boards)
        return None

    def _strips(self, shown: Sequence[ShownStrip], at: Setting) -> tuple[Strip, ...]:
        widest = [strip.at_its_widest for strip in shown]
        self._measure_new({strip: None for strip in widest
                           if (at.size, strip) not in self._heights}, at)  # fmt: skip
        return tuple(Strip(self._heights[at.size, wide], strip.keep)
                     for strip, wide in zip(shown, widest, strict=True))  # fmt: skip

    def _measure_new(self, strips: Iterable[ShownStrip], at: Setting) -> None:
        new = tuple(strips)
        if not new:
            return
        spots = self._measure(galley_html(self._paper, new, at))
        anchors = (spots[strip_anchor(index)] for index in range(len(new) + 1))
        tops = [spot.page * GALLEY_HEIGHT + spot.top for spot in anchors]
        for strip, top, bottom in zip(new, tops, tops[1:], strict=False):
            self._heights[at.size, strip] = bottom - top
