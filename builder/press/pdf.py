"""The booklet as a PDF ready for print.

In: a booklet, its settings and its folder. Out: one PDF file, and what the other outputs want
to know of it (`PdfFacts`). The same input gives the same bytes: the PDF's dates are the
booklet's, and nothing in it comes from the clock or from this computer's folders.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import jinja2

from builder.draw import glyphs, print_board
from builder.faults import Faults, did_you_mean
from builder.model import Booklet, Claim, Picture, Ply
from builder.place import Place
from builder.press import fetch
from builder.press.weasy import Copy, PdfFacts, PressFailed, PressMissing, Sheet, press
from builder.render.print_document import MAIN_TEMPLATE, print_booklet
from builder.render.print_medium import PICTURES
from builder.render.theme_files import ThemeFiles
from builder.settings import SETTINGS_FILE, PrintSettings, Settings

__all__ = ["PdfFacts", "PressFailed", "PressMissing", "print_theme", "write_pdf"]

THEMES = glyphs.FONTS.parent / "print"
BASE = "base"  # what all print themes share; no theme of its own
OWN_THEME = "theme/print"  # in the booklet's folder: files that replace the theme's
_FONTS = glyphs.FONTS.name  # a style sheet says url("fonts/…")
_FIGURINES = glyphs.FIGURINE_FILE.with_suffix(".ttf")  # WOFF2 takes time to unpack
_HERE = Place(SETTINGS_FILE, 1, 1, 2)


def write_pdf(booklet: Booklet, settings: Settings, folder: Path, target: Path, faults: Faults,
              progress: Callable[[str], None] = lambda _: None) -> PdfFacts | None:  # fmt: skip
    """Writes the PDF to `target`; None, and faults that tell why, when there is none.

    `folder` is the booklet's. `progress` is told each step. Raises PressMissing when
    WeasyPrint or a library under it is not installed.
    """
    theme = print_theme(settings.print.theme, folder, faults)
    if theme is None:
        return None
    pictures = _pictures(booklet)
    try:
        progress("setting the print's pages")
        printed = print_booklet(booklet, theme)
        sheets = (_page_sheet(settings.print), _board_sheet(), *_theme_sheets(theme))
        copy = Copy(printed.main(), printed.frame if printed.has_frame else None, sheets)
        progress("laying out the PDF")
        return press(copy, _shelves(theme, folder, pictures), target, faults,
                     lambda address: _asked_at(address, pictures))  # fmt: skip
    except jinja2.TemplateSyntaxError as error:
        place = Place(f"{error.name or MAIN_TEMPLATE}", error.lineno, 1, 2)
        faults.error("print-theme", place, f"the print theme's template: {error.message}")
    except (jinja2.TemplateError, OSError, UnicodeDecodeError) as error:
        faults.error("print-theme", _HERE, f"the print theme can't be used: {error}")
    except PressFailed as error:
        faults.error("print-failed", _HERE, f"the PDF could not be laid out: {error}",
                     "look at the booklet's own print theme first, if it has one")  # fmt: skip
    return None


def print_theme(name: str, folder: Path, faults: Faults) -> ThemeFiles | None:
    """The theme of that name under the booklet's own files; None after an error."""
    known = sorted(path.name for path in THEMES.iterdir() if path.is_dir() and path.name != BASE)
    if name not in known:
        hint = did_you_mean(name, known) or "choices: " + ", ".join(known)
        faults.error("print-theme", _HERE, f"there is no print theme {name!r}", hint)
        return None
    return ThemeFiles((folder / OWN_THEME, THEMES / name, THEMES / BASE))


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


def _theme_sheets(theme: ThemeFiles) -> Iterator[Sheet]:
    return (Sheet(name, theme.text(name)) for name in theme.style_sheets())


def _shelves(theme: ThemeFiles, folder: Path,
             pictures: Mapping[str, Picture]) -> dict[str, fetch.Shelf]:  # fmt: skip
    return {
        fetch.THEME: fetch.Shelf((*theme.folders, glyphs.FONTS.parent)),
        fetch.PICTURES: fetch.Shelf((folder,), pictures.keys()),
    }


def _asked_at(address: str, pictures: Mapping[str, Picture]) -> Place | None:
    from urllib.parse import unquote

    name = unquote(address.removeprefix(fetch.ORIGIN))
    picture = pictures.get(name.removeprefix(PICTURES))
    return picture.place if picture else None


def _pictures(booklet: Booklet) -> dict[str, Picture]:
    """Every picture file that the text shows, with the first place that shows it.

    Looks into the fields that make up a node, not into those that lead elsewhere, which the
    model leaves out of a node's repr.
    """
    found: dict[str, Picture] = {}
    waiting: list[Any] = []
    for chapter in reversed(booklet.chapters):
        waiting += [chapter.footnotes, chapter.blocks]
    while waiting:
        node = waiting.pop()
        if isinstance(node, Picture):
            found.setdefault(node.file, node)
        elif isinstance(node, tuple):
            waiting.extend(reversed(node))
        elif is_dataclass(node) and not isinstance(node, Ply | Claim):
            waiting.extend(getattr(node, part.name) for part in reversed(fields(node)) if part.repr)
    return found
