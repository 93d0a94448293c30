"""HTML laid out in a print theme: its style sheets, our fonts, the booklet's pictures.

In: documents. Out: a PDF, or where everything in them would stand. What is at fault in a theme
becomes faults.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from urllib.parse import quote

from builder.draw import glyphs, print_board
from builder.faults import Faults
from builder.model import Booklet, Picture
from builder.place import Place, file_place
from builder.press import fetch
from builder.press.bounds import Bounds
from builder.press.kept import Kept
from builder.press.page_marks import Cut
from builder.press.paginate import Copy, PdfFacts, measure, press
from builder.press.weasy import PressFailed, PressMissing, Setting, Sheet, Spot
from builder.press.workers import Helpers
from builder.render.print_medium import PICTURES
from builder.render.shown import shown_pictures
from builder.render.template_faults import template_fault
from builder.render.theme_files import ThemeFiles
from builder.settings import SETTINGS_FILE, PrintSettings

_FONTS = glyphs.FONTS.name  # a style sheet says url("fonts/…")
_FIGURINES = glyphs.FIGURINE_FILE.with_suffix(".ttf")  # WOFF2 takes time to unpack
_LETTERS_A5 = 1100  # on a page, for the first guess of how many there will be (measured)
_HERE = file_place(SETTINGS_FILE)


@dataclass(frozen=True, slots=True)
class Themed:
    """A theme with a page, and the pictures of the booklet in `folder`. `folds` are marked, in mm
    from the page's left edge.

    The methods raise what `builder.press.weasy` and a theme's files raise; see `theme_faults`.
    """

    theme: ThemeFiles
    page: PrintSettings
    folder: Path
    pictures: Mapping[str, Picture] = field(repr=False)
    folds: tuple[float, ...] = ()

    def print(self, html: str, target: Path, faults: Faults) -> PdfFacts:
        """Writes the PDF of one document."""
        return self.print_copy(Copy(html), target, faults, Kept(None))

    def print_copy(self, copy: Copy, target: Path, faults: Faults, kept: Kept,
                   helpers: Helpers | None = None) -> PdfFacts:  # fmt: skip
        """Writes the PDF of a booklet, on this page. `helpers` as in `press`."""
        letters = round(_LETTERS_A5 * self.page.width * self.page.height / (148 * 210))
        copy = replace(copy, letters=letters, variant=self.page.variant)
        return press(copy, self.setting(faults), target, faults, kept, helpers)

    def measure(self, html: str, faults: Faults) -> Mapping[str, Spot]:
        """Where every anchor of a document would stand."""
        return measure(html, self.setting(faults), faults)

    def setting(self, faults: Faults) -> Setting:
        """What every part is laid out with. Style sheets that can't be read are told."""
        themes = (Sheet(source.file, source.text) for source in self.theme.sheets(self.folder, faults))
        sheets = (_page_sheet(self.page), _board_sheet(), *themes)
        shelves = {
            fetch.THEME: fetch.Shelf((*self.theme.folders, glyphs.FONTS.parent)),
            fetch.PICTURES: fetch.Shelf((self.folder,), frozenset(self.pictures)),
        }
        places = {fetch.ORIGIN + PICTURES + quote(name): picture.place
                  for name, picture in self.pictures.items()}  # fmt: skip
        cut = Cut(self.page.bleed, self.page.marks, self.folds)
        return Setting(sheets, shelves, places, cut, Bounds() if self._is_foreign() else None)

    def _is_foreign(self) -> bool:
        """Whether the booklet brings anything along that could keep the layout busy for ever."""
        home = self.folder.resolve()
        own = (folder for folder in self.theme.folders if folder.resolve().is_relative_to(home))
        return bool(self.pictures) or any(folder.is_dir() for folder in own)


def themed(theme: ThemeFiles, page: PrintSettings, booklet: Booklet, folder: Path) -> Themed:
    """For the booklet in `folder`."""
    return Themed(theme, page, folder, shown_pictures(booklet))


@contextmanager
def theme_faults(theme: ThemeFiles, folder: Path, faults: Faults) -> Iterator[None]:
    """Work with a theme for the booklet in `folder`: what is at fault in the theme is told, and
    the work is over. What isn't the theme's fault is raised again."""
    try:
        yield
    except PressFailed as error:
        faults.error("print-failed", _own_sheet(theme, folder),
                     f"the PDF could not be laid out: {error}",
                     "look at the booklet's own print theme first, if it has one")  # fmt: skip
    except PressMissing:
        raise
    except Exception as error:  # a template can make Python raise anything
        template_fault(error, theme, folder, faults)


def _own_sheet(theme: ThemeFiles, folder: Path) -> Place:
    """The booklet's own style sheet that has the last word; its settings where it has none."""
    shown = (theme.shown_name(name, folder) for name in reversed(theme.style_sheets()))
    return file_place(next((name for name in shown if "/" in name), SETTINGS_FILE))


def _page_sheet(page: PrintSettings) -> Sheet:
    """The page's size, which every theme computes its lengths from."""
    text = (
        f":root {{ --page-width: {page.width:g}mm; --page-height: {page.height:g}mm; "
        f"--bleed: {page.bleed:g}mm }}"
    )
    return Sheet(SETTINGS_FILE, text)


def _board_sheet() -> Sheet:
    """The board font with what a board needs, and the font that draws pieces in moves."""
    figurines = "".join(
        f'@font-face {{ font-family: "{glyphs.FIGURINE_FAMILY}"; font-weight: {weight}; '
        f'font-style: {style}; src: url("{_FONTS}/{_FIGURINES.name}"); }}\n'
        for weight in (400, 600)
        for style in ("normal", "italic")
    )
    board = print_board.print_css(f"{_FONTS}/{glyphs.BOARD_FILE.name}")
    return Sheet("builder/draw/print_board.py", board + figurines)
