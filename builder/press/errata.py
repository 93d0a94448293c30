"""An errata sheet as PDF, on the booklet's own page size, so that it can be laid into the book."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from builder.editions.compare import Change
from builder.faults import Faults
from builder.model import Booklet
from builder.press.pdf import BASE, THEMES
from builder.press.themed import theme_faults, themed
from builder.press.paginate import PdfFacts
from builder.render.errata import errata_html
from builder.render.handouts.paper import handout_paper
from builder.render.theme_files import ThemeFiles
from builder.settings import PrintSettings

ERRATA_THEME = "errata"
OWN_THEME = "theme/errata"  # in the booklet's folder: files that replace the theme's


def write_errata(old: Booklet, new: Booklet, changes: Sequence[Change], folder: Path,
                 page: PrintSettings, target: Path, faults: Faults) -> PdfFacts | None:  # fmt: skip
    """Writes the sheet to `target`; None, and faults that tell why, when there is none.

    `folder` is the new edition's. Raises PressMissing.
    """
    theme = ThemeFiles((folder / OWN_THEME, THEMES / ERRATA_THEME, THEMES / BASE))
    with theme_faults(theme, folder, faults):
        html = errata_html(handout_paper(new, theme), old, changes)
        return themed(theme, page, new, folder).print(html, target, faults)
    return None
