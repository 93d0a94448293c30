"""The cover: back, spine and front on one sheet, with bleed and marks, or the outer pages of the
booklet's own PDF.

In: a booklet, its settings, and for a sheet the number of pages that it goes round. Out: one PDF
file, or what the press lays out round the pages.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from PIL import Image

from builder.draw import glyphs
from builder.faults import Faults, did_you_mean
from builder.model import Booklet, Diagram, Picture, Position
from builder.press.paginate import Wrap
from builder.press.preflight_checks import DPI
from builder.press.themed import Themed, theme_faults
from builder.render.cover import CoverParts, CoverSize, Face, cover_html
from builder.render.site_codes import site_codes
from builder.render.theme_files import ThemeFiles
from builder.settings import CoverSettings, PrintSettings, Settings
from builder.source.files import BookletFiles

_THEMES = glyphs.FONTS.parent / "print"
COVER_THEME = "cover"
OWN_THEME = "theme/cover"  # in the booklet's folder: files that replace the theme's
# Millimetres. What printers ask for who don't say otherwise; common practice, no source.
BLEED = 3.0
FRAME = 7.0  # of paper round a colour that doesn't bleed: more than the 5 mm of an office's printer
BOARD = 0.5  # of a glued cover's two leaves and the glue between; common practice, no source


@dataclass(frozen=True, slots=True)
class Cover:
    """What was made: the spine's width in mm, and the pages that it was computed from."""

    spine: float
    pages: int


def spine_width(settings: Settings, pages: int) -> float:
    """In millimetres: what the author says, nothing for a folded booklet, else the leaves and
    the cover's own thickness."""
    cover = settings.cover or CoverSettings()
    if cover.spine is not None:
        return cover.spine
    if settings.print.binding == "stapled":
        return 0.0
    return round(-(-pages // 2) * settings.print.paper + BOARD, 2)


def write_cover(booklet: Booklet, settings: Settings, folder: Path, pages: int, target: Path,
                faults: Faults) -> Cover | None:  # fmt: skip
    """Writes the sheet to `target`; None, and faults that tell why, when there is none.

    `folder` is the booklet's. A bleed of none becomes 3 mm: colour that ends at the edge can't be
    cut. Raises PressMissing.
    """
    page, spine = settings.print, spine_width(settings, pages)
    sheet = replace(page, width=2 * page.width + spine, bleed=page.bleed or BLEED, marks=True)
    size = CoverSize(page.width, page.height, spine, sheet.bleed)
    folds = (page.width, page.width + spine) if spine else (page.width,)
    design = _design(booklet, settings, size, folder, faults)
    if design is None:
        return None
    with theme_faults(design.theme, folder, faults):
        html = cover_html(booklet, design.theme, design.parts, size)
        design.themed(sheet, folder, folds).print(html, target, faults)
        return None if faults.has_errors else Cover(spine, pages)
    return None


def cover_wrap(booklet: Booklet, settings: Settings, folder: Path, faults: Faults) -> Wrap | None:
    """A cover that goes round the pages as the first and the last of them; None where none is
    asked for, and after an error. Where nothing bleeds, its colour stops short of the edges,
    which an office's printer can't reach. Raises PressMissing."""
    if settings.cover is None or settings.cover.kind != "self":
        return None
    page = settings.print
    size = CoverSize(page.width, page.height, 0.0, page.bleed or -FRAME)
    design = _design(booklet, settings, size, folder, faults)
    if design is None:
        return None
    with theme_faults(design.theme, folder, faults):
        front, back = (cover_html(booklet, design.theme, design.parts, size, face)
                       for face in (Face.FRONT, Face.BACK))  # fmt: skip
        return Wrap(front, back, design.themed(page, folder).setting(faults))
    return None


@dataclass(frozen=True, slots=True)
class _Design:
    """What stands on the cover, and the files that it is set with."""

    theme: ThemeFiles
    parts: CoverParts
    pictures: Mapping[str, Picture]

    def themed(self, page: PrintSettings, folder: Path, folds: tuple[float, ...] = ()) -> Themed:
        return Themed(self.theme, page, folder, self.pictures, folds)


def _design(booklet: Booklet, settings: Settings, size: CoverSize, folder: Path,
            faults: Faults) -> _Design | None:  # fmt: skip
    cover = settings.cover or CoverSettings()
    picture = _picture(cover, size, folder, faults)
    if picture is None and cover.picture:
        return None
    diagram = _position(cover, booklet, faults)
    if diagram is None and cover.position:
        return None
    parts = CoverParts(
        settings.print.theme, cover.colour, picture or "", diagram.position if diagram else None,
        diagram.flip if diagram else False, cover.text, site_codes(settings),
    )  # fmt: skip
    theme = ThemeFiles((folder / OWN_THEME, _THEMES / COVER_THEME, _THEMES / "base"))
    pictures = {picture: Picture(picture, "", "", cover.picture_place)} if picture else {}
    return _Design(theme, parts, pictures)


@dataclass(frozen=True, slots=True)
class _Shown:
    position: Position
    flip: bool


def _position(cover: CoverSettings, booklet: Booklet, faults: Faults) -> _Shown | None:
    """What the large diagram shows: the named position, else the booklet's first diagram."""
    turned = booklet.side == "black"
    if cover.position:
        named = booklet.names.get(cover.position)
        if named is None:
            faults.error("cover-position", cover.position_place,
                         f"no position of the booklet is named {cover.position}",
                         did_you_mean(cover.position, booklet.names))  # fmt: skip
            return None
        return _Shown(named.position, turned)
    first: Diagram | None = next(iter(booklet.diagrams), None)
    return _Shown(first.position, turned) if first else None


def _picture(cover: CoverSettings, size: CoverSize, folder: Path,
             faults: Faults) -> str | None:  # fmt: skip
    """The picture's name in the booklet, None for none or after an error. One that is too coarse
    for its place is told."""
    if not cover.picture:
        return None
    files = BookletFiles.at(folder)
    name = files.picture(cover.picture, cover.picture_place, faults)
    path = files.inside(name) if name else None
    if path is None or path.suffix.lower() == ".svg":
        return name
    try:
        with Image.open(path) as opened:
            wide, high = opened.size
    except Exception:  # a broken picture makes Pillow raise anything
        faults.error("picture-content", cover.picture_place, f"{name} can't be read as a picture")
        return None
    window = tuple(length / 25.4 for length in size.window)  # which it is to fill
    dpi = min(wide / window[0], high / window[1])
    if dpi < DPI - 1:
        wanted = f"{window[0] * DPI:.0f} × {window[1] * DPI:.0f}"
        faults.warning("cover-coarse", cover.picture_place,
                       f"{name} has {dpi:.0f} dpi on the cover, and {DPI} are wanted",
                       f"take a picture of at least {wanted} pixels")  # fmt: skip
    return name
