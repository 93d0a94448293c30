"""Kept answers: one file of the booklet, read as data, never overwritten when it isn't ours."""

from __future__ import annotations

import sqlite3
import struct

import chess
import pytest
from proof.engines import Known

from builder.proof.engine_answers import Answer, FoundLine, Question, Score
from builder.proof.engine_kept import kept_answers
from builder.proof.store import STORE_FILE, Store, StoreFault
from builder.source.files import BookletFiles

START = Question(chess.Board().epd(), 2)
ANSWER = Known({"": ("e4 e5 Nf3 0.4", "d4 d5 0.3")})(START)
MATE = Answer((FoundLine((chess.Move.from_uci("e2e4"),), Score.mate(3, by_white=False)),), 20)


def files(folder) -> BookletFiles:
    return BookletFiles.at(folder)


def opened(folder) -> Store:
    store = Store.open(files(folder), writing=True)
    assert store is not None
    return store


def filled(folder) -> None:
    with opened(folder) as store:
        store.keep(store.engine("stockfish", "Stockfish 1", "Hash=16"), 1000, START, ANSWER)


def test_what_is_kept_comes_back(tmp_path):
    filled(tmp_path)
    with opened(tmp_path) as store:
        engine = store.engine("stockfish", "Stockfish 1", "Hash=16")
        assert store.answer(engine, 1000, START) == ANSWER
        one = Question(START.epd, 1)
        store.keep(engine, 1000, one, MATE)
        assert store.answer(engine, 1000, one) == MATE
        assert store.answer(engine, 1000, START) == ANSWER
        assert store.count() == 2
    assert [path.name for path in (tmp_path / ".plyleaf").iterdir()] == ["engine.sqlite"]


OTHER = {
    "other nodes": lambda store, engine: store.answer(engine, 2000, START),
    "other lines": lambda store, engine: store.answer(engine, 1000, Question(START.epd, 1)),
    "other position": lambda store, engine: store.answer(
        engine, 1000, Question("4k3/8/8/8/8/8/8/4K2R w K -", 2)),
    "other version": lambda store, engine: store.answer(
        store.engine("stockfish", "Stockfish 2", "Hash=16"), 1000, START),
    "other options": lambda store, engine: store.answer(
        store.engine("stockfish", "Stockfish 1", "Hash=32"), 1000, START),
}  # fmt: skip


@pytest.mark.parametrize("name", OTHER)
def test_another_question_has_no_answer(name, tmp_path):
    filled(tmp_path)
    with opened(tmp_path) as store:
        engine = store.engine("stockfish", "Stockfish 1", "Hash=16")
        assert OTHER[name](store, engine) is None


def test_two_commands_of_one_engine_share_its_answers(tmp_path):
    filled(tmp_path)
    with opened(tmp_path) as store:
        engine = store.engine("/usr/games/stockfish", "Stockfish 1", "Hash=16")
        assert store.answer(engine, 1000, START) == ANSWER


def test_without_an_engine_the_deepest_answer_counts(tmp_path):
    one = Question(START.epd, 1)
    assert kept_answers(files(tmp_path), "stockfish", [one])(one) is None
    assert not (tmp_path / ".plyleaf").exists()
    with opened(tmp_path) as store:
        engine = store.engine("stockfish", "Stockfish 1", "Hash=16")
        store.keep(engine, 1000, one, MATE)
        store.keep(engine, 5000, START, ANSWER)
    assert kept_answers(files(tmp_path), "stockfish", [one])(one) == Answer(ANSWER.lines[:1])
    assert kept_answers(files(tmp_path), "another", [one])(one) is None


def test_without_an_engine_the_last_version_counts(tmp_path):
    one = Question(START.epd, 1)
    with opened(tmp_path) as store:
        store.keep(store.engine("stockfish", "Stockfish 1", ""), 9000, one, MATE)
        store.keep(store.engine("stockfish", "Stockfish 2", ""), 1000, one, ANSWER)
    assert kept_answers(files(tmp_path), "stockfish", [one])(one).best == ANSWER.best


def spoil_header(path):
    path.write_bytes(b"not a database at all, but a letter to a friend" * 20)


def spoil_middle(path):
    data = bytearray(path.read_bytes())
    for page in range(1, len(data) // 4096):
        data[page * 4096 : page * 4096 + 200] = b"\xa5" * 200
    path.write_bytes(bytes(data))


def cut(path):
    path.write_bytes(path.read_bytes()[:5000])


def foreign(path):
    path.unlink()
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
        connection.execute("INSERT INTO recipes VALUES ('soup')")
    connection.close()


def with_trigger(path):
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TRIGGER t AFTER INSERT ON line BEGIN DELETE FROM line; END")
    connection.close()


def newer(path):
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 2")
    connection.close()


def wrong_move(path):
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE line SET moves = 'e2e5'")
    connection.close()


def wrong_score(path):
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE line SET centipawns = 'lots'")
    connection.close()


def a_folder(path):
    path.unlink()
    path.mkdir()


SPOILT = {
    spoil_header: "file is not a database",
    spoil_middle: "engine.sqlite",
    cut: "engine.sqlite",
    foreign: "is somebody else's file",
    with_trigger: "is somebody else's file",
    newer: "was written by a newer version",
    wrong_move: "holds an answer that is none",
    wrong_score: "holds an answer that is none",
    a_folder: "is not a file",
}


@pytest.mark.parametrize("spoil", SPOILT, ids=lambda spoil: spoil.__name__)
@pytest.mark.parametrize("writing", [True, False])
def test_a_spoilt_file_is_told_and_left_alone(spoil, writing, tmp_path):
    filled(tmp_path)
    path = tmp_path / STORE_FILE
    spoil(path)
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(StoreFault) as caught:
        with Store.open(files(tmp_path), writing) as store:
            store.answer(1, 1000, START)
    assert SPOILT[spoil] in str(caught.value)
    assert (path.read_bytes() if path.is_file() else None) == before


def test_an_empty_file_is_taken_for_a_new_one(tmp_path):
    (tmp_path / ".plyleaf").mkdir()
    (tmp_path / STORE_FILE).touch()
    with pytest.raises(StoreFault, match="is empty"):
        Store.open(files(tmp_path), writing=False)
    filled(tmp_path)
    with opened(tmp_path) as store:
        assert store.count() == 1


@pytest.mark.parametrize("linked", [".plyleaf", STORE_FILE, f"{STORE_FILE}-journal"])
def test_a_link_out_of_the_booklet_is_not_followed(linked, tmp_path):
    booklet, outside = tmp_path / "booklet", tmp_path / "outside"
    booklet.mkdir()
    outside.mkdir()
    link = booklet / linked
    link.parent.mkdir(exist_ok=True)
    link.symlink_to(outside if linked == ".plyleaf" else outside / "victim")
    for writing in (True, False):
        with pytest.raises(StoreFault, match="leads out of its place"):
            Store.open(files(booklet), writing)
    assert list(outside.iterdir()) == []


def journal_naming(victim: str, pages: int) -> bytes:
    """A rollback journal that names a super-journal, as SQLite's file format describes it
    (sqlite.org/fileformat2.html#the_rollback_journal; the tail is from pager.c)."""
    name = victim.encode()
    head = bytes.fromhex("d9d505f920a163d7") + struct.pack(">IIIII", 0, 0, pages, 512, 4096)
    tail = struct.pack(">I", 1) + name
    tail += struct.pack(">II", len(name), sum(name)) + bytes.fromhex("d9d505f920a163d7")
    return head.ljust(512, b"\0") + tail


def test_a_journal_from_elsewhere_harms_no_file(tmp_path):
    """SQLite would play it back and delete the file that it names."""
    filled(tmp_path)
    victim = tmp_path / "victim"
    victim.write_text("dear to somebody")
    journal = tmp_path / f"{STORE_FILE}-journal"
    pages = (tmp_path / STORE_FILE).stat().st_size // 4096
    journal.write_bytes(journal_naming(str(victim), pages))
    for writing in (True, False):
        with pytest.raises(StoreFault, match="was not written here"):
            Store.open(files(tmp_path), writing)
    assert victim.read_text() == "dear to somebody"
    # What it is held back from: plain SQLite does delete it, so the journal above is a real one.
    connection = sqlite3.connect(tmp_path / STORE_FILE)
    assert connection.execute("SELECT count(*) FROM line").fetchone() == (2,)
    connection.close()
    assert not victim.exists()


def test_an_interrupted_commit_is_taken_back(tmp_path):
    """A journal of our own, from a run that was killed, is what SQLite keeps it for."""
    filled(tmp_path)
    path, journal = tmp_path / STORE_FILE, tmp_path / f"{STORE_FILE}-journal"
    whole = path.read_bytes()
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA cache_size = 1")
    connection.execute("BEGIN IMMEDIATE")
    for number in range(2000):
        connection.execute("INSERT INTO engine (name, options) VALUES (?, '')", (f"e{number}" * 50,))
    left, half = journal.read_bytes(), path.read_bytes()
    connection.execute("ROLLBACK")
    connection.close()
    assert half != whole and left
    path.write_bytes(half)
    journal.write_bytes(left)
    with opened(tmp_path) as store:
        assert store.answer(1, 1000, START) == ANSWER
        assert store.count() == 1


def test_a_folder_that_can_not_be_written(tmp_path):
    (tmp_path / ".plyleaf").write_text("a file")
    with pytest.raises(StoreFault):
        Store.open(files(tmp_path), writing=True)


def test_two_at_once_wait_for_each_other(tmp_path):
    filled(tmp_path)
    with opened(tmp_path) as one, opened(tmp_path) as other:
        one.keep(1, 2000, START, ANSWER)
        other.keep(1, 3000, START, ANSWER)
        assert one.count() == other.count() == 3
