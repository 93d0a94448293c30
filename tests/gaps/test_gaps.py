"""Gaps: what is answered, in which order the rest comes, and counts that another library agrees to."""

from __future__ import annotations

import json
import random
import subprocess

import chess
import pytest
from tiny import line_of, read_and_make, tiny, write_booklet

from builder.__main__ import main
from builder.counting.booklet import booklet_counts, counts_of
from builder.counting.follow import Wanted
from builder.errands.gaps import gaps
from builder.faults import Faults
from builder.model import NO_GAMES, Position
from builder.openings.book import Played
from builder.proof.engine_answers import Answer, FoundLine, Question, Score
from builder.proof.gaps import Reply, find_gaps
from builder.proof.likely import ENOUGH, Habits, Way, reached
from builder.proof.store import Store
from builder.source.booklet import read_booklet
from builder.source.files import BookletFiles

MAIN = line_of("1. e4 e5 (1... c5 2. Nf3) 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Nf6")


def gaps_of(tmp_path, *chapters: str, games: str = ""):
    """The gap report of a tiny booklet with these games."""
    write_booklet(tmp_path, *chapters)
    if games:
        (tmp_path / "games").mkdir()
        (tmp_path / "games" / "all.pgn").write_text(games, encoding="utf-8")
    source, booklet, faults = read_and_make(tmp_path)
    report = find_gaps(booklet, booklet_counts(booklet.reached, source.files, faults))
    assert not faults.has_errors
    return report, faults


def pgn(*games: str) -> str:
    return "".join(f'[Event "?"]\n[Result "*"]\n\n{moves} *\n\n' for moves in games)


def at(report, label: str):
    return next(gap for gap in report.gaps if gap.ply and gap.ply.label == label)


def weight(gap) -> int:
    return sum(reply.games for reply in gap.replies)


def test_games_tell_what_is_played(tmp_path):
    report, _ = gaps_of(
        tmp_path, MAIN,
        games=pgn(*["1. e4 e5 2. Nf3 d6"] * 3, *["1. e4 e5 2. Nf3 Nf6"] * 5, "1. e4 c5",
                  "1. e4 e5 2. Nf3 Nc6", "1. e4 e5 2. Nf3", "1. d4 d5"),
    )  # fmt: skip
    gap = at(report, "2.Nf3")
    assert (gap.games, gap.covered, weight(gap)) == (10, 1, 8)
    assert [(reply.san, reply.games) for reply in gap.replies[:2]] == [("Nf6", 5), ("d6", 3)]
    assert report.gaps[0] is gap
    assert [(step.ply, step.games, step.stayed) for step in report.coverage] == [(1, 11, 11), (3, 10, 1)]


def test_transpositions_are_counted_and_are_answers(tmp_path):
    """2.Nc3 Nf6 3.Nf3 Nc6 comes to a position of the booklet by another order of moves."""
    chapter = line_of("1. e4 e5 2. Nf3 (2. Nc3 Nf6 3. Nf3) Nc6 3. Nc3 Nf6 4. Bb5 Bb4")
    report, _ = gaps_of(tmp_path, chapter, games=pgn("1. e4 e5 2. Nc3 Nf6 3. Nf3 Nc6 4. Bb5 Bb4"))
    assert all(not weight(gap) for gap in report.gaps)
    assert (7, 1, 1) in [(step.ply, step.games, step.stayed) for step in report.coverage]


def test_without_games_force_comes_first(tmp_path):
    report, _ = gaps_of(tmp_path, MAIN)
    replies = at(report, "4.Nxd4").replies
    assert [(reply.san, reply.force) for reply in replies] == [("Bb4+", "check"), ("Nxd4", "capture")] + [
        (reply.san, "threat") for reply in replies[2:]
    ]  # fmt: skip


def told_replies(tmp_path, label: str, *chapters: str, games: str = "") -> list:
    """What `plyleaf gaps` finds at a position of a tiny booklet, the book of openings asked, too."""
    write_booklet(tmp_path, *chapters)
    if games:
        (tmp_path / "games").mkdir()
        (tmp_path / "games" / "all.pgn").write_text(games, encoding="utf-8")
    found = gaps(tmp_path, Faults())
    assert found is not None
    return list(at(found[1], label).replies)


def gaps_of_all(tmp_path, *chapters: str):
    """What `plyleaf gaps` finds in a booklet, the book of openings asked, too."""
    write_booklet(tmp_path, *chapters)
    found = gaps(tmp_path, Faults())
    assert found is not None
    return found[1]


def test_a_quiet_main_reply_is_told_and_a_rare_one_is_not(tmp_path):
    """4...Bc5 is half of what is played there; 4...g6 is one game of a hundred."""
    replies = told_replies(tmp_path, "4.Nxd4", MAIN)
    assert [(reply.san, reply.force) for reply in replies[:2]] == [("Bc5", ""), ("Bb4+", "check")]
    assert replies[0].share == pytest.approx(0.495, abs=0.001)
    assert not any(reply.share for reply in replies[1:])
    assert "g6" not in {reply.san for reply in replies}


def test_a_main_reply_that_transposes_is_answered(tmp_path):
    """3...d5 comes to the position of the other move order, where that is in the booklet."""
    chapter, other = line_of("1. d4 Nf6 2. c4 e6 3. Nf3 b6 4. g3"), "1. d4 d5 2. c4 e6 3. Nf3 Nf6 4. Nc3"
    alone = told_replies(tmp_path / "alone", "3.Nf3", chapter)
    both = told_replies(tmp_path / "both", "3.Nf3", chapter, line_of(other, "line other"))
    often = {reply.san for reply in alone if reply.share}
    assert "d5" in often
    assert {reply.san for reply in both if reply.share} == often - {"d5"}


def test_a_single_game_is_less_than_a_habit_and_more_than_force(tmp_path):
    games = pgn("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 g6", "1. e4 e5 2. Nf3 Nc6 3. d4 f5")
    replies = told_replies(tmp_path, "4.Nxd4", MAIN, games=games)
    assert [reply.san for reply in replies] == ["Bc5", "g6", "Bb4+", "Nxd4"]
    assert replies[0].chance > 40 * replies[1].chance
    report = gaps(tmp_path, Faults())[1]
    chances = [gap.chance for gap in report.gaps]
    assert chances == sorted(chances, reverse=True) and chances[0] > 0.1


def test_what_is_met_often_comes_before_what_is_played_always_in_a_rare_line(tmp_path):
    """4...Bc5 is half of what is played at a position that a reader often has; 4...c6 is played by
    nearly all in a line behind replies that few choose."""
    rare = line_of("1. e4 e5 2. Nf3 d6 3. d4 Nd7 4. Bc4 Be7", "line rare")
    report = gaps_of_all(tmp_path, MAIN, rare)
    labels = [gap.ply.label for gap in report.gaps if gap.ply]
    assert labels.index("4.Nxd4") < labels.index("4.Bc4")
    assert at(report, "4.Bc4").replies[0].share > 0.9
    assert at(report, "4.Bc4").chance < 0.1 * at(report, "4.Nxd4").chance


def test_a_good_reply_comes_before_a_bad_one_that_is_as_likely():
    move = chess.Move.from_uci("e7e5")
    good, unknown, bad = (Reply(move, "e5", 0.1, 1, 0, "", score) for score in (4.0, None, -4.0))
    assert [round(one.harm, 4) for one in (good, unknown, bad)] == [0.0909, 0.05, 0.0091]


E4, D4, C4 = (chess.Move.from_uci(text) for text in ("e2e4", "d2d4", "c2c4"))


@pytest.mark.parametrize(
    ("played", "shares"),
    [
        ({E4: 60, D4: 30, C4: 10}, (0.6, 0.3, 0.1)),
        ({C4: 1}, (0.475, 0.475, 0.05)),
        ({}, (0.5, 0.5, 0.0)),
        ({E4: 1000}, (1.0, 0.01, 0.0)),
    ],
    ids=["counted", "one game of the twenty", "nothing known", "what is answered is met now and then"],
)
def test_shares_of_replies(played, shares):
    habits = Habits(played, frozenset({E4, D4}))
    assert tuple(habits.share(move) for move in (E4, D4, C4)) == pytest.approx(shares)


def test_a_position_is_as_likely_as_its_likeliest_way():
    a, b, c, d = (1,), (2,), (3,), (4,)
    ways = [Way(a, b, 0.25), Way(a, c, 0.5), Way(b, d, 1.0), Way(c, d, 1.0), Way(d, a, 1.0)]
    assert reached(ways, [a]) == {a: 1.0, c: 0.5, d: 0.5, b: 0.25}


def test_how_many_is_a_number(tmp_path, capsys):
    write_booklet(tmp_path, MAIN)
    assert main(["gaps", str(tmp_path), "--most", "-3"]) == 2
    assert "'-3' is not a number from 0" in capsys.readouterr().err


def test_shares_are_told_in_text_and_json(tmp_path, capsys):
    write_booklet(tmp_path, MAIN)
    assert main(["gaps", str(tmp_path)]) == 0
    assert "  Bc5 (49 % in the book of openings)   Bb4+ (check)" in capsys.readouterr().out
    assert main(["gaps", str(tmp_path), "--format", "json"]) == 0
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    replies = next(gap for gap in told if gap["after"] == "4.Nxd4")["replies"]
    assert [(reply["move"], reply["share"]) for reply in replies[:2]] == [("Bc5", 0.495), ("Bb4+", 0)]


@pytest.mark.parametrize(
    ("share", "count", "told"), [(0.05, ENOUGH, True), (0.049, ENOUGH, False), (1.0, ENOUGH - 1, False)]
)
def test_few_games_are_no_habit(share, count, told, tmp_path):
    """1...b6 forces nothing: it is told for the book's sake or not at all."""
    move = chess.Move.from_uci("b7b6")
    _, booklet, _ = read_and_make(write_booklet(tmp_path, MAIN))
    report = find_gaps(booklet, NO_GAMES, book=lambda position: Played({move: share}, count))
    found = {reply.san for gap in report.gaps if gap.ply and gap.ply.label == "1.e4" for reply in gap.replies}
    assert ("b6" in found) is told


def test_only_what_the_booklet_recommends_is_looked_at(tmp_path):
    """2.Nc3 stands in the place of the booklet's own move: its answers are nobody's gap."""
    chapter = line_of("1. e4 e5 2. Nf3 (2. Nc3 Nf6 3. f4 d5) Nc6")
    report, _ = gaps_of(tmp_path, chapter)
    assert {gap.ply.label for gap in report.gaps if gap.ply} <= {"1.e4", "2.Nf3"}


def test_a_broken_game_counts_as_far_as_it_goes(tmp_path):
    report, faults = gaps_of(tmp_path, MAIN, games=pgn("1. e4 e5 2. Nf3 Qd9 3. d4", "1. e4 e5 2. Nf3 d6"))
    assert [fault.code for fault in faults.sorted()] == ["game-move"]
    assert report.games == 2
    assert (at(report, "2.Nf3").games, weight(at(report, "2.Nf3"))) == (2, 1)


COUNT_JS = """
const { Chess } = require(process.argv[1]);
const fs = require('fs');
const tally = {};
for (const game of JSON.parse(fs.readFileSync(0, 'utf8'))) {
  const chess = new Chess();
  const seen = {};
  for (const san of game) {
    const key = chess.fen().split(' ').slice(0, 4).join(' ');
    const move = chess.move(san);
    if (!(key in seen)) seen[key] = move.from + move.to + (move.promotion || '');
  }
  for (const key in seen) {
    tally[key] = tally[key] || {};
    tally[key][seen[key]] = (tally[key][seen[key]] || 0) + 1;
  }
}
console.log(JSON.stringify(tally));
"""


def test_counts_agree_with_another_library(tmp_path, node_package, program):
    """npm `chess.js` plays the same games and counts by its own FEN."""
    chance = random.Random(7)
    games, keys = [], {}
    for _ in range(300):
        board, sans = chess.Board(), []
        for _ in range(chance.randint(4, 30)):
            moves = sorted(board.legal_moves, key=str)
            if not moves:
                break
            # Few first moves, so that many games share positions.
            move = moves[chance.randrange(min(len(moves), 3 if board.ply() < 8 else len(moves)))]
            position = Position(board)
            keys[position.key] = position.epd
            sans.append(board.san(move))
            board.push(move)
        games.append(sans)
    file = tmp_path / "all.pgn"
    file.write_text(pgn(*(" ".join(sans) for sans in games)), encoding="utf-8")
    counts = counts_of({"all.pgn": file}, Wanted(tuple(keys), 99), BookletFiles.at(tmp_path), Faults())
    ours = {
        keys[key]: {move.uci(): results.games for move, results in tally.moves.items()}
        for key, tally in counts.by_position.items()
    }  # fmt: skip
    done = subprocess.run(
        [program("node"), "-e", COUNT_JS, str(node_package("chess.js"))],
        input=json.dumps(games), capture_output=True, text=True, check=True,
    )  # fmt: skip
    theirs = json.loads(done.stdout)
    assert counts.games == 300
    assert {key: moves for key, moves in ours.items() if moves} == theirs


@pytest.mark.parametrize("text", ["\xff\xfe", "[Event \"x", "{" * 1000, "1. e4 (" * 500, "1. " * 5000])
def test_rubbish_is_no_crash(text, tmp_path):
    made = tiny(tmp_path, MAIN)
    (made.folder / "games").mkdir()
    (made.folder / "games" / "bad.pgn").write_text(text, encoding="latin-1")
    source = read_booklet(made.folder, Faults())
    booklet_counts(made.booklet.reached, source.files, Faults())


def test_kept_answers_stand_beside_replies(tmp_path, capsys):
    """A position behind a reply that an engine has judged, and a line of the position itself."""
    settings = 'title = "T"\nside = "white"\n[proof]\nengine = "some-engine"\n'
    write_booklet(tmp_path, MAIN, settings=settings)
    board = chess.Board()
    for san in ("e4", "e5", "Nf3", "Nc6", "d4", "exd4", "Nxd4"):
        board.push_san(san)
    before = Question.of(Position(board))
    board.push_san("Bb4+")
    after = Question.of(Position(board))
    with Store.open(BookletFiles.at(tmp_path), writing=True) as store:
        engine = store.engine("some-engine", "Some", "")
        line = FoundLine((chess.Move.from_uci("c2c3"),), Score(130))
        store.keep(engine, 1000, after, Answer((line,)))
        line = FoundLine((chess.Move.from_uci("c6d4"),), Score(-20))
        store.keep(engine, 1000, before, Answer((line,)))
    assert main(["gaps", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "Nxd4 (capture) +0.20" in told and "Bb4+ (check) -1.30" in told
