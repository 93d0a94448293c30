"""Blocks that tell how often moves are played: their numbers, their faults, and how they are set."""

from __future__ import annotations

import re

import pytest
from tiny import line_of, tiny

from builder.counting.booklet import booklet_counts
from builder.faults import Faults
from builder.model import Played
from builder.pipeline import Order, build

MAIN = line_of("1. e4 @1-e4 e5 (1... c5 2. Nf3) 2. Nf3 @2-nf3 Nc6 @2-nc6")
GAMES = "".join(f'[Result "{result}"]\n[Date "2026.0{number}.??"]\n\n1. e4 {black} 2. Nf3 {result}\n\n'
                for number, (black, result) in enumerate((("c5", "1-0"), ("c5", "1/2-1/2"), ("c5", "*"),
                                                          ("e5", "*"), ("e6", "0-1")), start=1))  # fmt: skip


def made(folder, block: str, games: str = GAMES):
    if games:
        (folder / "games").mkdir(parents=True)
        (folder / "games" / "club.pgn").write_text(games)
    return tiny(folder, f"{MAIN}\n{block}\n```\n")


def test_numbers(tmp_path):
    (block,) = [one for one in made(tmp_path, "```played @1-e4").chapter.blocks if isinstance(one, Played)]
    assert (block.games, block.anchor) == (5, "played-1")
    assert [(row.ply.san if row.ply else "", row.games, row.share, row.score) for row in block.moves] == [
        ("c5", 3, 0.6, 0.75), ("e5", 1, 0.2, None), ("", 1, 0.2, 0.0)
    ]  # fmt: skip
    assert [(file.name, file.latest) for file in block.files] == [("club.pgn", "2026.05")]


def test_a_fen_and_a_place_in_a_list(tmp_path):
    fen = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"
    booklet = made(tmp_path, f'- a list\n  ```played "{fen}"\n  ').booklet
    (entries,) = [block for block in booklet.chapters[0].blocks if hasattr(block, "items")
                  and not hasattr(block, "kind")]  # fmt: skip
    assert [block.games for block in entries.items[0] if isinstance(block, Played)] == [5]


FAULTS = {
    "no games": ("```played @1-e4", "", "played-none", 5),
    "no game there": ("```played @2-nf3", "1. d4 *\n", "played-none", 5),
    "the line's end": ("```played @2-nc6", GAMES, "played-end", 5),
    "no position": ("```played", GAMES, "played-start", 5),
    "no such name": ("```played @1-e5", GAMES, "name-unknown", 5),
    "words behind": ("```played @1-e4 large", GAMES, "block-header", 5),
    "a body": ("```played @1-e4\n62 %", GAMES, "block-header", 6),
}


@pytest.mark.parametrize("block, games, code, line", FAULTS.values(), ids=FAULTS)
def test_faults(block, games, code, line, tmp_path):
    found = made(tmp_path, block, games).faults
    assert [(fault.code, fault.place.line, fault.severity.word) for fault in found] == [(code, line, "error")]


def test_games_are_counted_only_where_a_block_asks(tmp_path, monkeypatch):
    monkeypatch.setattr("builder.book.make.booklet_counts", lambda *_: pytest.fail("not asked"))
    assert not made(tmp_path, "```diagram @1-e4").faults


def test_the_page(tmp_path):
    """A table whose numbers say what its bars show; the same bytes with and without what is kept."""
    folder = tmp_path / "booklet"
    made(folder, "```played @1-e4")
    pages = []
    for target in ("one", "two"):
        faults = Faults()
        assert build(Order(folder, tmp_path / target, ("site",)), faults), faults.sorted()
        pages.append((tmp_path / target / "1.html").read_text(encoding="utf-8"))
    assert pages[0] == pages[1] and (folder / ".plyleaf" / "games.sqlite").exists()
    (block,) = re.findall(r'<div class="played".*?</div>', pages[0], re.S)
    text = re.sub(r"<[^>]+>", " ", block).replace("\u202f", " ")
    assert " ".join(text.split()) == (
        "After 1.e4 : 5 games Share White’s score 1...c5 60 % 75 % 1...e5 20 % – "
        "other moves 20 % 0 % Games: club.pgn, the latest of 2026-05"
    )
    assert re.findall(r"M0 0H([\d.]+)V8", block) == ["60.0", "20.0", "20.0"]
    assert block.count('aria-hidden="true"') == 3


def test_a_build_counts_once(tmp_path, monkeypatch):
    """Blocks and the site's drills read the same counts of the model."""
    folder = tmp_path / "booklet"
    made(folder, "```played @1-e4")
    asked = []

    def spy(*arguments):
        asked.append(arguments)
        return booklet_counts(*arguments)

    monkeypatch.setattr("builder.book.make.booklet_counts", spy)
    assert build(Order(folder, tmp_path / "site", ("site",)), Faults())
    assert len(asked) == 1
    assert '"played":' in (tmp_path / "site" / "assets" / "positions.js").read_text(encoding="utf-8")
