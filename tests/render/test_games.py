"""Games and opening tables as HTML."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from bare_medium import bare
from markupsafe import Markup
from played import LINE, OPENING, block, game_of, with_games
from tiny import line_of, tiny

from builder.model import GameTags
from builder.render import games, prose
from builder.render.words import read_words


def shown(made, columns: int = 4, language: str = "en") -> str:
    at = bare(made.booklet, language)
    at = replace(at, medium=replace(at.medium, table_columns=columns))
    return prose.blocks(made.chapter.blocks, at)


def words_of(html: str) -> str:
    spaced = str(html).replace("<", " <").replace(">", "> ")
    return " ".join(Markup(spaced).striptags().split())


def the_game(tmp_path, moves: str, header: str = "games/club.pgn", **more) -> str:
    made = with_games(tmp_path, game_of(moves), f"{LINE}\n{block(header)}")
    html = shown(made, **more)
    return html[html.index('<section class="game"') :]


# --- games -----------------------------------------------------------------------------------


def test_the_head_tells_who_played_and_when(tmp_path):
    head = words_of(the_game(tmp_path, "1. e4 1-0").partition("</header>")[0])
    assert head == "Game 1 Ann Quay – Bo Pier Club evening, Harbour, round 3, 2 January 2026 · C45 · 1–0"


def test_what_is_shared_is_set_short_and_the_parting_told(tmp_path):
    html = the_game(tmp_path, f"{OPENING} Nf4 9. Qe4 1-0")
    lead = re.search(r'<p class="moves lead">(.*?)</p>', html)
    assert words_of(lead.group(1)).endswith("7.Qe2 Nd5 8.c4")
    parting = re.search(r'<p class="parting">(.*?)</p>', html)
    assert words_of(parting.group(1)) == (
        "To 8.c4 as in Chapter 1 , Diagram 1 . There the booklet goes on with 8...Nb6 , 8...Ba6 .")
    assert html.index("lead") < html.index("parting") < html.index('<p class="moves main">')
    main = re.search(r'<p class="moves main">(.*?)</p>', html)
    assert words_of(main.group(1)) == "8...Nf4 9.Qe4 1–0"


def test_another_order_of_moves_is_told(tmp_path):
    html = the_game(tmp_path, "1. e4 Nc6 2. Nf3 e5 3. d4 exd4 4. Nxd4 Nf6 5. Nc3 1-0")
    assert "By another order of moves, to" in html


def test_the_line_names_the_game_that_leaves_it(tmp_path):
    made = with_games(tmp_path, game_of(f"{OPENING} Nf4 1-0"), f"{LINE}\n{block()}")
    line = shown(made).partition('<section class="game"')[0]
    assert "8.c4 ( Game 1 ) 8...Nb6" in words_of(line)
    assert re.search(r'<small class="meeting">\(<a class="ref" href="1#game-1">', line)


def test_a_part_ends_with_dots(tmp_path):
    html = the_game(tmp_path, "1. d4 d5 2. c4 e6 1-0", "games/club.pgn from 2 to 2")
    assert words_of(html.partition("</header>")[2]) == "1.d4 d5 2.c4 …"


def test_every_anchor_stands_once(tmp_path):
    made = with_games(tmp_path, game_of(f"{OPENING} Nf4 (8... Ba6 9. b3) 9. Qe4 1-0"),
                      f"{LINE}\n{block('games/club.pgn diagrams 9')}\n```table main\n```\n")  # fmt: skip
    ids = re.findall(r'\bid="([^"]+)"', shown(made))
    assert len(ids) == len(set(ids))
    assert {ply.anchor for line in made.chapter.lines for ply in line.plies()} <= set(ids)


def test_names_of_a_hostile_file_are_escaped(tmp_path):
    evil = '<script>alert(1)</script>'
    made = with_games(tmp_path, f'[White "{evil}"]\n[Event "{evil}"]\n\n1. e4 {{{evil}}} *\n', block())
    assert "<script" not in shown(made)


@pytest.mark.parametrize(("value", "expected"), [
    ("2026.01.02", "2 January 2026"), ("2026.05.??", "May 2026"), ("2026.??.??", "2026"),
    ("????.??.??", ""), ("", ""), ("2026.13.01", "2026"), ("2026.02.00", "February 2026"),
    ("not a date", ""), ("2026", "2026"),
])  # fmt: skip
def test_dates_in_words(value, expected):
    """PGN standard 8.1.1.3: parts that aren't known are question marks."""
    assert games.pgn_date(value, read_words("en")) == expected


@pytest.mark.parametrize(("name", "expected"), [
    ("Quay, Ann", "Ann Quay"), ("Quay", "Quay"), ("Quay, Ann, jr", "Quay, Ann, jr"), ("", "N.\u00a0N."),
])  # fmt: skip
def test_names_as_they_are_said(name, expected):
    assert games.spoken(name) == expected


def test_ratings_stand_behind_the_players():
    tags = GameTags((("White", "Quay, Ann"), ("WhiteElo", "1850"), ("Black", "Pier"), ("BlackElo", "?")))
    assert games.players(tags, rated=True) == "Ann Quay (1850) – Pier"


def test_the_index_lists_games_and_players(tmp_path):
    made = with_games(tmp_path, game_of("1. e4 1-0") + '[White "Pier, Bo"]\n[Black "?"]\n\n1. d4 *\n',
                      block("games/club.pgn#2") + block("games/club.pgn#1"))  # fmt: skip
    entries = games.game_entries(made.booklet, read_words("en"))
    assert [(one.number, one.players) for one in entries] == [
        (1, "Bo Pier – N.\u00a0N."), (2, "Ann Quay – Bo Pier")]  # fmt: skip
    listed = games.player_entries(made.booklet, entries)
    assert [(one.name, [game.number for game in one.games]) for one in listed] == [
        ("Pier, Bo", [1, 2]), ("Quay, Ann", [2])]  # fmt: skip


# --- tables ----------------------------------------------------------------------------------

BRANCHES = "1. e4 e5 (1... c5 2. Nf3 d6 3. d4 (3. Bb5+)) 2. Nf3 (2. Nc3 Nc6 3. f4 d6) Nc6 (2... d6 3. d4 exd4 4. Nxd4) 3. Bb5 +="


def cells(html: str) -> list[list[list[str]]]:
    """The rows of each table as words."""
    return [
        [[words_of(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S)]
         for row in re.findall(r"<tr[^>]*>(.*?)</tr>", one, re.S)]
        for one in re.findall(r"<table>(.*?)</table>", html, re.S)
    ]  # fmt: skip


def the_table(tmp_path, moves: str = BRANCHES, columns: int = 4) -> str:
    html = shown(tiny(tmp_path, line_of(moves) + "\n```table main\n```\n"), columns)
    return html[html.index('<div class="opening-table"') :]


def test_rows_are_moves_and_dashes_repeat_the_left(tmp_path):
    (table,) = cells(the_table(tmp_path))
    assert table == [
        ["", "1", "2", "3", "4"],
        ["1", "… e5", "… –", "… –", "… c5"],
        ["2", "Nf3 Nc6", "– d6", "Nc3 Nc6", "Nf3 d6"],
        ["3", "Bb5", "d4 exd4", "f4 d6", "d4 1"],
        ["4", "", "Nxd4", "", ""],
        ["", "⩲", "", "", ""],
        ["", "Chapter 1", "Chapter 1", "Chapter 1", "Chapter 1"],
    ]


def test_a_wide_table_is_parted(tmp_path):
    html = the_table(tmp_path, columns=2)
    first, second = cells(html)
    assert [row[0] for row in first] == ["", "2", "3", "4", "", ""]
    assert first[0] == ["", "1", "2"] and second[0] == ["", "3", "4"]
    captions = [words_of(one) for one in re.findall(r"<caption>(.*?)</caption>", html)]
    assert captions == ["1.e4 e5 2.Nf3", "1.e4"]
    assert [words_of(one) for one in re.findall(r"<li[^>]*>(.*?)</li>", html)] == ["3.Bb5+ ↑"]


def test_a_table_says_what_its_cells_are(tmp_path):
    html = the_table(tmp_path)
    assert html.count('scope="col"') == 4 and html.count('scope="row"') == 4
    assert re.search(r'<span role="img" aria-label="1...e5">–</span>', html)


def test_notes_and_their_marks_lead_to_each_other(tmp_path):
    html = the_table(tmp_path)
    for anchor in ("table-1-note-1", "table-1-ref-1"):
        assert html.count(f'id="{anchor}"') == 1 and html.count(f'#{anchor}"') == 1


def test_every_language_sets_games_and_tables(tmp_path):
    for language in ("de", "es", "fr", "it", "nl", "pt"):
        made = with_games(tmp_path, game_of(f"{OPENING} Nf4 1-0"),
                          f"{LINE}\n{block()}\n```table main\n```\n")  # fmt: skip
        assert "{" not in words_of(shown(made, language=language))
