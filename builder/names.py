"""Every slug, anchor and file name of the outputs, once.

Anchors start with a letter and hold only letters, digits, `-`, `.` and `_`, so that they are
valid as HTML ids, URL fragments and PDF destinations without escaping.
"""

from __future__ import annotations

import re
import unicodedata


def slug(text: str) -> str:
    """`text` in lower-case ASCII words joined by hyphens; `part` when nothing is left."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "part"


def chapter_slug(file: str) -> str:
    """The slug of a chapter's file: `chapters/10-main.md` is `10-main`."""
    stem = file.rsplit("/", 1)[-1]
    return slug(stem.rsplit(".", 1)[0] if "." in stem else stem)


def chapter_anchor(chapter: str) -> str:
    return f"chapter.{chapter}"


def heading_anchor(chapter: str, heading: str) -> str:
    return f"part.{chapter}.{heading}"


def line_anchor(chapter: str, line: str) -> str:
    return f"line.{chapter}.{line}"


def ply_anchor(line: str, index: int) -> str:
    """`line` is the line's anchor, `index` counts its plies from 1 in reading order."""
    return f"{line}.{index}"


def start_anchor(line: str) -> str:
    """The position before a line's first move."""
    return f"{line}.0"


def diagram_anchor(number: int) -> str:
    return f"diagram-{number}"


def exercise_anchor(number: int) -> str:
    return f"exercise-{number}"


def solution_anchor(number: int) -> str:
    return f"solution-{number}"


def game_anchor(number: int) -> str:
    return f"game-{number}"


def played_anchor(number: int) -> str:
    """How often moves are played."""
    return f"played-{number}"


def table_anchor(number: int) -> str:
    """An opening table."""
    return f"table-{number}"


def footnote_anchor(chapter: str, number: int) -> str:
    return f"note.{chapter}.{number}"


def footnote_ref_anchor(chapter: str, number: int) -> str:
    return f"noteref.{chapter}.{number}"


def board_anchor(anchor: str) -> str:
    """The board of a ply, on the page of a chapter's boards."""
    return f"board.{anchor}"


def boarded(board: str) -> str:
    """The ply whose board has that anchor."""
    return board.removeprefix("board.")


def chapter_page(chapter: str) -> str:
    return f"{chapter}.html"


def boards_page(chapter: str) -> str:
    """The page that shows the position after every move of a chapter."""
    return f"{chapter}.boards.html"


def epub_chapter(chapter: str) -> str:
    """A chapter's document in the EPUB; with its dot it can't be one of the booklet's own."""
    return f"chapter.{chapter}.xhtml"


def epub_boards(chapter: str, number: int) -> str:
    """A document of boards in the EPUB; a chapter has as many as it needs, from 1."""
    return f"boards.{chapter}.{number}.xhtml"


def epub_diagram(anchor: str) -> str:
    """The picture of a diagram in the EPUB."""
    return f"diagrams/{anchor}.svg"


def share_picture(page: str) -> str:
    """What a link to a page of the site shows where it is shared."""
    return f"assets/share/{page.removesuffix('.html')}.png"


CONTENTS_PAGE = "index.html"
POSITIONS_PAGE = "positions.html"
VARIATIONS_PAGE = "variations.html"
NAMES_PAGE = "names.html"
GAMES_PAGE = "games.html"
SOLUTIONS_PAGE = "solutions.html"
PRACTICE_PAGE = "practice.html"
FIND_PAGE = "find.html"
FEED_FILE = "feed.xml"
SITEMAP_FILE = "sitemap.xml"
ROBOTS_FILE = "robots.txt"
PDF_FILE = "booklet.pdf"
COVER_FILE = "booklet-cover.pdf"
PGN_FILE = "booklet.pgn"
EPD_FILE = "positions.epd"
EPUB_FILE = "booklet.epub"
# No chapter may take the name of one of the booklet's own pages.
RESERVED_SLUGS = frozenset(
    {"index", "positions", "variations", "names", "games", "solutions", "practice", "find"}
)
