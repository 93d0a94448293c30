"""A chapter as one HTML file to send, with everything that it needs in it.

In: a booklet, its settings and files, a chapter's slug. Out: the file's text.
"""

from __future__ import annotations

import re
from dataclasses import replace

from builder.draw import glyphs
from builder.faults import Faults
from builder.model import Booklet
from builder.own_file import Kind, beginning
from builder.render.single_page import MARK, TEMPLATE, Script, single_page
from builder.render.site_data import alone_data
from builder.render.site_document import SitePage
from builder.render.site_scripts import ALONE, CHESS, CHESS_LICENCE, alone_files
from builder.render.site_style import SiteStyle, data_address, site_style
from builder.render.theme_files import ThemeFiles
from builder.settings import Settings
from builder.source.files import BookletFiles
from builder.write.pictures import pictures
from builder.write.site import OWN_THEME, THEMES, site_theme
from builder.write.theme_faults import check_page, check_templates, template_fault

# A font or picture of the theme that is larger stays out: of a face, the letters of Western Europe
# go along (see themes/fonts/README.md), and a reader's own serif has the others.
_MOST_STYLE_FILE = 32 * 1024  # bytes
PAGE = Kind(beginning(lambda head: MARK in head), "this is no chapter that Plyleaf made to send")
_FACE = re.compile(r"@font-face\s*\{[^{}]*\}")


def page_text(booklet: Booklet, settings: Settings, files: BookletFiles, slug: str,
              faults: Faults) -> str | None:  # fmt: skip
    """The page; None after an error. Raises KeyError where there is no such chapter."""
    theme = site_theme(settings.site_theme, files, faults)
    if theme is None or not check_templates(theme, files.folder, faults):
        return None
    shown = {name: data_address(file) for name, file in pictures(_alone(booklet, slug),
                                                                 files.folder, faults)}  # fmt: skip
    style = _style(site_style(theme, glyphs.FONTS, files.folder, faults))
    try:
        page = single_page(booklet, slug, theme, style, _scripts(booklet, slug, settings), shown)
        if (files.folder / OWN_THEME).is_dir():
            checked = SitePage(f"{slug}.html", TEMPLATE, page.top, page.body)
            check_page(checked, theme, files.folder, faults)
    except Exception as error:  # A template may make Python raise anything.
        template_fault(error, theme, files.folder, faults)
        return None
    return None if faults.has_errors else page.html


def _alone(booklet: Booklet, slug: str) -> Booklet:
    return replace(booklet, chapters=(booklet.chapter(slug),))


def _scripts(booklet: Booklet, slug: str, settings: Settings) -> tuple[Script, ...]:
    """Straight from our own theme, chess.js with its licence in front."""
    own = ThemeFiles((THEMES / settings.site_theme,))
    licence = own.text(CHESS_LICENCE).replace("*/", "* /").strip()
    early, core, *others = alone_files()
    texts = [own.text(early), own.text(core), alone_data(booklet, slug)]
    texts += [f"/*\n{licence}\n*/\n{own.text(name)}" if name == CHESS else own.text(name)
              for name in others]  # fmt: skip
    return (*map(Script, texts), Script(own.text(ALONE), {"moves": slug}))


def _style(style: SiteStyle) -> str:
    """The style with its small files in it, and without the faces whose files are large."""
    text = style.text
    large: list[str] = []
    for name, file in style.files:
        if file.stat().st_size <= _MOST_STYLE_FILE:
            text = text.replace(f'url("{name}")', f'url("{data_address(file)}")')
        else:
            large.append(f'url("{name}")')

    def kept(face: re.Match[str]) -> str:
        return "" if any(address in face.group() for address in large) else face.group()

    text = _FACE.sub(kept, text)
    for address in large:
        text = text.replace(address, 'url("data:,")')
    return text
