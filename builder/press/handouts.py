"""Handouts as PDF.

In: a booklet and what is wanted of it. Out: one PDF file. The backs of sheets to print on both
sides stand behind their fronts, whichever edge the printer turns the paper on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from pathlib import Path

from markupsafe import Markup

from builder.faults import Faults
from builder.model import Booklet, Chapter, Exercise
from builder.place import file_place
from builder.press.fit_exercises import TooHigh, fit_exercises
from builder.press.fit_summary import SummaryFitter
from builder.press.pdf import BASE, THEMES, print_theme
from builder.press.plan import Binding, Side, Turn, plan
from builder.press.themed import Themed, theme_faults, themed
from builder.render.handouts import cards, exercise_sheets
from builder.render.handouts.branches import branch_count, repertoires
from builder.render.handouts.deck import Card, deck
from builder.render.handouts.offprint import offprint, offprint_medium
from builder.render.handouts.paper import Paper, handout_paper
from builder.render.moves import titled
from builder.render.print_document import print_booklet
from builder.render.theme_files import ThemeFiles
from builder.settings import SETTINGS_FILE, PrintSettings

SHEETS_THEME = "sheets"
CHAPTER_THEME = "handout"
OWN_THEME = "theme/sheets"  # in the booklet's folder: files that replace the theme's
_HERE = file_place(SETTINGS_FILE)
_NO_MOVES = "there is no move that a chapter recommends to its side"


class Kind(Enum):
    CHAPTER = "chapter"
    EXERCISES = "exercises"
    SUMMARY = "summary"
    CARDS = "cards"


@dataclass(frozen=True, slots=True)
class Wanted:
    """A kind of handout, the chapter that it is made of (empty: all), and its page.

    `turn` is the edge that the printer turns sheets on, None for the one that leaves the backs
    upright.
    """

    kind: Kind
    chapter: str
    page: PrintSettings
    turn: Turn | None = None

    @property
    def edge(self) -> Turn:
        """The edge that the backs are made for."""
        return self.turn or (Turn.SHORT if self.is_wide else Turn.LONG)

    @property
    def is_wide(self) -> bool:
        return self.page.width > self.page.height

    @property
    def has_backs(self) -> bool:
        return self.kind in (Kind.EXERCISES, Kind.CARDS)


@dataclass(frozen=True, slots=True)
class Handout:
    """What was made: pages, exercises that are on it, the deck of its cards."""

    pages: int
    exercises: int = 0
    cards: tuple[Card, ...] = ()


@dataclass(frozen=True, slots=True)
class HandoutPress:
    """Makes handouts of the booklet in `folder`.

    `page_of` gives the pages of the booklet's own PDF by anchors, where they are known.
    """

    booklet: Booklet
    folder: Path
    faults: Faults
    page_of: Mapping[str, int]

    def make(self, wanted: Wanted, target: Path) -> Handout | None:
        """Writes the PDF to `target`; None, and faults that tell why, when there is none.

        `wanted.chapter` is a slug of the booklet's. Raises PressMissing.
        """
        chapters = [chapter for chapter in self.booklet.chapters
                    if wanted.chapter in ("", chapter.slug)]  # fmt: skip
        match wanted.kind:
            case Kind.CHAPTER:
                return self._chapter(chapters[0], wanted, target)
            case Kind.EXERCISES:
                return self._exercises(chapters, wanted, target)
            case Kind.SUMMARY:
                return self._summary(wanted, target)
            case Kind.CARDS:
                return self._cards(chapters, wanted, target)

    def _chapter(self, chapter: Chapter, wanted: Wanted, target: Path) -> Handout | None:
        """One chapter alone, in the theme for handouts."""
        theme = print_theme(CHAPTER_THEME, self.folder, self.faults)
        if theme is None:
            return None
        alone = offprint(self.booklet, chapter.slug)
        medium = offprint_medium(self.booklet, frozenset({chapter.slug}))
        with theme_faults(theme, self.folder, self.faults):
            html = replace(print_booklet(alone, theme), medium=medium).main()
            press = themed(theme, wanted.page, alone, self.folder)
            facts = press.print(html, target, self.faults)
            return Handout(facts.pages, len(chapter.exercises))
        return None

    def _exercises(self, chapters: Sequence[Chapter], wanted: Wanted,
                   target: Path) -> Handout | None:  # fmt: skip
        """Sheets with a solution behind each task."""
        exercises = [exercise for chapter in chapters for exercise in chapter.exercises]
        if not exercises:
            return self._tell_empty(chapters, "there are no exercises")
        with theme_faults(self._theme(), self.folder, self.faults):
            paper, press = self._paper(), self._press(wanted)
            shown = exercise_sheets.shown_exercises(paper, exercises)
            found = fit_exercises(paper, shown, wanted.page,
                                  lambda html: press.measure(html, self.faults))  # fmt: skip
            if isinstance(found, TooHigh):
                return self._tell_too_high([exercises[index] for index in found.indexes], wanted)
            sheet = plan(2, Binding.STACK, wanted.edge, across=1, wide=wanted.is_wide)[0]
            html = exercise_sheets.exercises_html(
                paper, shown, found, sheet.back.turned,
                titled(chapters[0].title, paper.medium.notation) if len(chapters) == 1 else Markup(""),
            )  # fmt: skip
            facts = press.print(html, target, self.faults)
            return Handout(facts.pages, len(exercises))
        return None

    def _cards(self, chapters: Sequence[Chapter], wanted: Wanted,
               target: Path) -> Handout | None:  # fmt: skip
        """Cards to cut: the stacks laid on each other are in the deck's order."""
        found = deck(self.booklet, [chapter.slug for chapter in chapters])
        if not found:
            return self._tell_empty(chapters, _NO_MOVES)
        with theme_faults(self._theme(), self.folder, self.faults):
            grid = cards.card_grid(wanted.page.width, wanted.page.height)
            sheets = plan(2 * len(found), Binding.STACK, wanted.edge, across=grid.columns,
                          down=grid.rows, wide=wanted.is_wide)  # fmt: skip
            sides = [_card_side(side, back) for sheet in sheets
                     for side, back in ((sheet.front, False), (sheet.back, True))]  # fmt: skip
            html = cards.cards_html(self._paper(), found, grid, sides)
            facts = self._press(wanted).print(html, target, self.faults)
            return Handout(facts.pages, cards=found)
        return None

    def _summary(self, wanted: Wanted, target: Path) -> Handout | None:
        """The repertoire on one page, as large as it fits; where it doesn't, the deepest branches
        are left out."""
        found = repertoires(self.booklet)
        if not found:
            return self._tell_empty((), _NO_MOVES)
        with theme_faults(self._theme(), self.folder, self.faults):
            press = self._press(wanted)
            fitter = SummaryFitter(self._paper(), self.page_of, wanted.page,
                                   lambda html: press.measure(html, self.faults))  # fmt: skip
            fitted = fitter.fit(found)
            if fitted is None:
                self.faults.error(
                    "handout-long", _HERE,
                    f"not even the first moves fit on one {wanted.page.page_name} page",
                    "choose a larger page with --page",
                )  # fmt: skip
                return None
            if fitted.summary.left_out:
                self._tell_left_out(fitted.summary.left_out, branch_count(found))
            html = fitted.summary.html(fitted.setting, fitted.columns, fitted.boards)
            return Handout(press.print(html, target, self.faults).pages)
        return None

    # --- the theme, and what is told ----------------------------------------------------------

    def _theme(self) -> ThemeFiles:
        return ThemeFiles((self.folder / OWN_THEME, THEMES / SHEETS_THEME, THEMES / BASE))

    def _paper(self) -> Paper:
        return handout_paper(self.booklet, self._theme())

    def _press(self, wanted: Wanted) -> Themed:
        return themed(self._theme(), wanted.page, self.booklet, self.folder)

    def _tell_empty(self, chapters: Sequence[Chapter], message: str) -> None:
        place = file_place(chapters[0].file) if len(chapters) == 1 else _HERE
        where = "in this chapter" if len(chapters) == 1 else "in the booklet"
        self.faults.error("handout-empty", place, f"{message} {where}")

    def _tell_too_high(self, exercises: Sequence[Exercise], wanted: Wanted) -> None:
        for exercise in exercises:
            self.faults.error(
                "handout-long", exercise.place,
                f"exercise {exercise.number} fits on no {wanted.page.page_name} sheet",
                "choose a larger page with --page, or print the chapter with --chapter",
            )  # fmt: skip

    def _tell_left_out(self, count: int, total: int) -> None:
        left_out = f"{count} of {total} branches are left out, the deepest"
        self.faults.notice("handout-cut", _HERE,
                           f"one page can't hold the whole repertoire: {left_out}",
                           "a larger page with --page holds more")  # fmt: skip


def _card_side(side: Side, back: bool) -> cards.CardSide:
    """A card's two pages in the plan are its front and its back."""
    placed = tuple(cards.Placed(row, column, cell.page // 2)
                   for row, column, cell in side.cells() if cell.page is not None)  # fmt: skip
    return cards.CardSide(placed, back, side.turned)
