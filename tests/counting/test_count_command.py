"""plyleaf count: its table, JSON and CSV, and gaps beside an engine's kept answers."""

from __future__ import annotations

import csv
import io
import json
import shutil

import pytest
from tiny import line_of, write_booklet

from builder.__main__ import main

MAIN = line_of("1. e4 e5 (1... c5 2. Nf3) 2. Nf3 Nc6")
GAMES = "".join(f'[Result "{result}"]\n[Date "2026.0{number}.01"]\n\n1. e4 {black} 2. Nf3 {result}\n\n'
                for number, (black, result) in enumerate((("e5", "1-0"), ("e5", "1/2-1/2"), ("e5", "*"),
                                                          ("c5", "0-1"), ("e6", "0-1")), start=1))  # fmt: skip


@pytest.fixture
def folder(tmp_path):
    write_booklet(tmp_path, MAIN)
    (tmp_path / "games").mkdir()
    (tmp_path / "games" / "club.pgn").write_text(GAMES)
    return tmp_path


def run(capsys, *arguments) -> str:
    assert main(["count", *map(str, arguments)]) == 0
    return capsys.readouterr().out


def test_the_table(folder, capsys):
    assert run(capsys, folder) == """\
chapters/1.md:2:4: after 1.e4: 5 games
  1...e5                  3   60 %  White scores  75 %
  1...c5                  1   20 %  White scores   0 %
  1 other move            1   20 %  White scores   0 %

games/club.pgn: 5 games, the latest of 2026.05.01
"""


def test_all_positions(folder, capsys):
    text = run(capsys, folder, "--all")
    assert [line for line in text.splitlines() if "games" in line][:3] == [
        "chapters/1.md: at the start: 5 games", "chapters/1.md:2:4: after 1.e4: 5 games",
        "chapters/1.md:2:7: after 1...e5: 3 games",
    ]  # fmt: skip


def test_json(folder, capsys):
    (found,) = map(json.loads, run(capsys, folder, "--format", "json").splitlines())
    assert found["games"] == 5 and found["others"] == 1 and found["line"] == 2
    assert found["moves"][0] == {"move": "e5", "games": 3, "share": 0.6, "score": 0.75}


def test_csv(folder, capsys):
    rows = list(csv.DictReader(io.StringIO(run(capsys, folder, "--format", "csv"))))
    assert [(row["move"], row["games"], row["white"], row["draws"], row["black"], row["unknown"])
            for row in rows] == [("e5", "3", "1", "1", "0", "1"), ("c5", "1", "0", "0", "1", "0"),
                                 ("others", "1", "0", "0", "1", "0")]  # fmt: skip


def test_other_files(folder, capsys, tmp_path):
    other = tmp_path / "big.pgn"
    other.write_text("1. e4 c5 *\n")
    assert "1...c5                  1  100 %\n" in run(capsys, folder, other)
    assert main(["count", str(folder), str(tmp_path / "none.pgn")]) == 2
    assert "there is no file" in capsys.readouterr().err


def test_without_games(tmp_path, capsys):
    write_booklet(tmp_path, MAIN)
    assert run(capsys, tmp_path).startswith("there are no games: name a file")


def test_what_cannot_be_counted(folder, capsys):
    (folder / "games" / "club.pgn").write_bytes(bytes(100))
    assert main(["count", str(folder)]) == 1
    assert "games/club.pgn:1:1: error: the file is not text" in capsys.readouterr().out


# --- counts that travel -----------------------------------------------------------------------------


def kept_away(folder, capsys):
    """The games are counted from elsewhere, and only what they say stays."""
    games = folder / "games" / "club.pgn"
    elsewhere = folder.parent / "elsewhere"
    elsewhere.mkdir()
    away = games.rename(elsewhere / "big.pgn")
    assert "kept in games/big.counts\n" in run(capsys, folder, away, "--keep")
    return away


def test_counts_travel_in_place_of_a_file(tmp_path, capsys):
    folder = write_booklet(tmp_path / "booklet", MAIN)
    (folder / "games").mkdir()
    (folder / "games" / "club.pgn").write_text(GAMES)
    before = run(capsys, folder)
    away = kept_away(folder, capsys)
    text = (folder / "games" / "big.counts").read_text()
    assert text.startswith('+++\nfile   = "big.pgn"\ngames  = 5\nlatest = "2026.05.01"\nplies  = 40\n+++\n')
    shutil.rmtree(folder / ".plyleaf")
    assert run(capsys, folder) == before.replace("games/club.pgn", "big.pgn")
    # Again the same bytes; and where the file is beside it, that counts, once.
    run(capsys, folder, away, "--keep")
    assert (folder / "games" / "big.counts").read_text() == text
    (folder / "games" / "big.pgn").write_text(GAMES)
    assert run(capsys, folder) == before.replace("club", "big")


def test_old_counts_are_told(tmp_path, capsys):
    folder = write_booklet(tmp_path / "booklet", MAIN)
    (folder / "games").mkdir()
    (folder / "games" / "club.pgn").write_text(GAMES)
    kept_away(folder, capsys)
    write_booklet(folder, MAIN + "\n" + line_of("1. d4 d5", "line other"))
    told = run(capsys, folder)
    assert "games/big.counts:1:1: warning: 2 of the booklet's positions were not counted in big.pgn" in told
    assert "5 games" in told


WRONG = {
    "nothing": ("", 1), "another file": ("a letter\n", 1),
    "no games": ('+++\nfile = "x"\n+++\nposition,move,white,draws,black,unknown\n', 2),
    "a row": ('+++\nfile = "x"\ngames = 1\nlatest = ""\nplies = 40\n+++\n'
              "position,move,white,draws,black,unknown\nx,,1,2,3\n", 8),
}  # fmt: skip


@pytest.mark.parametrize("text, line", WRONG.values(), ids=WRONG)
def test_what_is_no_counts(text, line, folder, capsys):
    (folder / "games" / "big.counts").write_text(text)
    assert main(["count", str(folder)]) == 1
    assert f"games/big.counts:{line}:1: error: these are no counts" in capsys.readouterr().out


def test_what_is_no_counts_is_not_replaced(folder, capsys, tmp_path):
    (folder / "games" / "big.counts").write_text("a letter\n")
    away = tmp_path / "big.pgn"
    away.write_text(GAMES)
    assert main(["count", str(folder), str(away), "--keep"]) == 1
    assert (folder / "games" / "big.counts").read_text() == "a letter\n"
    assert main(["count", str(folder), "--keep"]) == 2
