"""Games in the model: what is set, where they part from the booklet, what they don't belong to."""

from __future__ import annotations

import chess
import pytest
from intake.samples import STANDARD
from played import LINE, OPENING, block, game_of, with_games

from builder.model import Comment, Diagram, Game, Moves, Ply, VariationStart


def game(tmp_path, moves: str, header: str = "games/club.pgn", body: str = "", line: str = LINE) -> Game:
    made = with_games(tmp_path, game_of(moves), f"{line}\n{block(header, body)}")
    assert not [fault for fault in made.faults if fault.severity > 0], made.told()
    return made.chapter.games[0]


def labels(plies) -> str:
    return " ".join(ply.label for ply in plies)


def test_the_standards_sample(tmp_path):
    """PGN standard, section 2.3: its sample game comes out as the rules library plays it."""
    made = with_games(tmp_path, STANDARD, block())
    assert made.faults == ()
    found = made.chapter.games[0]
    plies = found.line.main_plies()
    assert len(plies) == 85 and plies[-1].san == "Re6"
    assert plies[-1].after.placement == "8/8/4R1p1/2k3p1/1p4P1/1P1b1P2/3K1n2/8"
    assert found.tags.white == "Fischer, Robert J." and found.tags.result == "1/2-1/2"


# --- where it parts --------------------------------------------------------------------------


@pytest.mark.parametrize(("moves", "last", "goes_on", "transposed"), [
    (f"{OPENING} Nf4 9. Qe4 1-0", "8.c4", "8...Nb6 8...Ba6", False),
    (f"{OPENING} Ba6 9. Nd2 1-0", "8...Ba6", "9.b3", False),
    ("1. e4 Nc6 2. Nf3 e5 3. d4 exd4 4. Nxd4 Nf6 5. Nc3 1-0", "4...Nf6", "5.Nxc6", True),
    ("1. Nf3 Nc6 2. e4 e5 3. d4 exd4 4. Nxd4 Nf6 5. Nc3 1-0", "4...Nf6", "5.Nxc6", True),
    (f"{OPENING} Nb6 1-0", "8...Nb6", "", False),
    ("1. e4 c5 2. Nf3 1-0", "1.e4", "1...e5", False),
], ids=["at once", "in a variation", "a way round", "another order", "never", "on move one"])  # fmt: skip
def test_where_a_game_leaves_the_booklet(moves, last, goes_on, transposed, tmp_path):
    parting = game(tmp_path, moves).parting
    assert parting.ply.label == last
    assert labels(parting.goes_on) == goes_on
    assert parting.transposed is transposed
    assert parting.met.line != parting.ply.line and parting.met.after.key == parting.ply.after.key
    assert parting.chapter == 1


def test_the_last_diagram_on_the_way(tmp_path):
    parting = game(tmp_path, f"{OPENING} Nf4 1-0").parting
    assert parting.diagram is not None and parting.diagram.number == 1
    assert game(tmp_path, "1. e4 e5 2. Nc3 1-0").parting.diagram is None


def test_no_parting_where_nothing_is_shared(tmp_path):
    found = game(tmp_path, "1. d4 d5 1-0")
    assert found.parting is None and found.begins.label == "1.d4" and found.lead() == ()


def test_games_are_not_what_others_are_held_against(tmp_path):
    """Two games that are alike share nothing with the booklet by that."""
    made = with_games(tmp_path, game_of("1. d4 d5 1-0"), block() + "\n" + block())
    assert [one.parting for one in made.chapter.games] == [None, None]


# --- what is set in full ---------------------------------------------------------------------


@pytest.mark.parametrize(("moves", "header", "lead", "begins"), [
    (f"{OPENING} Nf4 9. Qe4 1-0", "", 15, "8...Nf4"),
    (f"{OPENING} Nb6 1-0", "", 16, None),
    (f"{OPENING.replace('5. Nxc6', '5. Nxc6 {said}')} Nf4 1-0", "", 8, "5.Nxc6"),
    (f"{{First.}} {OPENING} Nf4 1-0", "", 15, "8...Nf4"),
    (f"{OPENING} Nf4 9. Qe4 1-0", "from 5", 8, "5.Nxc6"),
    (f"{OPENING} Nf4 9. Qe4 1-0", "from 9", 16, "9.Qe4"),
    (f"{OPENING} Nf4 9. Qe4 1-0", "from 8b to 8...", 15, "8...Nf4"),
    ("1. e4 c5 1-0", "", 0, "1.e4"),
], ids=["behind the booklet", "all of it", "at a comment", "a comment in front", "from a move",
        "from a later move", "a part", "hardly anything shared"])  # fmt: skip
def test_where_it_begins_in_full(moves, header, lead, begins, tmp_path):
    found = game(tmp_path, moves, f"games/club.pgn {header}")
    assert len(found.lead()) == lead
    assert (found.begins.label if found.begins else None) == begins


def test_a_part_leaves_out_what_is_said_before_it(tmp_path):
    found = game(tmp_path, "1. e4 {a} e5 (1... c5 {b} 2. Nf3) 2. Nf3 {c} Nc6 {d} 3. Bb5 {e} 1-0",
                 "games/club.pgn from 2 to 2b")  # fmt: skip
    said = [item.inlines[0].text for item in found.line.items if isinstance(item, Comment)]
    assert said == ["c", "d"]
    assert labels(found.line.plies()) == "1.e4 1...e5 2.Nf3 2...Nc6"
    assert found.cut and not game(tmp_path, "1. e4 1-0").cut


# --- diagrams and notes ----------------------------------------------------------------------


def test_diagrams_by_number(tmp_path):
    found = game(tmp_path, "1. e4 e5 2. Nf3 (2. Nc3) Nc6 1-0",
                 "games/club.pgn diagrams 1 1b 2w 2... small flip")  # fmt: skip
    shown = [item for item in found.line.items if isinstance(item, Diagram)]
    assert [one.ply.label for one in shown] == ["1.e4", "1...e5", "2.Nf3", "2...Nc6"]
    assert all(one.size == "small" and one.flip for one in shown)


def test_numbers_where_black_begins(tmp_path):
    made = with_games(
        tmp_path, '[SetUp "1"]\n[FEN "4k3/4p3/8/8/8/8/4P3/4K3 b - - 0 30"]\n\n30... e5 31. e4 *\n',
        block("games/club.pgn from 31 diagrams 30b 31"),
    )  # fmt: skip
    assert made.faults == ()
    assert [one.ply.label for one in made.chapter.diagrams] == ["31.e4"]


def test_notes_are_woven_in(tmp_path):
    found = game(tmp_path, "1. e4 e5 $1 {from the file} (1... c5) 2. Nf3 Nc6 1-0", body=(
        "1... e5 @open {*mine*} {% material even %} (1... e6 {French})\nNf3 (D \"out\") Nc6 $5"
    ))  # fmt: skip
    kinds = [item.label if isinstance(item, Ply) else type(item).__name__ for item in found.line.items]
    assert kinds == ["1.e4", "1...e5", "Comment", "Claim", "VariationStart", "1...e6", "Comment",
                     "VariationEnd", "Comment", "VariationStart", "1...c5", "VariationEnd",
                     "2.Nf3", "Diagram", "2...Nc6", "Result"]  # fmt: skip
    assert found.line.main_plies()[1].name == "open" and found.line.main_plies()[1].nags == (1,)
    assert found.line.main_plies()[3].nags == (5,)


def test_prose_names_a_games_position(tmp_path):
    made = with_games(tmp_path, game_of("1. e4 e5 2. Nf3 1-0"),
                      block(body="2. @knight-out") + "\nSee [@knight-out] and [2...Nc6].\n"
                      "\n```line next from @knight-out\n2... d6\n```\n")  # fmt: skip
    assert made.faults == ()
    assert made.booklet.names["knight-out"].ply.label == "2.Nf3"
    line = next(line for line in made.chapter.lines if line.given_id == "next")
    assert labels(line.main_plies()[0].path()) == "1.e4 1...e5 2.Nf3 2...d6"


def test_moves_in_a_comment_are_found_or_stay_words(tmp_path):
    moves = f"{OPENING} Ba6 9. Nc3 {{Better 9.b3 g6 10.Bb2, not 9.Qh9 or 12.Nf3; see 4...Bc5!}} 1-0"
    found = game(tmp_path, moves)
    (said,) = [item for item in found.line.items if isinstance(item, Comment)]
    shown = [labels(node.plies) for node in said.inlines if isinstance(node, Moves)]
    assert shown == ["9.b3 9...g6 10.Bb2", "4...Bc5"]
    words = "".join(getattr(node, "text", "#") for node in said.inlines)
    assert words == "Better #, not 9.Qh9 or 12.Nf3; see #"


# --- whose moves they are --------------------------------------------------------------------


def test_what_a_game_plays_is_not_taught(tmp_path):
    made = with_games(tmp_path, game_of(f"{OPENING} Nf4 9. Qe4 {{Or 9.Qf3.}} 1-0"),
                      f"{LINE}\n{block()}\nThen [9...Ne6].\n")  # fmt: skip
    own = [line for line in made.chapter.lines if line.is_taught]
    assert [line.kind for line in own] == ["line"]
    assert {line.kind for line in made.chapter.lines} == {"line", "game"}
    assert all(ply.line == own[0].anchor for plies in made.booklet.reached.values() for ply in plies)


def test_every_move_is_the_rules_librarys(tmp_path):
    found = game(tmp_path, "1. e4 e5 (1... c5 2. Nf3 (2. c3 d5) d6) 2. Nf3 Nc6 (2... d6) 3. Bb5 1-0")
    for ply in found.line.plies():
        board = chess.Board()
        for step in ply.path():
            board.push_san(step.san)
        assert board.fen() == ply.after.board().fen()
    assert sum(isinstance(item, VariationStart) for item in found.line.items) == 3
