"""The site's own scripts: which page loads which.

They are classic scripts with a file each, because a page opened from a folder can load no
modules. All but the first wait until the page is there (`defer`) and run in the order in which
they stand. A theme of a booklet can't bring scripts, and can't replace these.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum

from markupsafe import Markup

from builder.render.site_data import BOOKLET_DATA, moves_file

# Where in the site the files of a theme of ours go.
ASSETS = "assets/"
CHESS = "vendor/chess.js"
CHESS_LICENCE = "vendor/LICENSE-chess.js.txt"

EARLY = "scripts/early.js"
_ALWAYS = ("scripts/core.js", "scripts/settings.js")
_START = "scripts/start.js"
ALONE = "scripts/alone.js"  # begins a page that brings its scripts along, and no other
_BOARD = (CHESS, "scripts/tree.js", "scripts/board.js")
_ASKING = ("scripts/record.js", "scripts/ask.js", "scripts/exercises.js")


class Use(Enum):
    """What a page's scripts are for: the name that `start.js` knows it by, and its files."""

    PLAIN = ("plain", ())
    READING = ("reading", (*_BOARD, "scripts/reader.js", *_ASKING))
    PRACTICE = ("practice", (*_BOARD, *_ASKING, "scripts/index.js", "scripts/practice.js"))
    FINDING = (
        "finding",
        (*_BOARD, "scripts/ask.js", "scripts/index.js", "scripts/left.js", "scripts/find.js"),
    )

    @property
    def files(self) -> tuple[str, ...]:
        return self.value[1]


def script_files() -> tuple[str, ...]:
    """Every file that the pages load, and the licence that goes with them; names in the theme's
    folder and in `ASSETS` alike."""
    used = (file for use in Use for file in use.files)
    return tuple(sorted({EARLY, *_ALWAYS, *used, _START, CHESS_LICENCE}))


def alone_files() -> tuple[str, ...]:
    """The scripts of a chapter that is sent by itself, without those that hold its data, which
    come behind the first two, and without `ALONE`."""
    core, *others = _ALWAYS
    return (EARLY, core, *Use.READING.files, *others)


def script_tags(use: Use, chapters: Iterable[str]) -> Markup:
    """The elements for a page's head. `chapters` are the slugs whose moves the page needs."""
    slugs = tuple(chapters)
    core, *others = _ALWAYS
    files = [ASSETS + core, BOOKLET_DATA]
    files += [ASSETS + name for name in (*use.files, *others)]
    files += [moves_file(slug) for slug in slugs]
    tags = [Markup('<script src="{}"></script>\n').format(ASSETS + EARLY)]
    tags += [Markup('<script src="{}" defer></script>\n').format(file) for file in files]
    tags.append(
        Markup('<script src="{}" defer data-use="{}" data-moves="{}"></script>\n').format(
            ASSETS + _START, use.value[0], " ".join(slugs)
        )
    )
    return Markup("").join(tags)
