"""HTML to XHTML, for an EPUB.

In: a page as our templates and fragments write it, in which everything an author wrote is
escaped, so that `<`, `>` and `"` are always ours. Out: the same page as well-formed XML.
"""

from __future__ import annotations

import re

from builder.draw.figures_svg import without_barred

_VOID = re.compile(r"<((?:br|hr|img|link|meta)\b[^<>]*?)\s*/?>")
# Reading systems older than SVG 2 know links within a drawing by XLink's name only.
_LINKED = (
    ("<svg ",
     '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '),
    ("<use href=", "<use xlink:href="),
)  # fmt: skip
# What makes a reading system show a note where its mark stands.
_NOTE = ('role="doc-noteref"', 'epub:type="noteref" role="doc-noteref"')


def xhtml(page: str) -> str:
    """The page as XML: empty elements closed, drawings and notes named as EPUB wants them, and
    without the characters that XML 1.0 bars."""
    page = _VOID.sub(r"<\1/>", without_barred(page))
    for ours, theirs in (*_LINKED, _NOTE):
        page = page.replace(ours, theirs)
    return page


def svg_file(drawing: str) -> str:
    """A drawing of `builder.draw.svg`, made to stand alone, as an SVG file for old readers too."""
    (root, named), (use, linked) = _LINKED
    drawing = drawing.replace(' xmlns="http://www.w3.org/2000/svg"', "", 1)
    return drawing.replace(root, named, 1).replace(use, linked) + "\n"
