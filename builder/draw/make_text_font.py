"""Makes the site's text face from Source Serif 4: python -m builder.draw.make_text_font

A first view of a chapter should be small, and a face with all its glyphs takes 60 to 80 kB. So
the site has a subset for the letters of Western Europe and the marks of good typesetting; a page
with other letters loads the whole face behind it. The Open Font License lets a changed face not
keep the reserved name 'Source': the subset is called 'Plyleaf Text'.

Needs fonttools with brotli. The same faces give the same bytes.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

from builder.draw import glyphs

FAMILY = "Plyleaf Text"
# The file made, the face it is made from, its style, and the features kept. Italics have no
# small capitals, and the semibold ones are not asked for.
_FIGURES = ("onum", "lnum", "pnum", "kern", "liga", "ccmp", "mark", "locl")
FACES = (
    ("plyleaf-text.woff2", "SourceSerif4-Regular.ttf.woff2", "Regular",
     (*_FIGURES, "tnum", "smcp", "c2sc")),
    ("plyleaf-text-italic.woff2", "SourceSerif4-It.ttf.woff2", "Italic", _FIGURES),
    ("plyleaf-text-semibold.woff2", "SourceSerif4-Semibold.ttf.woff2", "Semibold", _FIGURES),
    ("plyleaf-text-semibold-italic.woff2", "SourceSerif4-SemiboldIt.ttf.woff2",
     "Semibold Italic", _FIGURES),
)  # fmt: skip
# ASCII, Latin-1, the letters that French lacks in it, and marks.
CHARACTERS = (
    *range(0x20, 0x7F), *range(0xA0, 0x100), 0x152, 0x153, 0x178,
    *map(ord, "\u2002\u2009\u2013\u2014\u2018\u2019\u201a\u201c\u201d\u201e\u2020\u2021\u2026\u202f"
              "\u2039\u203a\u20ac\u2190\u2191\u2192\u2212\u221e\u2260\u2264\u2265\u2713\u2717"),
)  # fmt: skip


def main() -> None:
    for name, source, style, features in FACES:
        (glyphs.FONTS / name).write_bytes(text_font(glyphs.FONTS / source, style, features))
    sys.stdout.write(f"made the site's text face in {glyphs.FONTS}\n")


def text_font(source: Path, style: str, features: tuple[str, ...]) -> bytes:
    """The subset as WOFF2, under its own name, with its maker's copyright and licence."""
    font = TTFont(source, recalcTimestamp=False)
    options = subset.Options()
    options.layout_features = list(features)
    options.hinting = False
    options.notdef_outline = True
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    worker = subset.Subsetter(options)
    worker.populate(unicodes=CHARACTERS)
    worker.subset(font)
    full = FAMILY if style == "Regular" else f"{FAMILY} {style}"
    names = {1: FAMILY, 2: style, 3: full, 4: full, 6: full.replace(" ", "-")}
    for name, text in names.items():
        font["name"].setName(text, name, 3, 1, 0x409)
    for record in list(font["name"].names):
        if record.nameID in names and record.platformID != 3:
            font["name"].removeNames(record.nameID, record.platformID)
    font.flavor = "woff2"
    out = BytesIO()
    font.save(out)
    return out.getvalue()


if __name__ == "__main__":
    main()
