"""Handouts as PDF.

In: a booklet, a page and what is wanted. Out: one PDF file. The backs of sheets to print on both
sides stand behind their fronts, whichever edge the printer turns the paper on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from builder.faults import Faults
from builder.model import Booklet, Exercise
from builder.place import Place
from builder.press.fit_exercises import TooHigh, fit_exercises
from builder.press.fit_summary import SummaryFitter
from builder.press.pdf import BASE, THEMES, print_theme
from builder.press.plan import Binding, Side, Turn, plan
from builder.press.themed import Themed, theme_faults, themed
from builder.press.weasy import PdfFacts, PressMissing
from builder.render.handouts import cards, exercise_sheets
from builder.render.handouts.branches import repertoires
from builder.render.handouts.deck import Card
from builder.render.handouts.offprint import offprint, offprint_medium
from builder.render.handouts.paper import Paper, handout_paper
from builder.render.print_document import print_booklet
from builder.render.theme_files import ThemeFiles
from builder.settings import SETTINGS_FILE, PrintSettings

__all__ = ["HandoutPress", "PressMissing", "Turn"]

SHEETS_THEME = "sheets"
CHAPTER_THEME = "handout"
OWN_THEME = "theme/sheets"  # in the booklet's folder: files that replace the theme's
_HERE = Place(SETTINGS_FILE, 1, 1, 2)


@dataclass(frozen=True, slots=True)
class HandoutPress:
    """Makes the handouts of the booklet in `folder`. Each method writes a PDF to `target`; it
    gives None, and faults that tell why, when there is none. They raise PressMissing."""

    booklet: Booklet
    folder: Path
    page: PrintSettings
    target: Path
    faults: Faults

    def chapter(self, slug: str) -> PdfFacts | None:
        """One chapter alone. Raises KeyError where there is no such chapter."""
        theme = print_theme(CHAPTER_THEME, self.folder, self.faults)
        if theme is None:
            return None
        alone = offprint(self.booklet, slug)
        with theme_faults(theme, self.folder, self.faults):
            medium = offprint_medium(self.booklet, frozenset({slug}))
            html = replace(print_booklet(alone, theme), medium=medium).main()
            press = themed(theme, self.page, alone, self.folder)
            return press.print(html, None, self.target, self.faults)
        return None

    def exercises(self, exercises: Sequence[Exercise], turn: Turn) -> PdfFacts | None:
        """Sheets with a solution behind each task."""
        with theme_faults(self._theme, self.folder, self.faults):
            paper, press = self._paper(), self._press()
            shown = exercise_sheets.shown_exercises(paper, exercises)
            found = fit_exercises(paper, shown, self.page,
                                  lambda html: press.measure(html, self.faults))  # fmt: skip
            if isinstance(found, TooHigh):
                self._tell_too_high([exercises[index] for index in found.indexes])
                return None
            chapters = {exercise.chapter for exercise in exercises}
            title = self.booklet.chapter(chapters.pop()).title if len(chapters) == 1 else ""
            turned = plan(2, Binding.STACK, turn, across=1, wide=self._wide)[0].back.turned
            html = exercise_sheets.exercises_html(paper, shown, found.columns, found.size,
                                                  found.sheets, turned, title)  # fmt: skip
            return press.print(html, None, self.target, self.faults)
        return None

    def cards(self, deck: Sequence[Card], turn: Turn) -> PdfFacts | None:
        """Cards to cut: the stacks laid on each other are in the deck's order."""
        with theme_faults(self._theme(), self.folder, self.faults):
            grid = cards.card_grid(self.page.width, self.page.height)
            sheets = plan(2 * len(deck), Binding.STACK, turn, across=grid.columns,
                          down=grid.rows, wide=self._wide)  # fmt: skip
            sides = [_card_side(side, back) for sheet in sheets
                     for side, back in ((sheet.front, False), (sheet.back, True))]  # fmt: skip
            html = cards.cards_html(self._paper(), deck, grid, sides)
            return self._press().print(html, None, self.target, self.faults)
        return None

    def summary(self, page_of: Mapping[str, int]) -> PdfFacts | None:
        """The repertoire on one page, as large as it fits; where it doesn't, the deepest branches
        are left out. `page_of` gives the booklet's pages by anchors, where they are known."""
        with theme_faults(self._theme(), self.folder, self.faults):
            press, found = self._press(), repertoires(self.booklet)
            fitter = SummaryFitter(self._paper(), page_of, self.page,
                                   lambda html: press.measure(html, self.faults))  # fmt: skip
            fitted = fitter.fit(found)
            if fitted is None:
                self.faults.error("handout-long", _HERE,
                                  f"not even the first moves fit on one {self.page.page_name} page",
                                  "choose a larger page with --page")  # fmt: skip
                return None
            if fitted.summary.left_out:
                self.faults.notice("handout-cut", _HERE, _left_out(fitted.summary.left_out),
                                   "a larger page with --page holds more")  # fmt: skip
            html = fitted.summary.html(fitted.setting, fitted.columns, fitted.boards)
            return press.print(html, None, self.target, self.faults)
        return None

    def _tell_too_high(self, exercises: Sequence[Exercise]) -> None:
        for exercise in exercises:
            self.faults.error(
                "handout-long", exercise.place,
                f"exercise {exercise.number} fits on no {self.page.page_name} sheet",
                "choose a larger page with --page, or print the chapter with --chapter",
            )  # fmt: skip

    @property
    def _wide(self) -> bool:
        return self.page.width > self.page.height

    def _theme(self) -> ThemeFiles:
        return ThemeFiles((self.folder / OWN_THEME, THEMES / SHEETS_THEME, THEMES / BASE))

    def _paper(self) -> Paper:
        return handout_paper(self.booklet, self._theme())

    def _press(self) -> Themed:
        return themed(self._theme(), self.page, self.booklet, self.folder)


def _card_side(side: Side, back: bool) -> cards.CardSide:
    """A card's two pages in the plan are its front and its back."""
    placed = tuple(cards.Placed(row, column, cell.page // 2)
                   for row, column, cell in side.cells() if cell.page is not None)  # fmt: skip
    return cards.CardSide(placed, back, side.turned)


def _left_out(count: int) -> str:
    what = "1 branch is" if count == 1 else f"{count} branches are"
    return f"the page has no room for the whole repertoire: {what} left out, the deepest"
