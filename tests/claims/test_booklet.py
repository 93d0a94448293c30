"""Claims in a booklet: which position they speak of, and the faults that they make."""

from __future__ import annotations

import random

import chess
import pytest
from claims.positions import random_positions
from claims.proving import claimed
from tiny import line_of, tiny

from builder.faults import Fault, Faults, Severity
from builder.proof.claims import ProofCount, prove, prove_claims
from builder.source.claim_forms import FORMS

SCOTCH = "1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4"


def claims_of(made, engine: bool = False) -> tuple[ProofCount, tuple[Fault, ...]]:
    assert made.faults == (), made.told()
    faults = Faults()
    count = prove_claims(made.booklet, faults, engine)
    return count, faults.sorted()


def test_a_false_claim_is_an_error_at_its_place(tmp_path):
    made = tiny(tmp_path, line_of(SCOTCH) + "\nWith [three attackers]{attackers d4 black = 3}.\n")
    count, [fault] = claims_of(made)
    assert count == ProofCount(proved=0, unproved=0, false=1)
    assert (fault.code, fault.severity) == ("claim-false", Severity.ERROR)
    assert str(fault.place) == "chapters/1.md:5:24"
    assert fault.message == "Black attackers of d4: Nc6 = 1, not 3"
    assert fault.hint == "write attackers d4 black = 1"


def test_one_error_for_each(tmp_path):
    line = line_of(SCOTCH + " {% mate %} {% pinned d4 %} {% material even %} {% safe d4 %}")
    count, faults = claims_of(tiny(tmp_path, line))
    assert count == ProofCount(proved=2, unproved=0, false=2)
    assert [fault.code for fault in faults] == ["claim-false", "claim-false"]


def test_an_unclear_move_has_its_own_code(tmp_path):
    line = line_of("1. Nf3 Nf6 2. d3 d6 {% legal Nd2 %}")
    _, [fault] = claims_of(tiny(tmp_path, line))
    assert (fault.code, fault.message) == ("claim-move", "Nd2 is ambiguous")
    assert "write Nbd2 or Nfd2" in fault.hint


@pytest.mark.parametrize("engine", [False, True], ids=["no engine", "an engine judges"])
def test_what_an_engine_judges_is_one_notice(tmp_path, engine):
    text = line_of(SCOTCH + " {% eval white >= 0.1 %} {% best Nf6 %}") + "\n[x]{material even}\n"
    count, faults = claims_of(tiny(tmp_path, text), engine)
    assert count == ProofCount(proved=1, unproved=2, false=0)
    assert [fault.code for fault in faults] == ([] if engine else ["claim-unproved"])
    for fault in faults:
        assert fault.severity == Severity.NOTICE
        assert fault.message.startswith("2 claims about an engine's judgement were not proved")


@pytest.mark.parametrize("claim", ["mate in 3", "no mate in 3"])
def test_a_mate_that_is_not_settled_is_a_warning(tmp_path, claim):
    fen = "r4rk1/1pp1qppp/p1np1n2/2b1p1B1/2B1P1b1/P1NP1N2/1PP1QPPP/R4RK1 w - - 0 1"
    text = line_of(f"1. h3 Bh5 {{% {claim} %}}", f'line main from "{fen}"')
    count, [fault] = claims_of(tiny(tmp_path, text))
    assert count == ProofCount(proved=0, unproved=1, false=0)
    assert (fault.code, fault.severity) == ("claim-limit", Severity.WARNING)
    assert "not settled within" in fault.message


# --- the way to the position ---------------------------------------------------------------------

KNIGHTS_OUT_AND_BACK = "1. Nf3 Nf6 2. Ng1 Ng8"


@pytest.mark.parametrize("claim, false", [
    ("repetition 3", ""),
    ("repetition 2", "at the start, after 2...Ng8, after 4...Ng8 = 3, not 2"),
    ("not repetition 2", ""),
])  # fmt: skip
def test_repetition_counts_the_start(tmp_path, claim, false):
    moves = f"{KNIGHTS_OUT_AND_BACK} 3. Nf3 Nf6 4. Ng1 Ng8 {{% {claim} %}}"
    _, faults = claims_of(tiny(tmp_path, line_of(moves)))
    assert [false in fault.message for fault in faults] == ([True] if false else [])


def test_repetition_goes_through_the_lines_before(tmp_path):
    text = line_of(f"{KNIGHTS_OUT_AND_BACK} @twice") + "\n" + line_of(
        "3. Nc3 Nc6 4. Nb1 Nb8 {% repetition 3 %}", "line on from @twice")  # fmt: skip
    assert claims_of(tiny(tmp_path, text)) == (ProofCount(1, 0, 0), ())


def test_repetition_asks_for_the_same_rights(tmp_path):
    """The same board without the castling rights is another position."""
    moves = "1. e4 e5 @one 2. Ke2 Ke7 3. Ke1 Ke8 {% repetition 1 %} {% not same as @one %}"
    assert claims_of(tiny(tmp_path, line_of(moves))) == (ProofCount(2, 0, 0), ())


def test_the_right_was_lost_with_a_move(tmp_path):
    moves = "1. e4 e5 2. Ke2 Nf6 3. Ke1 Nc6 {% castling white kingside %}"
    _, [fault] = claims_of(tiny(tmp_path, line_of(moves)))
    assert fault.message == "White lost the right to castle kingside with 2.Ke2"


@pytest.mark.parametrize("moves, true", [
    ("1. e4 e5 2. Nf3 Nc6 @here (2... Nf6 3. d4 {% discovered check %})", False),
    ("1. e4 e5 2. f4 exf4 3. Nf3 Be7 4. Nc3 Bh4+ {% discovered check %}", False),
    ("1. e4 e5 2. Qe2 Nf6 3. f4 Nxe4 4. fxe5 d6 5. Qxe4 dxe5 6. Qxe5+ {% check %} Be6", True),
])  # fmt: skip
def test_checks_after_moves(tmp_path, moves, true):
    count, _ = claims_of(tiny(tmp_path, line_of(moves)))
    assert count == (ProofCount(1, 0, 0) if true else ProofCount(0, 0, 1))


def test_a_discovered_check_that_was_given(tmp_path):
    fen = "4k3/8/8/8/4N3/8/8/4R1K1 w - - 0 1"
    text = line_of("1. Nc5+ {% discovered check %}", f'line main from "{fen}"')
    assert claims_of(tiny(tmp_path, text)) == (ProofCount(1, 0, 0), ())


# --- transpositions ------------------------------------------------------------------------------

SAME = {
    "another order": ("1. Nf3 d5 2. d4 @goal", "1. d4 d5 2. Nf3 {% same as @goal %}", ""),
    "other squares": ("1. Nf3 d5 2. d4 @goal", "1. d4 d5 2. Nc3 {% same as @goal %}",
                      "not the position @goal: here Ng1, Nc3; there Nb1, Nf3"),
    "other rights": ("1. e4 e5 2. Ke2 Ke7 3. Ke1 Ke8 @goal", "1. e4 e5 {% same as @goal %}",
                     "castling rights are KQkq here and - there"),
    "other side": ("1. e3 e6 2. e4 @goal", "1. e4 e6 {% same as @goal %}",
                   "here White is to move, there Black"),
    "en passant that is possible": (
        "1. e4 a6 2. e5 d5 @goal", "1. e3 a6 2. e4 d6 3. e5 d5 {% same as @goal %}",
        "an en-passant capture is possible in one of them"),
    "en passant that is not": ("1. d4 d5 2. e4 @goal", "1. e4 d5 2. d4 {% same as @goal %}", ""),
}  # fmt: skip


@pytest.mark.parametrize("name", SAME)
def test_same_as(tmp_path, name):
    one, other, false = SAME[name]
    _, faults = claims_of(tiny(tmp_path, line_of(one, "line a") + "\n" + line_of(other, "line b")))
    assert [false in fault.message for fault in faults] == ([True] if false else [])


# --- nothing escapes -----------------------------------------------------------------------------


def test_any_claim_on_any_position_has_a_verdict():
    """Every form, filled by chance, on random positions: no exception, and a finding each time."""
    rng = random.Random(8)
    outcomes = set()
    for board in random_positions(60, seed=8):
        fen = board.fen()
        pieces = [chess.square_name(square) for square in board.piece_map()]
        moves = [board.san(move) for move in board.legal_moves] or ["Nf3"]
        for form in FORMS:
            text = " ".join([form.head, *(fill(rng, word, pieces, moves)
                                          for word in form.arguments.split())])  # fmt: skip
            if "@pin" in text or form.head == "mate in":
                continue
            verdict = prove(claimed(fen, text))
            assert verdict.finding, text
            outcomes.add(verdict.outcome)
    assert outcomes == {"true", "false", "unproved"}


def fill(rng: random.Random, word: str, pieces: list[str], moves: list[str]) -> str:
    squares = pieces if rng.random() < 0.8 else chess.SQUARE_NAMES
    match word:
        case "SQUARE":
            return rng.choice(squares)
        case "SQUARES":
            return " ".join(rng.choice(squares) for _ in range(rng.randint(1, 3)))
        case "SIDE":
            return rng.choice(["white", "black"])
        case "COMPARE":
            return rng.choice(["=", ">=", "<="])
        case "NUMBER" | "COUNT":
            return str(rng.randint(0, 3))
        case "MOVE":
            return rng.choice([*moves, "Nf3", "O-O", "exd5", "Kd4", "Qh8#"])
        case "FILE":
            return rng.choice(chess.FILE_NAMES)
        case "PIECES":
            return rng.choice(["pawns", "knights", "queens"])
        case "@NAME":
            return "@pin"
        case _:
            return rng.choice(word.split("|"))
