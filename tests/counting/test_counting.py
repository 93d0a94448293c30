"""Games counted: as the rules library's own PGN reader counts them, whatever files hold."""

from __future__ import annotations

import hashlib
import io
import os
import random
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import chess
import pytest
from counting_reference import as_plain, plain_counts
from tiny import line_of, tiny

from builder.counting import booklet as counting
from builder.counting import content, text, work
from builder.counting.booklet import booklet_counts, counts_of, wanted_of
from builder.counting.follow import MOST_SLIPS, Wanted
from builder.faults import Faults
from builder.model import position_key
from builder.model.counts import GameCounts, Results
from builder.source.files import BookletFiles

MAIN = line_of("1. e4 e5 (1... c5 2. Nf3) 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Nf6 (4... Bc5 5. Be3)")


def count(folder: Path, wanted: Wanted, data: str | bytes) -> tuple[GameCounts, Faults]:
    file = folder / "all.pgn"
    file.write_bytes(data.encode() if isinstance(data, str) else data)
    faults = Faults()
    return counts_of({"all.pgn": file}, wanted, BookletFiles.at(folder), faults), faults


def line_wanted(tmp_path: Path, chapter: str = MAIN) -> Wanted:
    return wanted_of(tiny(tmp_path, chapter).booklet.reached)


def at(counts: GameCounts, *sans: str) -> dict[str, int]:
    """What was played behind these moves, and how many games ended there."""
    board = chess.Board()
    for san in sans:
        board.push_san(san)
    tally = counts.at(position_key(board))
    found = {board.san(move): results.games for move, results in tally.moves.items()}
    return found | ({"": tally.ended.games} if tally.ended.games else {})


# --- the same as another reader ---------------------------------------------------------------------


def random_games(seed: int, number: int, dressed: bool) -> tuple[str, list]:
    """Games that share their beginnings, with what files hold beside moves; and their positions."""
    chance = random.Random(seed)
    parts, keys = [], {}
    for _ in range(number):
        start = chess.Board()
        tags = f'[Event "E"]\n[Result "{chance.choice(("1-0", "0-1", "1/2-1/2", "*"))}"]\n'
        if dressed and chance.random() < 0.1:
            start = chess.Board("r1bqkbnr/pppp1ppp/2n5/4p3/3PP3/5N2/PPP2PPP/RNBQKB1R b KQkq d3 0 3")
            tags += f'[SetUp "1"]\n[FEN "{start.fen()}"]\n'
        board, words = start.copy(), []
        for _ in range(chance.randint(0, 30)):
            moves = sorted(board.legal_moves, key=str)
            if not moves:
                break
            # Few first moves, so that games share positions, also by transposition.
            move = moves[chance.randrange(min(len(moves), 4 if board.ply() < 10 else len(moves)))]
            keys[position_key(board)] = None
            words.append(f"{board.fullmove_number}{'.' if board.turn else '...'}")
            words.append(board.san(move))
            if dressed:
                words += chance.choices(("", "$1", "!?", "{[%clk 0:01] e4 (Nf3}", "(1. a4 {;} a5)",
                                         "; d4\n", "\n% e4\n"), (60, 2, 2, 6, 6, 2, 2))  # fmt: skip
            board.push(move)
        parts.append(f"{tags}\n{' '.join(words)} {chance.choice(('*', '1-0'))}\n\n")
    return "".join(parts), list(keys)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("dressed", [False, True], ids=["plain", "dressed"])
def test_counts_are_those_of_the_rules_librarys_reader(seed, dressed, tmp_path):
    """chess.pgn plays every game to the end; wanted are some of the positions, up to half-move 18."""
    data, keys = random_games(seed, 100, dressed)
    wanted = Wanted(tuple(random.Random(seed).sample(keys, len(keys) // (seed + 1))), 18)
    counts, faults = count(tmp_path, wanted, data)
    games, plain = plain_counts(io.StringIO(data), wanted)
    assert not faults.sorted()
    assert (counts.games, as_plain(counts)) == (games, plain)
    assert plain


def test_a_game_that_comes_back_counts_there(tmp_path):
    """1.d4 e5 2.e4 exd4 3.Nf3 Nc6 4.Nxd4 leaves at once, and is back at the eighth half-move."""
    counts, _ = count(tmp_path, line_wanted(tmp_path), "1. d4 e5 2. e4 exd4 3. Nf3 Nc6 4. Nxd4 Nf6 *")
    assert at(counts, *"e4 e5 Nf3 Nc6 d4 exd4 Nxd4".split()) == {"Nf6": 1}
    assert at(counts) == {"d4": 1} and at(counts, "e4") == {}


def test_a_game_counts_once_for_a_position(tmp_path):
    counts, _ = count(tmp_path, line_wanted(tmp_path), "1. Nf3 Nf6 2. Ng1 Ng8 3. e4 c5 *")
    assert at(counts) == {"Nf3": 1}


def test_how_far_games_are_followed(tmp_path):
    """40 half-moves; with a longer line in the booklet 60, and so on."""
    shuffle = "Nf3 Nf6 Ng1 Ng8 " * 20
    assert line_wanted(tmp_path).plies == 40
    longer = line_wanted(tmp_path / "longer", line_of(f"{shuffle[: 4 * 41]} "))
    assert longer.plies == 60
    late = "1. a3 a6 " + "Nf3 Nf6 Ng1 Ng8 " * 9 + "{} Nf3 Nf6 Nd4 Nd5 Nb3 Nb6 *"
    board = chess.Board()
    for san in late.replace("{}", "").replace("1.", "").split()[:42]:
        board.push_san(san)
    for plies, games in ((42, 1), (41, 0)):
        found, _ = count(tmp_path, Wanted((position_key(board),), plies), late)
        assert sum(tally.games for tally in found.by_position.values()) == games


# --- what files hold --------------------------------------------------------------------------------

KINDS = {
    "two games": "[Event \"a\"]\n\n1. e4 e5 *\n\n[Event \"b\"]\n\n1. e4 c5 *\n",
    "no empty line between": "[Event \"a\"]\n\n1. e4 e5 *\n[Event \"b\"]\n\n1. e4 c5 *\n",
    "no tags": "1. e4 e5 *\n\n1. e4 c5 *\n",
    "a tag that is not first": "[Site \"a\"]\n\n1. e4 e5 *\n\n[Site \"b\"]\n\n1. e4 c5 *\n",
    "quotes in tags": '[Event "a "b" c"]\n\n1. e4 e5 *\n\n[Event "a \\" ]"]\n\n1. e4 c5 *\n',
    "CR LF": "[Event \"a\"]\r\n\r\n1. e4 e5 *\r\n\r\n[Event \"b\"]\r\n\r\n1. e4 c5 *\r\n",
    "CR": "[Event \"a\"]\r\r1. e4 e5 *\r\r[Event \"b\"]\r\r1. e4 c5 *\r",
    "a mark in front": "\ufeff[Event \"a\"]\n\n1. e4 e5 *\n\n[Event \"b\"]\n\n1. e4 c5 *\n",
    "tags on one line": '[Event "a"] [Site "c5"]\n1. e4 e5 *\n\n[Event "b"] 1. e4 c5 *\n',
    "an empty line in a comment": "[Event \"a\"]\n\n1. e4 {a\n\nb} e5 *\n\n[Event \"b\"]\n\n1. e4 c5 *",
    "an empty line among moves": "[Event \"a\"]\n\n1. e4\n\ne5 *\n\n[Event \"b\"]\n\n1. e4 c5 *",
    "a comment that never ends": "[Event \"a\"]\n\n1. e4 e5 {x *\n\n[Event \"b\"]\n\n1. e4 c5 *",
    "escaped lines": "% 1. d4\n[Event \"a\"]\n\n1. e4\n% d5\ne5 *\n\n[Event \"b\"]\n\n1. e4 c5 *",
    "long notation": "1. e2-e4 e7e5 *\n\n1. Pe4 *\n\n1. e4 c7-c5 *\n".replace("1. Pe4 *\n\n", ""),
    "unclosed variations": "[Event \"a\"]\n\n1. e4 e5 ((2. d4 *\n\n[Event \"b\"]\n\n1. e4 c5) *\n",
}  # fmt: skip


@pytest.mark.parametrize("data", KINDS.values(), ids=KINDS)
def test_what_files_hold(data, tmp_path, monkeypatch):
    for size in (text.CHUNK, 7):
        monkeypatch.setattr(text, "CHUNK", size)
        folder = tmp_path / str(size)
        counts, faults = count(folder, line_wanted(folder), data)
        assert not faults.sorted()
        assert counts.games == 2 and at(counts, "e4") == {"e5": 1, "c5": 1}


def test_files_in_any_encoding(tmp_path):
    """ASCII is part of them all, and nothing else is read."""
    data = '[Event "Bückeburg – Zürich"]\n\n1. e4 {Grüße} e5 *\n\n'
    games = data.encode() + data.replace("–", "-").encode("latin-1") + data.encode("cp1252")
    counts, faults = count(tmp_path, line_wanted(tmp_path), games)
    assert not faults.sorted() and at(counts, "e4") == {"e5": 3}


@pytest.mark.parametrize("codec", ["utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("size", [text.CHUNK, 9])
def test_files_in_utf_16(codec, size, tmp_path, monkeypatch):
    """Which doesn't hold ASCII; in blocks that part letters, too."""
    data = '[Event "Bückeburg – Zürich"]\r\n\r\n1. e4 {Grüße} e5 *\r\n\r\n' * 3
    monkeypatch.setattr(text, "CHUNK", size)
    counts, faults = count(tmp_path, line_wanted(tmp_path), data.encode(codec))
    assert not faults.sorted() and counts.games == 3 and at(counts, "e4") == {"e5": 3}


def test_results(tmp_path):
    data = "".join(f'[Event "a"]\n[Result "{tag}"]\n\n1. e4 {end}\n\n' for tag, end in (
        ("1-0", "1-0"), ("1-0", "*"), ("*", "0-1"), ("1/2-1/2", ""), ("?", "*"), ("0-1", "1-0")))  # fmt: skip
    counts, _ = count(tmp_path, line_wanted(tmp_path), data)
    (results,) = counts.at(position_key(chess.Board())).moves.values()
    assert results == Results(2, 1, 2, 1) and results.games == 6 and results.score == 0.5


def test_the_latest_date(tmp_path):
    data = "".join(f'[Date "{date}"]\n\n1. e4 *\n\n' for date in
                   ("1992.11.04", "2026.10.??", "2026.??.??", "????.??.??", "2026.99.01", "x"))  # fmt: skip
    counts, _ = count(tmp_path, line_wanted(tmp_path), data)
    assert counts.files[0].latest == "2026.10"


BAD = {
    "a move that can't be": ("1. e4 e5 2. Nf4 Nc6 *", 5, "Nf4 can't be played"),
    "a pass": ("1. e4 e5 2. -- Nc6 *", 5, "-- can't be played"),
    "no position": ('[FEN "x"]\n\n1. e4 *', 7, "FEN is no position"),
    "a position that can't be": ('[FEN "8/8/8/8/8/8/8/8 w - - 0 1"]\n\n1. e4 *', 7, "that can't be"),
    "other rules": ('[Variant "Atomic"]\n\n1. e4 *', 7, "other rules (Atomic)"),
}  # fmt: skip


@pytest.mark.parametrize("game, line, words", BAD.values(), ids=BAD)
def test_bad_games_are_told_and_passed_over(game, line, words, tmp_path):
    data = f'[Event "a"]\n\n1. e4 *\n\n{game}\n\n[Event "b"]\n\n1. e4 e5 2. Nf3 *\n\n'
    counts, faults = count(tmp_path, line_wanted(tmp_path), data)
    (fault,) = faults.sorted()
    assert fault.code == "game-move" and words in fault.message
    assert fault.place.file == "all.pgn" and fault.place.line == line
    assert counts.games == 3 and at(counts, "e4", "e5")["Nf3"] == 1


def test_many_bad_games_are_counted(tmp_path):
    _, faults = count(tmp_path, line_wanted(tmp_path), "1. e4 e6 2. e4 *\n\n1. e5 *\n\n" * 30)
    told = faults.sorted()
    assert len(told) == MOST_SLIPS + 1 and f"{30 - MOST_SLIPS} more games" in told[0].message


BROKEN = {
    "zipped": (b"PK\x03\x04" + bytes(100), "pgn-binary"),
    "zeros": (bytes(5000), "pgn-binary"),
}


@pytest.mark.parametrize("data, code", BROKEN.values(), ids=BROKEN)
def test_files_that_are_no_text(data, code, tmp_path):
    counts, faults = count(tmp_path, line_wanted(tmp_path), data)
    assert [fault.code for fault in faults.sorted()] == [code] and counts.games == 0


def test_a_file_that_cannot_be_read(tmp_path):
    faults = Faults()
    files = BookletFiles.at(tmp_path)
    counts_of({"x.pgn": tmp_path / "x.pgn"}, line_wanted(tmp_path), files, faults)
    assert [fault.code for fault in faults.sorted()] == ["file-read"]


HOSTILE = {
    "braces": "{" * 300_000, "quotes": '[Event "' + '" ' * 200_000, "lines": "\n" * 300_000,
    "tags": "[a " * 200_000, "levels": "1. e4 " + "(" * 300_000, "escapes": "%\n" * 200_000,
    "spaces": '[Event "a"' + " " * 300_000, "results": "1-0 " * 200_000, "marks": "[%x\n\n" * 100_000,
    "pairs": '[a "b"]' * 100_000, "dashes": "1. e4 " + "-- " * 200_000,
}  # fmt: skip


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE)
def test_hostile_files_end(data, tmp_path):
    count(tmp_path, line_wanted(tmp_path), data)


def test_a_game_without_end_is_cut(tmp_path, monkeypatch):
    monkeypatch.setattr(text, "CHUNK", 1000)
    monkeypatch.setattr(text, "MOST_GAME", 5000)
    data = f'1. e4 e5 {{{"x" * 50_000}}} 2. Nf3 *\n\n[Event "b"]\n\n1. e4 c5 *\n'
    counts, faults = count(tmp_path, line_wanted(tmp_path), data)
    assert counts.games == 2 and at(counts, "e4") == {"e5": 1, "c5": 1}
    assert ["longer than" in fault.message for fault in faults.sorted()] == [True]


# --- processes and what is kept ---------------------------------------------------------------------


def test_processes_count_the_same(tmp_path, monkeypatch):
    data, keys = random_games(3, 60, dressed=True)
    data += "1. e5 *\n\n"
    wanted = Wanted(tuple({*keys, position_key(chess.Board())}), 18)
    file = tmp_path / "all.pgn"
    file.write_text(data)
    digest = hashlib.sha256(file.read_bytes()).digest()
    alone = work.count_file(file, digest, wanted)
    monkeypatch.setattr(work, "LARGE", 0)
    monkeypatch.setattr(text, "CHUNK", 2000)
    done: list[int] = []
    shared = work.count_file(file, digest, wanted, done.append, processes=2)
    assert shared == alone and alone.counts and alone.slips[0].line == data.count("\n") - 1
    assert done == sorted(done) and done[-1] > 0


def test_a_file_is_counted_once(tmp_path, monkeypatch):
    made = tiny(tmp_path, MAIN)
    (tmp_path / "games").mkdir()
    file = tmp_path / "games" / "club.pgn"
    file.write_text("1. e4 e5 *\n\n1. e4 e5 2. Nf3 Nf3 *\n\n")
    files = BookletFiles.at(tmp_path)
    asked: list[Wanted] = []

    def spy(path, content, wanted, behind):
        asked.append(wanted)
        return work.count_file(path, content, wanted, behind)

    def run(booklet):
        asked.clear()
        faults = Faults()
        counts = booklet_counts(booklet.reached, files, faults)
        return counts, [fault.as_text() for fault in faults.sorted()], [len(w.keys) for w in asked]

    monkeypatch.setattr(counting, "count_file", spy)
    first, told, counted = run(made.booklet)
    assert len(told) == 1 and len(counted) == 1
    file.rename(tmp_path / "games" / "renamed.pgn")
    again, told_again, counted = run(made.booklet)
    assert again.by_position == first.by_position and counted == []
    assert told_again == [told[0].replace("club", "renamed")]
    # A line more: only its positions are counted, and the others are as before.
    more = tiny(tmp_path / "more", MAIN + "\n" + line_of("1. e4 e5 2. Nf3 d6 3. d4", "line more"))
    grown, _, counted = run(more.booklet)
    assert counted == [2]
    assert {key: grown.by_position[key] for key in first.by_position} == first.by_position
    # Another content: everything.
    (tmp_path / "games" / "renamed.pgn").write_text("1. e4 c5 *\n")
    changed, _, counted = run(made.booklet)
    assert counted == [len(wanted_of(made.booklet.reached).keys)] and at(changed, "e4") == {"c5": 1}


def test_counts_do_not_hang_on_what_is_kept(tmp_path):
    """A folder that can't hold the store, or a strange file in its place, costs time only."""
    wanted = line_wanted(tmp_path)
    (tmp_path / ".plyleaf").mkdir()
    (tmp_path / ".plyleaf" / "games.sqlite").write_text("a letter")
    counts, faults = count(tmp_path, wanted, "1. e4 e5 *")
    assert at(counts, "e4") == {"e5": 1}
    assert [(fault.code, fault.severity.word) for fault in faults.sorted()] == [("counts-store", "notice")]
    assert (tmp_path / ".plyleaf" / "games.sqlite").read_text() == "a letter"


# --- whether a file is as it was ------------------------------------------------------------------


@pytest.fixture
def reads(monkeypatch):
    """The files that are read whole to be hashed, as they come."""
    found = []

    def spy(file, name):
        found.append(file.name)
        return hashlib.file_digest(file, name)

    monkeypatch.setattr(content, "hashlib", SimpleNamespace(file_digest=spy))
    return found


def untouched(monkeypatch):
    """As if all files had lain there for a year."""
    now = time.time_ns()
    monkeypatch.setattr(content.time, "time_ns", lambda: now + 365 * 86400 * 10**9)


def test_a_file_that_was_left_alone_is_not_read_again(tmp_path, monkeypatch, reads):
    untouched(monkeypatch)
    wanted = line_wanted(tmp_path)
    first, _ = count(tmp_path, wanted, "1. e4 e5 *")
    (file,) = reads
    again = counts_of({"all.pgn": Path(file)}, wanted, BookletFiles.at(tmp_path), Faults())
    assert again == first and reads == [file]


def test_a_file_that_was_touched_lately_is_read_again(tmp_path, monkeypatch, reads):
    wanted = line_wanted(tmp_path)
    for _ in range(2):
        count(tmp_path, wanted, "1. e4 e5 *")
    assert len(reads) == 2
    rows = sqlite3.connect(tmp_path / ".plyleaf" / "games.sqlite").execute("SELECT * FROM stamp").fetchall()
    assert rows == []


@pytest.mark.parametrize("how", ["written", "another in its place"])
def test_a_change_is_seen_though_size_and_time_are_the_same(how, tmp_path, monkeypatch):
    untouched(monkeypatch)
    wanted, file = line_wanted(tmp_path), tmp_path / "all.pgn"
    counts, _ = count(tmp_path, wanted, "1. e4 e5 *")
    assert at(counts, "e4") == {"e5": 1}
    was = file.stat()
    other = file if how == "written" else tmp_path / "other.pgn"
    other.write_text("1. e4 c5 *")
    os.utime(other, ns=(was.st_atime_ns, was.st_mtime_ns))
    other.replace(file)
    now = file.stat()
    assert (now.st_size, now.st_mtime_ns) == (was.st_size, was.st_mtime_ns)
    counts = counts_of({"all.pgn": file}, wanted, BookletFiles.at(tmp_path), Faults())
    assert at(counts, "e4") == {"c5": 1}


def test_a_file_that_changes_while_it_is_counted(tmp_path, monkeypatch):
    """Its counts are nobody's: neither told nor kept."""
    wanted, file = line_wanted(tmp_path), tmp_path / "all.pgn"

    def written(path, *rest):
        path.write_text("1. e4 c5 *")
        return work.count_file(path, *rest)

    with monkeypatch.context() as patch:
        patch.setattr(counting, "count_file", written)
        counts, faults = count(tmp_path, wanted, "1. e4 e5 *")
    assert [fault.code for fault in faults.sorted()] == ["file-changed"] and not counts.files
    counts, faults = count(tmp_path, wanted, "1. e4 e5 *")
    assert at(counts, "e4") == {"e5": 1} and not faults.sorted()


def test_processes_that_count_at_once(tmp_path):
    """Whichever makes the store first: no one is told of the others."""
    count(tmp_path, line_wanted(tmp_path), "1. e4 e5 *")
    (tmp_path / ".plyleaf" / "games.sqlite").unlink()
    code = ("import sys; from pathlib import Path; from builder.counting.store import Store;"
            " from builder.source.files import BookletFiles;"
            " Store.open(BookletFiles.at(Path(sys.argv[1]))).close()")  # fmt: skip
    running = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stderr=subprocess.PIPE,
                                cwd=Path(__file__).parents[2]) for _ in range(4)]  # fmt: skip
    assert [process.communicate()[1] for process in running] == [b""] * 4


def test_counts_that_an_earlier_version_kept_are_used(tmp_path, monkeypatch):
    wanted, store = line_wanted(tmp_path), tmp_path / ".plyleaf" / "games.sqlite"
    count(tmp_path, wanted, "1. e4 e5 *")
    with sqlite3.connect(store) as connection:
        connection.execute("DROP TABLE stamp")
        connection.execute("PRAGMA user_version = 1")
    monkeypatch.setattr(counting, "count_file", lambda *_: pytest.fail("counted"))
    counts, faults = count(tmp_path, wanted, "1. e4 e5 *")
    assert at(counts, "e4") == {"e5": 1} and not faults.sorted()


def test_several_files_are_one(tmp_path):
    made = tiny(tmp_path, MAIN)
    (tmp_path / "games").mkdir()
    (tmp_path / "games" / "a.pgn").write_text("1. e4 e5 *\n")
    (tmp_path / "games" / "B.PGN").write_text("1. e4 e5 *\n\n1. e4 c5 1-0\n")
    (tmp_path / "games" / "c.txt").write_text("1. d4 *\n")
    counts = booklet_counts(made.booklet.reached, BookletFiles.at(tmp_path), Faults())
    assert [(file.name, file.games) for file in counts.files] == [("games/B.PGN", 2), ("games/a.pgn", 1)]
    assert at(counts, "e4") == {"e5": 2, "c5": 1}
    ply = next(ply for line in made.booklet.chapters[0].lines for ply in line.plies() if ply.san == "c5")
    assert counts.played(ply) == Results(white=1)
