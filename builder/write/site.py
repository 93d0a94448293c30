"""The site's files.

In: a booklet, its settings and files, an empty folder. Out: pages, one style sheet, the fonts
and the pictures that they use, our scripts and their data; where the site's address is known, also what
shared links show, a sitemap and a feed. The same booklet gives the same
bytes.
"""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path

from builder.draw import glyphs
from builder.faults import Faults, did_you_mean
from builder.model import Booklet
from builder.place import file_place
from builder.render.site_data import data_files
from builder.render.site_document import STYLE_SHEET, site_pages
from builder.render.site_medium import PICTURES
from builder.render.site_scripts import ASSETS, script_files
from builder.render.site_style import site_style
from builder.render.site_web import Web
from builder.render.theme_files import ThemeFiles
from builder.settings import SETTINGS_FILE, Settings
from builder.source.files import BookletFiles
from builder.write.dates import moment
from builder.write.pictures import pictures
from builder.write.theme_faults import check_page, check_templates, template_fault
from builder.write.web import web_files

THEMES = glyphs.FONTS.parent / "site"
OWN_THEME = "theme/site"  # In the booklet's folder: files that replace the theme's.


def write_site(booklet: Booklet, settings: Settings, files: BookletFiles, target: Path,
               downloads: tuple[str, ...], faults: Faults) -> None:  # fmt: skip
    """Writes the site into `target`, but for its data (`write_site_data`). `downloads` are files
    beside the pages that the contents page offers. After a fault of the theme or of a picture, which
    `faults` is told, the site is not complete."""
    theme = site_theme(settings.site_theme, files, faults)
    if theme is None or not check_templates(theme, files.folder, faults):
        return
    own = (files.folder / OWN_THEME).is_dir()
    web = Web(settings.address, moment(booklet.date), settings.news)
    listed: list[str] = []
    try:
        for page in site_pages(booklet, theme, downloads, web):
            listed.append(page.file)
            if own:
                check_page(page, theme, files.folder, faults)
            _write(target / page.file, page.html)
    except Exception as error:  # A template may make Python raise anything.
        template_fault(error, theme, files.folder, faults)
    _write_style(theme, target, files.folder, faults)
    # Straight from our own theme: a booklet's files take no script's place.
    for name in script_files():
        _copy(THEMES / settings.site_theme / name, target / ASSETS / name)
    if web.address:
        for name, content in web_files(booklet, web, listed):
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            (target / name).write_bytes(content)
    for name, file in pictures(booklet, files.folder, faults):
        _copy(file, target / PICTURES / name)


def write_site_data(booklet: Booklet, target: Path, page_of: Mapping[str, int]) -> None:
    """Writes what the site's scripts look up. `page_of` gives the PDF's printed page of every anchor, if
    there is a PDF: it is known late."""
    for data in data_files(booklet, page_of):
        _write(target / data.file, data.text)


def site_theme(name: str, files: BookletFiles, faults: Faults) -> ThemeFiles | None:
    """The theme of that name under the booklet's own files; None after an error."""
    here = file_place(SETTINGS_FILE)
    known = sorted(path.name for path in THEMES.iterdir() if path.is_dir())
    if name not in known:
        hint = did_you_mean(name, known) or "choices: " + ", ".join(known)
        faults.error("site-theme", here, f"there is no site theme {name!r}", hint)
        return None
    own = files.inside(OWN_THEME)
    if own is None:
        faults.error("file-outside", here, f"{OWN_THEME} is outside the booklet's folder")
        return None
    return ThemeFiles((own, THEMES / name))


def _write_style(theme: ThemeFiles, target: Path, folder: Path, faults: Faults) -> None:
    style = site_style(theme, glyphs.FONTS, folder, faults)
    sheet = target / STYLE_SHEET
    _write(sheet, style.text)
    for name, file in style.files:
        _copy(file, sheet.parent / name)


def _write(file: Path, text: str) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8", newline="\n")


def _copy(file: Path, to: Path) -> None:
    """The bytes alone: neither times nor rights go into the site."""
    to.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(file, to)
