"""Titles as they are printed: moves in them are set as moves, quotation marks as print has them, and
where no font reaches, moves stand in the booklet's letters."""

from __future__ import annotations

import re
from pathlib import Path
from zipfile import ZipFile

import pytest
from pypdf import PdfReader

from builder.faults import Faults
from builder.pipeline import Order, build
from builder.press.pdf import print_theme
from builder.render.moves import lettered, titled, titled_text
from builder.render.notation import Notation
from builder.render.print_document import PrintBooklet, print_booklet
from tests.tiny import SETTINGS, line_of, tiny, write_booklet

CHAPTER = (
    '+++\ntitle = "White\'s answer to 4...Nf6"\nsummary = "It\'s 5.Nxc6 \\"again\\"."\n+++\n'
    + line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Nf6 @tempo 5. Nxc6")
    + "\n## After [4...Nf6]\n\n```exercise e1 from @tempo\ntask: What now?\n"
    "solution: 5. Nxc6\n```\n\n"
    + "Words.\n\n" * 120
)
OWN = ('title = "White\'s \\"plan\\" against 4...Nf6"\nsubtitle = "It\'s 5.Nxc6"\n'
       'author = "Nora O\'Neil"\nedition = "Author\'s own"\nside = "white"\ndate = 2026-01-02\n'
       'language = "de"\n[print]\npage = "A5"\nheads = "openings"\n')  # fmt: skip


# --- a title ----------------------------------------------------------------------------------

TITLES = {
    "letters": (Notation("de", False), "4...Sf6", "", "4...Sf6"),
    "figurines": (Notation("de", True), "4...Nf6", "4...Sf6 & „Rest“", "4...Sf6"),
    "English figurines": (Notation("en", True), "4...Nf6", "", "4...Nf6"),
}


@pytest.mark.parametrize("notation, shown, plain, letters", TITLES.values(), ids=TITLES)
def test_a_title(notation, shown, plain, letters):
    words = '4...Nf6 & "Rest"'
    assert titled(words, notation).startswith(f'<span class="move">{shown}</span> &amp; ')
    assert titled_text(words, notation).startswith(f"{letters} & ")
    assert lettered(words, notation) == plain


# --- in print ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def german(tmp_path_factory) -> Path:
    """A German booklet with figurines, built whole."""
    folder = write_booklet(tmp_path_factory.mktemp("german"), CHAPTER, "# A second\n", settings=OWN)
    faults = Faults()
    assert build(Order(folder, folder / "out", ("site", "pdf", "epub", "pgn")), faults), list(faults.sorted())
    return folder / "out"


def printed(folder: Path, theme: str) -> PrintBooklet:
    found = print_theme(theme, folder, Faults())
    assert found is not None
    booklet = tiny(folder, CHAPTER, "# A second\n", settings=OWN).booklet
    return print_booklet(booklet, found, head_room=60)


MOVE = '<span class="move">{}</span>'
TITLE = "White’s answer to " + MOVE.format("4...Nf6")
SUMMARY = f'<p class="summary">It’s {MOVE.format("5.Nxc6")} „again“.</p>'
PLAIN = ' data-plain="White’s answer to 4...Sf6"'
OWN_TITLE = "White’s „plan“ against " + MOVE.format("4...Nf6")


def test_titles_in_a_book(tmp_path):
    book = printed(tmp_path, "book")
    main, frame = book.main(), book.frame()
    assert f'<h1 data-head="C45 · White’s answer to 4...Sf6"{PLAIN}>{TITLE}</h1>' in main
    assert f'<h2 class="from"{PLAIN}>{TITLE}</h2>' in main
    assert f"</span>{TITLE}</a>\n{SUMMARY}" in frame  # the contents
    assert f">{OWN_TITLE}</h1>" in frame and f'<p class="title">{OWN_TITLE}</p>' in frame
    assert f'<p class="subtitle">It’s {MOVE.format("5.Nxc6")}</p>' in frame
    assert "<p>Author’s own, 2. Januar 2026</p>" in frame
    assert all("'s" not in re.sub("<style.*?</style>", "", text) for text in (main, frame))
    for text in (main, frame):
        assert SUMMARY in text


def test_titles_in_a_handout(tmp_path):
    handout = printed(tmp_path, "handout").main()
    assert f"<h1{PLAIN}>{TITLE}</h1>" in handout and f"<h2{PLAIN}>{TITLE}</h2>" in handout
    assert f"<h1>{OWN_TITLE}</h1>" in handout and "Nora O’Neil · Author’s own" in handout


def test_headings_keep_their_letters_for_places_without_fonts(tmp_path):
    """A section's heading has them where its own text reads otherwise, and there alone."""
    assert re.findall(r"<h2 id=[^>]*>", printed(tmp_path, "book").main()) == [
        '<h2 id="part.1.after-nf6" data-plain="After 4...Sf6">'
    ]
    english = tiny(tmp_path / "english", CHAPTER, settings=SETTINGS).booklet
    theme = print_theme("book", tmp_path, Faults())
    assert "data-plain" not in print_booklet(english, theme).main()


def test_running_heads_and_bookmarks_have_letters(german):
    reader = PdfReader(german / "booklet.pdf")
    pages = [page.extract_text() for page in reader.pages]
    assert any("C45 · White’s answer to 4...Sf6" in page for page in pages)
    assert any("After 4...Sf6" in page for page in pages)

    def titles(items):
        for item in items:
            yield from titles(item) if isinstance(item, list) else [item.title]

    assert {"White’s answer to 4...Sf6", "After 4...Sf6"} <= set(titles(reader.outline))
    assert reader.metadata.title == "White’s „plan“ against 4...Sf6: It’s 5.Sxc6"


# --- what else is read ------------------------------------------------------------------------


def test_the_site_and_the_epub(german):
    contents = (german / "index.html").read_text(encoding="utf-8")
    assert "<h1>White’s „plan“ against 4...Sf6</h1>" in contents
    assert '<p class="subtitle">It’s 5.Sxc6</p>' in contents and "Nora O’Neil" in contents
    chapter = (german / "1.html").read_text(encoding="utf-8")
    assert "<title>White’s answer to 4...Sf6 · White’s" in chapter
    with ZipFile(german / "booklet.epub") as epub:
        package, title = (epub.read(f"EPUB/{name}").decode() for name in ("package.opf", "title.xhtml"))
    assert '<dc:title id="title">White’s „plan“ against 4...Sf6</dc:title>' in package
    assert '<p class="author">Nora O’Neil</p>' in title


def test_tags_and_ids_are_as_typed(german):
    pgn = (german / "booklet.pgn").read_text(encoding="utf-8")
    assert '[Annotator "Nora O\'Neil"]' in pgn and "White's answer to 4...Nf6" in pgn
    data = (german / "assets" / "booklet.js").read_text(encoding="utf-8")
    assert '"id":"white-s-plan-against-4-nf6"' in data
