"""The booklet as a PDF ready for print.

In: a booklet, its settings and its folder. Out: one PDF file, and what the other outputs want
to know of it (`PdfFacts`). The same input gives the same bytes: the PDF's dates are the
booklet's, and nothing in it comes from the clock or from this computer's folders.
"""

from __future__ import annotations

from pathlib import Path

from builder.draw import glyphs
from builder.faults import Faults, did_you_mean
from builder.model import Booklet
from builder.place import Place, file_place
from builder.press.cover import cover_wrap
from builder.press.kept import Kept
from builder.press.means import Means
from builder.press.paginate import Copy, PdfFacts
from builder.press.themed import theme_faults, themed
from builder.press.weasy import PressFailed, PressMissing
from builder.render.print_document import MAIN_TEMPLATE, PrintBooklet, print_booklet
from builder.render.site_codes import site_codes
from builder.render.theme_files import ThemeFiles
from builder.settings import SETTINGS_FILE, Settings, key_place
from builder.source.files import BookletFiles

__all__ = ["PdfFacts", "PressFailed", "PressMissing", "print_theme", "write_pdf"]

THEMES = glyphs.FONTS.parent / "print"
BASE = "base"  # what all print themes share; no theme of its own
# The width of a text column as a part of the page's; a theme of two columns has half of it.
_BOOK_SHARE = 0.7
_COLUMN_SHARES = {"handout": 0.42}
_NUMBERS_MM = 7  # of the move numbers beside an opening table
_MOVES_MM = 18  # of a column of moves
_LETTER_MM = 1.7  # of a letter in a running head, rather more than less
OWN_THEME = "theme/print"  # in the booklet's folder: files that replace the theme's


def write_pdf(booklet: Booklet, settings: Settings, folder: Path, target: Path, faults: Faults,
              means: Means = Means()) -> PdfFacts | None:  # fmt: skip
    """Writes the PDF to `target`; None, and faults that tell why, when there is none.

    `folder` is the booklet's. Raises PressMissing when WeasyPrint or a library under it is not
    installed.
    """
    theme = print_theme(settings.print.theme, folder, faults)
    wrap = cover_wrap(booklet, settings, folder, faults)
    if theme is None or faults.has_errors:
        return None
    with theme_faults(theme, folder, faults):
        printed = printed_booklet(booklet, theme, settings)
        copy = Copy(printed.main(), printed.frame(), multiple=settings.print.page_multiple, wrap=wrap)
        press = themed(theme, settings.print, booklet, folder)
        facts = press.print_copy(copy, target, faults, Kept(folder, means.fresh), means.helpers)
        _tell_blanks(facts, settings, folder, faults)
        return facts
    return None


def printed_booklet(booklet: Booklet, theme: ThemeFiles, settings: Settings) -> PrintBooklet:
    """The booklet's HTML for print, as the page asks for it."""
    return print_booklet(booklet, theme, site_codes(settings), _table_columns(settings),
                         _head_room(settings))  # fmt: skip


def _table_columns(settings: Settings) -> int:
    """How many columns of an opening table a text column bears: 5 on A5, 7 on A4 in a book."""
    share = _COLUMN_SHARES.get(settings.print.theme, _BOOK_SHARE)
    room = settings.print.width * share - _NUMBERS_MM
    return max(2, int(room / _MOVES_MM))


def _head_room(settings: Settings) -> int:
    """How many letters surely stand in a running head with an opening; 0 where none is wanted."""
    return int(settings.print.width * _BOOK_SHARE / _LETTER_MM) if settings.print.heads == "openings" else 0


def print_theme(name: str, folder: Path, faults: Faults) -> ThemeFiles | None:
    """The theme of that name under the booklet's own files; None after an error."""
    known = sorted(path.parent.name for path in THEMES.glob(f"*/{MAIN_TEMPLATE}"))
    if name not in known:
        hint = did_you_mean(name, known) or "choices: " + ", ".join(known)
        faults.error("print-theme", _asked_at(folder, faults), f"there is no print theme {name!r}",
                     hint)  # fmt: skip
        return None
    return ThemeFiles((folder / OWN_THEME, THEMES / name, THEMES / BASE))


def _tell_blanks(facts: PdfFacts, settings: Settings, folder: Path, faults: Faults) -> None:
    if facts.blanks:
        pages = "1 blank page" if facts.blanks == 1 else f"{facts.blanks} blank pages"
        faults.notice("print-blank", _asked_at(folder, faults, "binding"),
                      f"{pages} at the end: {facts.pages} pages can be {settings.print.binding}")  # fmt: skip


def _asked_at(folder: Path, faults: Faults, key: str = "theme") -> Place:
    """Where the booklet's settings say it."""
    source = BookletFiles.at(folder).read(SETTINGS_FILE, faults)
    return key_place(source, "print", key) if source else file_place(SETTINGS_FILE)
