"""HTML laid out in a print theme: its style sheets, our fonts, the booklet's pictures.

In: documents. Out: a PDF, or where everything in them would stand. What is at fault in a theme
becomes faults.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import unquote

from builder.draw import glyphs, print_board
from builder.faults import Faults
from builder.model import Booklet, Picture
from builder.place import Place, Source
from builder.press import fetch
from builder.press.weasy import (
    Copy, Frame, PdfFacts, PressFailed, PressMissing, Sheet, Spot, measure, press,
)  # fmt: skip
from builder.render.print_medium import PICTURES
from builder.render.shown import shown_pictures
from builder.render.template_faults import template_fault
from builder.render.theme_files import ThemeFiles
from builder.settings import SETTINGS_FILE, PrintSettings

_FONTS = glyphs.FONTS.name  # a style sheet says url("fonts/…")
_FIGURINES = glyphs.FIGURINE_FILE.with_suffix(".ttf")  # WOFF2 takes time to unpack
_HERE = Place(SETTINGS_FILE, 1, 1, 2)


@dataclass(frozen=True, slots=True)
class Themed:
    """A theme with a page, and the pictures of the booklet in `folder`.

    The methods raise what `builder.press.weasy` and a theme's files raise; see `theme_faults`.
    """

    theme: ThemeFiles
    page: PrintSettings
    folder: Path
    pictures: Mapping[str, Picture] = field(repr=False)

    def print(self, main: str, frame: Frame | None, target: Path, faults: Faults) -> PdfFacts:
        """Writes the PDF of a main matter and of the frame that depends on its pages."""
        copy = Copy(main, frame, self._sheets(faults))
        return press(copy, self._shelves(), target, faults, self._asked_at)

    def measure(self, html: str, faults: Faults) -> Mapping[str, Spot]:
        """Where every anchor of a document would stand."""
        return measure(Copy(html, None, self._sheets(faults)), self._shelves(), faults, self._asked_at)

    def _sheets(self, faults: Faults) -> tuple[Sheet, ...]:
        return (_page_sheet(self.page), _board_sheet(), *self._theme_sheets(faults))

    def _theme_sheets(self, faults: Faults) -> Iterator[Sheet]:
        for name in self.theme.style_sheets():
            shown = self.theme.shown_name(name, self.folder)
            try:
                text = self.theme.text(name).replace("\r\n", "\n")
            except (OSError, UnicodeDecodeError) as error:
                faults.error("theme-file", Place(shown, 1, 1, 2),
                             f"the style sheet can't be read: {error}")  # fmt: skip
                continue
            faults.add_source(Source(shown, text))
            yield Sheet(shown, text)

    def _shelves(self) -> dict[str, fetch.Shelf]:
        return {
            fetch.THEME: fetch.Shelf((*self.theme.folders, glyphs.FONTS.parent)),
            fetch.PICTURES: fetch.Shelf((self.folder,), self.pictures.keys()),
        }

    def _asked_at(self, address: str) -> Place | None:
        name = unquote(address.removeprefix(fetch.ORIGIN))
        picture = self.pictures.get(name.removeprefix(PICTURES))
        return picture.place if picture else None


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
        faults.error("print-failed", _HERE, f"the PDF could not be laid out: {error}",
                     "look at the booklet's own print theme first, if it has one")  # fmt: skip
    except PressMissing:
        raise
    except Exception as error:  # a template can make Python raise anything
        template_fault(error, theme, folder, faults)


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
