"""Games and opening tables on paper: pages in references, as many columns as the page bears.

What the PDF holds is read by Poppler, which had no part in making it.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from played import HEAD, LINE, OPENING, game_of
from tiny import SETTINGS, read_and_make, write_booklet

from builder.press.pdf import PdfFacts, write_pdf

MOVES = "a6 c5 d6 e6 g6 b6".split()
BRANCHES = "```line wide\n1. e4 e5 " + " ".join(f"(1... {move} 2. d4 Nf6 3. e5 Ng8)" for move in MOVES)
CHAPTER = f"""\
{LINE}
{BRANCHES} 2. Nf3
```

```table wide
```
"""
GAMES = """\
# Games

```game games/club.pgn#1 diagrams 9
```
"""


def pdf(folder: Path, page: str, theme: str) -> tuple[str, PdfFacts]:
    """The text of the PDF, pages parted by form feeds."""
    settings = f'{SETTINGS}\n[print]\npage = "{page}"\ntheme = "{theme}"\n'
    write_booklet(folder, CHAPTER, GAMES, settings=settings)
    (folder / "games").mkdir()
    (folder / "games" / "club.pgn").write_text(game_of(f"{OPENING} Nf4 9. Qe4 Ne6 1-0", HEAD))
    source, booklet, faults = read_and_make(folder)
    target = folder / "out.pdf"
    facts = write_pdf(booklet, source.settings, folder, target, faults)
    assert facts is not None and faults.sorted() == (), [one.as_text() for one in faults.sorted()]
    mode = "-layout" if theme == "book" else "-raw"  # a handout has text columns
    done = subprocess.run(["pdftotext", mode, target, "-"], capture_output=True, text=True)
    return done.stdout, facts


@pytest.mark.parametrize(("page", "theme", "columns"), [
    ("A5", "book", [4, 3]), ("A4", "book", [7]), ("A5", "handout", [3, 2, 2]),
])  # fmt: skip
def test_games_and_tables_on_paper(page, theme, columns, tmp_path, program):
    program("pdftotext")
    text, facts = pdf(tmp_path, page, theme)
    words = " ".join(text.split())
    there, number = facts.page_of["diagram-1"], facts.page_of["game-1"]
    first = 1
    for width in columns:
        heads = " ".join(str(first + index) for index in range(width))
        assert heads in [" ".join(line.split()) for line in text.splitlines()]
        first += width
    if theme == "book":
        assert f"as in Chapter 1, Diagram 1, page {there}." in words
        assert "There the booklet goes on with 8...Nb6, 8...Ba6." in words
        assert f"Ann Quay – Bo Pier {number} Club evening" in words
        assert f"Pier, Bo, {number}" in words
