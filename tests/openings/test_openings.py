"""Opening names and codes: the data against the data set itself, and what chapters are called."""

from __future__ import annotations

import io
import re
from pathlib import Path
from zipfile import ZipFile

import chess
import chess.pgn
import ocn
import pytest
from pypdf import PdfReader
from tiny import SETTINGS, line_of, tiny, write_booklet

from builder.faults import Faults
from builder.model import Opening, position_key
from builder.openings import DATA, Openings, make_data
from builder.pipeline import Order, build
from builder.press.pdf import print_theme
from builder.render.opening_index import opening_entries
from builder.render.print_document import print_booklet
from builder.write.pgn import pgn_text

# PyPI `ocn-chess` 1.2.1, the data set that ours is made from.
DATA_SET = Path(ocn.__file__).parent / "data" / "ocn-1.csv"


def position(moves: str) -> chess.Board:
    board = chess.Board()
    for san in moves.split():
        board.push_san(san)
    return board


@pytest.fixture(scope="module")
def rows():
    return make_data.read_rows(DATA_SET)


def test_every_row_of_the_data_set_is_found_by_its_position(rows):
    """5,894 rows have moves, and all of these are legal. A row finds itself, or another one that has
    the same position."""
    digests = make_data.digests(rows.values())
    assert len(digests) == 5894
    said: dict[str, set[tuple[str, str]]] = {}
    for ident, key in digests.items():
        names = (make_data.code_of(rows[ident], rows), make_data.name_of(rows[ident], rows))
        said.setdefault(key, set()).add(names)
    found = {line.split("\t")[0]: tuple(line.split("\t")[1:])
             for line in DATA.read_text(encoding="utf-8").splitlines()}  # fmt: skip
    assert found.keys() == said.keys()
    assert all(found[key] in names for key, names in said.items())
    assert sum(len(names) == 1 for names in said.values()) > 5600


def test_codes_are_those_of_the_data_set(rows):
    """Every code that we give a row is one of its own, or of a row above it."""
    for row in rows.values():
        at, codes = row, set()
        while at is not None and not codes:
            codes = set(filter(None, at["eco_legacy"].split("|")))
            at = rows.get(at["parent_ocn1"])
        code = make_data.code_of(row, rows)
        assert code in codes or not codes


def test_the_file_is_what_the_data_set_makes(tmp_path, monkeypatch):
    monkeypatch.setattr(make_data, "DATA", tmp_path / "made.tsv")
    make_data.main(DATA_SET)
    assert (tmp_path / "made.tsv").read_bytes() == DATA.read_bytes()
    lines = DATA.read_text(encoding="utf-8").splitlines()
    assert lines == sorted(lines) and all(line.count("\t") == 2 for line in lines)


NAMES = {
    "a move": ("e4 e5 Nf3 Nc6 d4 exd4 Nxd4 Bc5", Opening("C45", "Scotch, Classical")),
    "another order of moves": ("d4 e5 e4 exd4 Nf3 Nc6 Nxd4 Bc5", Opening("C45", "Scotch, Classical")),
    "a name that is only a move": ("e4 e5 Nf3 Nc6 d4 exd4 Nxd4", Opening("C45", "Scotch Game")),
    "a code from above": ("e4 e5 Nf3 Nc6 d4 exd4 Nxd4 Nf6 e5", Opening("C45", "Scotch Mieses, Alekhine Gambit")),
    "none": ("e4 e5 Nf3 Nc6 d4 exd4 Nxd4 h6", None),
}  # fmt: skip


@pytest.mark.parametrize("moves, expected", NAMES.values(), ids=NAMES)
def test_positions(moves, expected):
    assert Openings.read().at(position_key(position(moves))) == expected


CHAPTERS = {
    "the deepest name": ("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Bc5 5. Be3 h6", "", "C45", "Scotch, Classical"),
    "variations don't count": ("1. e4 e5 (1... c5) 2. Nf3 Nc6 3. d4 (3. Bb5)", "", "C44", "Scotch Game"),
    "the author's code": ("1. e4 e5 2. Nf3 Nc6 3. d4", "C40", "C40", ""),
    "the author's code, the same": ("1. e4 e5 2. Nf3 Nc6 3. d4", "C44", "C44", "Scotch Game"),
    "the author's codes": ("1. e4 e5 2. Nf3 Nc6 3. d4", "C44–C45", "C44–C45", ""),
}  # fmt: skip


@pytest.mark.parametrize("moves, given, code, name", CHAPTERS.values(), ids=CHAPTERS)
def test_chapters(moves, given, code, name, tmp_path):
    front = f'+++\neco = "{given}"\n+++\n' if given else ""
    chapter = tiny(tmp_path, front + line_of(moves)).chapter
    assert (chapter.code, chapter.opening_name) == (code, name)


def test_lines_of_a_chapter_have_their_beginning_in_common(tmp_path):
    """By whatever order of moves; a line from a FEN has no say."""
    lines = (line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Bc5"),
             line_of("1. e4 e5 2. d4 exd4 3. Nf3 Nc6 4. Nxd4 Qh4", "line other"),
             line_of("1. Kd2", 'line end from "4k3/8/8/8/8/8/8/4K3 w - - 0 1"'))  # fmt: skip
    assert tiny(tmp_path, "\n".join(lines)).chapter.opening == Opening("C45", "Scotch Game")
    fen = line_of("1. Kd2", 'line end from "4k3/8/8/8/8/8/8/4K3 w - - 0 1"')
    assert tiny(tmp_path / "fen", fen).chapter.opening is None
    assert tiny(tmp_path / "words", "Words.\n").chapter.opening is None


def test_what_is_printed_and_exported(tmp_path):
    made = tiny(tmp_path / "booklet", line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Bc5"))
    text = pgn_text(made.booklet)
    assert '[ECO "C45"]\n[Opening "Scotch, Classical"]\n' in text
    game = chess.pgn.read_game(io.StringIO(text))
    assert game.headers["Opening"] == "Scotch, Classical"
    faults = Faults()
    assert build(Order(made.folder, tmp_path / "out", ("site",)), faults), faults.sorted()
    page = (tmp_path / "out" / "1.html").read_text(encoding="utf-8")
    assert '<span class="eco">C45 Scotch, Classical</span>' in page
    data = "".join(path.read_text() for path in (tmp_path / "out").rglob("*.js"))
    assert '"opening":"Scotch, Classical"' in data


def test_english_names_stand_in_english_booklets_only(tmp_path):
    chapter = line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Bc5")
    tiny(tmp_path / "booklet", chapter, settings=SETTINGS + 'language = "de"\n')
    assert build(Order(tmp_path / "booklet", tmp_path / "out", ("site",)), Faults())
    page = (tmp_path / "out" / "1.html").read_text(encoding="utf-8")
    assert '<span class="eco">C45</span>' in page


@pytest.mark.parametrize("language, said", [("en", "C45 Scotch, Classical"), ("de", "C45")])
def test_the_epubs_chapters(language, said, tmp_path):
    chapter = line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Bc5")
    tiny(tmp_path / "booklet", chapter, settings=SETTINGS + f'language = "{language}"\n')
    assert build(Order(tmp_path / "booklet", tmp_path / "out", ("epub",)), Faults())
    with ZipFile(tmp_path / "out" / "booklet.epub") as epub:
        text = "".join(epub.read(name).decode() for name in epub.namelist() if name.endswith(".xhtml"))
    assert f'<span class="eco">{said}</span>' in text


BISHOP = "# The Bishop\n\n" + line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Bc5")
HEADS = {
    "titles": ("en", 0, None),
    "with the name": ("en", 60, "C45 Scotch, Classical · The Bishop"),
    "another language": ("fr", 60, "C45 · The Bishop"),
    "no room for the name": ("en", 30, "C45 · The Bishop"),
}


@pytest.mark.parametrize("language, room, head", HEADS.values(), ids=HEADS)
def test_running_heads(language, room, head, tmp_path):
    booklet = tiny(tmp_path, BISHOP, settings=SETTINGS + f'language = "{language}"\n').booklet
    theme = print_theme("book", tmp_path, Faults())
    html = print_booklet(booklet, theme, head_room=room).main()
    assert re.findall(r'<h1(?: data-head="(.*?)")?>The Bishop', html) == [head or ""]


def test_running_heads_in_the_pdf(tmp_path):
    """On the second page of a chapter; where it opens there is none."""
    write_booklet(tmp_path, BISHOP + "\nWords.\n" * 60, settings=SETTINGS + '[print]\nheads = "openings"\n')
    assert build(Order(tmp_path, tmp_path / "out", ("pdf",)), Faults())
    pages = [page.extract_text() for page in PdfReader(tmp_path / "out" / "booklet.pdf").pages]
    assert sum("C45 Scotch, Classical · The Bishop" in page for page in pages) == 1


def test_diagrams_by_opening(tmp_path):
    """A diagram belongs to the last opening that is named on its way."""
    chapter = line_of("1. e4 e5 2. Nf3 Nc6 (D) 3. d4 exd4 4. Nxd4 h6 (D) 5. Nc3 (D)")
    booklet = tiny(tmp_path, chapter).booklet
    entries = [(entry.code, entry.name, [one.number for one in entry.diagrams])
               for entry in opening_entries(booklet)]  # fmt: skip
    assert entries == [("C40", "King’s Knight Opening, Main Line", [1]), ("C45", "Scotch Game", [2, 3])]
    assert build(Order(tmp_path, tmp_path / "out", ("site",)), Faults())
    page = (tmp_path / "out" / "positions.html").read_text(encoding="utf-8")
    assert 'href="1.html#diagram-2" aria-label="Diagram 2">2</a>' in page
