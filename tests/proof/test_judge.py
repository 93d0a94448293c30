"""What an engine's answers say about a booklet: tolerances, bands, exercises, claims."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from proof.engines import Known, after
from tiny import line_of, tiny

from builder.proof.engine_answers import Question, Score, line_text, score_over
from builder.proof.engine_claims import EQUAL, claim_questions, engine_claims, engine_findings
from builder.proof.judge import BANDS, CODES, judge

SPANISH = "e4 e5 Nf3 Nc6 Bb5"
# The engine would play 1.e4 e5 2.Nf3 Nc6 3.Bb5 at every move, for White by +0.30.
OPENING = {
    "": ("e4 e5 0.3",), "e4": ("e5 Nf3 0.3",), "e4 e5": ("Nf3 Nc6 0.3",),
    "e4 e5 Nf3": ("Nc6 Bb5 0.3",), "e4 e5 Nf3 Nc6": ("Bb5 a6 0.3", "Bc4 Bc5 0.2"),
    SPANISH: ("a6 Ba4 0.3",),
}  # fmt: skip


def judged(tmp_path, chapter: str, answers: dict[str, tuple[str, ...]], settings: str | None = None):
    made = tiny(tmp_path, chapter, **({"settings": settings} if settings else {}))
    assert not [fault for fault in made.faults if fault.severity > 1], made.told()
    return judge(made.booklet, Known(OPENING | answers))


# --- moves ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Move:
    """`score` is what 3.Bc4 comes to, in pawns for White, where the best move is worth 0.3."""

    name: str
    score: str
    message: str


MOVES = (
    Move("as good", "0.3", ""),
    Move("better, when looked at", "0.9", ""),
    Move("half a pawn less", "-0.2", ""),
    Move("a little more than half", "-0.21",
         "3.Bc4, which is recommended, loses 0.5 pawns: -0.21 instead of +0.30"),
    Move("weak", "-1.2", "3.Bc4, which is recommended, loses 1.5 pawns: -1.20 instead of +0.30"),
    Move("a mistake", "-1.21",
         "3.Bc4, which is recommended, is a mistake: it loses 1.5 pawns: -1.21 instead of +0.30"),
    Move("mated", "#-4", "is a mistake: it loses 5.3 pawns: Black mates in 4 instead of +0.30"),
)  # fmt: skip


@pytest.mark.parametrize("case", MOVES, ids=lambda case: case.name)
def test_recommended_moves(case, tmp_path):
    chapter = line_of("1. e4 e5 2. Nf3 Nc6 3. Bc4")
    found = judged(tmp_path, chapter, {"e4 e5 Nf3 Nc6 Bc4": (f"Bc5 {case.score}",)})
    assert found.missing == ()
    assert [finding.code for finding in found.findings] == (["move-weak"] if case.message else [])
    for finding in found.findings:
        assert case.message in finding.message
        assert finding.hint == "the engine plays 3.Bb5 a6 (+0.30)"
        assert str(finding.place) == "chapters/1.md:2:24"
        assert finding.where == "1/main/3.Bc4"
        assert finding.position.epd == after("e4 e5 Nf3 Nc6").epd()


def test_a_win_is_a_win(tmp_path):
    """Of two wins neither is weak; only what is below +5 counts."""
    answers = {"e4 e5 Nf3 Nc6": ("Bb5 a6 #5",), "e4 e5 Nf3 Nc6 Bc4": ("Bc5 6.5",)}
    assert judged(tmp_path, line_of("1. e4 e5 2. Nf3 Nc6 3. Bc4"), answers).findings == ()
    answers["e4 e5 Nf3 Nc6 Bc4"] = ("Bc5 4.4",)
    told = judged(tmp_path, line_of("1. e4 e5 2. Nf3 Nc6 3. Bc4"), answers).findings
    assert "loses 0.6 pawns: +4.40 instead of White mates in 5" in told[0].message


def test_a_move_that_mates_is_never_weak(tmp_path):
    """The game is over, and nobody is asked about it."""
    answers = {"f3": ("e5 -0.3",), "": ("e4 0.3",), "f3 e5 g4": ("Qh4 #-1",)}
    made = tiny(tmp_path, line_of("1. f3? e5 2. g4? Qh4# -+"),
                settings='title = "T"\nside = "black"\n')  # fmt: skip
    lookup = Known(answers)
    found = judge(made.booklet, lookup)
    assert (found.findings, found.missing) == ((), ())
    assert all(any(question.board().legal_moves) for question in lookup.asked)


SIDES = {
    "white": ("1. e4 h6 2. a3", ["2.a3"]),
    "black": ("1. e4 h6 2. a3", ["1...h6"]),
    "both": ("1. e4 h6 2. a3", ["1...h6", "2.a3"]),
}


@pytest.mark.parametrize("side", SIDES)
def test_whose_moves_are_judged(side, tmp_path):
    moves, weak = SIDES[side]
    answers = {"e4 h6": ("d4 1.0",), "e4 h6 a3": ("d5 0.0",)}
    found = judged(tmp_path, line_of(moves), answers, f'title = "T"\nside = "{side}"\n')
    assert [finding.where.split("/")[-1] for finding in found.findings] == weak


def test_a_move_is_judged_once(tmp_path):
    chapter = line_of("1. e4 e5 2. a3") + "\n" + line_of("1. e4 e5 2. a3 Nf6", "line b")
    found = judged(tmp_path, chapter, {"e4 e5 a3": ("Nf6 -0.5",)})
    assert [str(finding.place) for finding in found.findings] == ["chapters/1.md:2:13"]


def test_an_offer_is_not_judged(tmp_path):
    chapter = line_of("1. e4 e5 2. Nf3 (2. a3) (2. h4? Nf6 3. h5) Nc6 3. Bb5")
    assert judged(tmp_path, chapter, {"e4 e5 a3": ("Nf6 -2.5",)}).findings == ()


def test_what_is_missing_is_wanted_in_two_rounds(tmp_path):
    """First the positions; what another move comes to only where the engine plays another."""
    made = tiny(tmp_path, line_of("1. e4 e5 2. Nf3 Nc6 3. Bc4"))
    first = judge(made.booklet, Known({}))
    assert [question.epd for question in first.missing] == [
        after(moves).epd() for moves in ("", "e4 e5", "e4 e5 Nf3 Nc6")
    ]
    second = judge(made.booklet, Known(OPENING))
    assert second.missing == (Question(after("e4 e5 Nf3 Nc6 Bc4").epd()),)
    assert (first.judged, second.judged) == (0, 2)


# --- signs ------------------------------------------------------------------------------------------


SIGNS = {
    "= within": ("=", "0.5", ""), "= too good": ("=", "0.51", "judged =, which stands for -0.5 to +0.5"),
    "= too bad": ("$12", "-0.6", "the engine says -0.60"),
    "+= low": ("+=", "0.1", ""), "+= level": ("+=", "0.09", "+0.1 to +1.1"),
    "+= high": ("+=", "1.2", "the engine says +1.20"),
    "=+ within": ("=+", "-0.4", ""), "=+ turned round": ("=+", "0.4", "-1.1 to -0.1"),
    "+/- within": ("+/-", "2.2", ""), "+/- won": ("+/-", "2.3", "+0.6 to +2.2"),
    "-/+ within": ("-/+", "-0.6", ""), "-/+ level": ("-/+", "-0.5", "-2.2 to -0.6"),
    "+- within": ("+-", "1.4", ""), "+- mate": ("+-", "#3", ""),
    "+- not yet": ("+-", "1.3", "+1.4 and more"),
    "+- mated": ("+-", "#-3", "the engine says Black mates in 3"),
    "-+ within": ("-+", "-9", ""), "-+ not yet": ("-+", "-1", "-1.4 and less"),
    "unclear": ("$13", "5", ""),
}  # fmt: skip


@pytest.mark.parametrize("name", SIGNS)
def test_signs(name, tmp_path):
    sign, score, message = SIGNS[name]
    found = judged(tmp_path, line_of(f"1. e4 e5 2. Nf3 Nc6 {sign}"),
                   {"e4 e5 Nf3 Nc6": (f"Bb5 a6 {score}",)})  # fmt: skip
    assert [finding.code for finding in found.findings] == (["assessment-off"] if message else [])
    for finding in found.findings:
        assert message in finding.message
        assert finding.hint.startswith("the engine plays 3.Bb5 a6 (")
        assert str(finding.place) == "chapters/1.md:2:17"
        assert finding.position.epd == after("e4 e5 Nf3 Nc6").epd()


def test_a_sign_in_the_prose(tmp_path):
    chapter = line_of("1. e4 e5 2. Nf3 Nc6") + "\nAfter [2...Nc6 -+] all is lost.\n"
    found = judged(tmp_path, chapter, {})
    assert [(one.code, str(one.place)) for one in found.findings] == [
        ("assessment-off", "chapters/1.md:5:8")
    ]


def test_the_bands_overlap_and_mirror():
    assert BANDS[10][1] > BANDS[14][0] and BANDS[14][1] > BANDS[16][0] and BANDS[16][1] > BANDS[18][0]
    for white, black in ((14, 15), (16, 17), (18, 19)):
        turned = tuple(-edge if edge is not None else None for edge in reversed(BANDS[white]))
        assert turned == BANDS[black]


# --- exercises ----------------------------------------------------------------------------------------


def exercise(solution: str) -> str:
    return (line_of("1. e4 e5 2. Nf3 Nc6 @here 3. Bb5")
            + "\n```exercise e1 from @here\ntask: Which move?\nsolution: " + solution + "\n```\n")  # fmt: skip


AT_TASK = "e4 e5 Nf3 Nc6"
EXERCISES = {
    "clearly best": ("3. Bb5 a6", ("Bb5 a6 0.8", "Bc4 0.3"), {}, []),
    "a second as good": ("3. Bb5 a6", ("Bb5 a6 0.8", "Bc4 Bc5 0.31"), {}, ["answer-second"]),
    "the second is listed": ("3. Bb5 (3. Bc4)", ("Bb5 a6 0.8", "Bc4 Bc5 0.6", "d4 0.0"),
                             {f"{AT_TASK} Bc4": ("Bc5 0.6",)}, []),
    "a third as good": ("3. Bb5 (3. Bc4)", ("Bb5 a6 0.8", "Bc4 0.7", "d4 0.6"),
                        {f"{AT_TASK} Bc4": ("Bc5 0.7",)}, ["answer-second"]),
    "mates, another slower": ("3. Bb5", ("Bb5 a6 #3", "Bc4 #4"), {}, []),
    "mates, another as soon": ("3. Bb5", ("Bb5 a6 #3", "Bc4 #3"), {}, ["answer-second"]),
    "the answer is weak": ("3. a3", ("Bb5 a6 0.8", "Bc4 0.7"),
                           {f"{AT_TASK} a3": ("d5 0.0",)}, ["answer-weak"]),
    "a weak second answer": ("3. Bb5 (3. a3)", ("Bb5 a6 0.8", "a3 0.0", "h3 -0.5"),
                             {f"{AT_TASK} a3": ("d5 0.0",)}, ["answer-weak"]),
    "the solution goes on weakly": ("3. Bb5 a6 4. Be2", ("Bb5 a6 0.8", "Bc4 0.0"),
                                    {f"{SPANISH} a6": ("Ba4 0.8",), f"{SPANISH} a6 Be2": ("d5 0.0",)},
                                    ["answer-weak"]),
    "the other side's moves": ("3. Bb5 h5 4. O-O", ("Bb5 a6 0.8", "Bc4 0.0"),
                               {f"{SPANISH} h5": ("O-O 2.8",)}, []),
}  # fmt: skip


@pytest.mark.parametrize("name", EXERCISES)
def test_exercises(name, tmp_path):
    solution, at_task, answers, codes = EXERCISES[name]
    found = judged(tmp_path, exercise(solution), {AT_TASK: at_task} | answers)
    assert found.missing == ()
    assert [finding.code for finding in found.findings] == codes


def test_what_a_second_answer_is_told(tmp_path):
    found = judged(tmp_path, exercise("3. Bb5 a6"), {AT_TASK: ("Bb5 a6 0.8", "Bc4 Bc5 0.6")})
    finding = found.findings[0]
    assert finding.message == "Bc4 (+0.60) is as good an answer as Bb5 (+0.80)"
    assert finding.hint == ("count it as right by a variation, or ask for more; "
                            "the engine plays 3.Bc4 Bc5 (+0.60)")  # fmt: skip
    assert (finding.where, str(finding.place)) == ("1/e1", "chapters/1.md:5:4")


def test_how_many_lines_are_asked_for(tmp_path):
    made = tiny(tmp_path, exercise("3. Bb5 (3. Bc4) (3. d4)"))
    wanted = {question.lines for question in judge(made.booklet, Known({})).missing
              if question.epd == after(AT_TASK).epd()}  # fmt: skip
    assert wanted == {1, 4}


def test_every_code_is_tried():
    told = {code for _, _, _, codes in EXERCISES.values() for code in codes}
    assert told | {"move-weak", "assessment-off"} == set(CODES)


# --- claims -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Claim:
    """A claim after 1.e4 e5 2.Nf3 Nc6, where the engine says `score`."""

    claim: str
    score: str
    finding: str = ""
    remedy: str = ""


CLAIMS = (
    Claim("eval white >= 0.3", "0.3"), Claim("eval white <= 0.3", "0.3"),
    Claim("eval white >= 0.3", "0.29", "the engine says +0.29", "write eval white = 0.3"),
    Claim("eval white = 0.3", "0.25"), Claim("eval white = 0.3", "0.36", "the engine says +0.36"),
    Claim("eval black >= -0.3", "0.3"), Claim("eval black >= 0.3", "-0.4"),
    Claim("eval black >= 0.3", "0.4", "the engine says -0.40 for Black", "write eval black = -0.4"),
    Claim("eval between -0.3 0.3", "0.3"), Claim("eval between 0.3 -0.3", "-0.3"),
    Claim("eval between -0.3 0.3", "0.31", "the engine says +0.31"),
    Claim("eval white >= 5", "#4"), Claim("eval black <= -5", "#4"),
    Claim("eval black >= 0", "#4", "the engine says White mates in 4"),
    Claim("best Bb5", "0.3"), Claim("not best Bc4", "0.3"),
    Claim("best Bc4", "0.3", "the engine plays 3.Bb5 a6 (+0.30)", "write best Bb5"),
    Claim("not best Bb5", "0.3", "the engine plays 3.Bb5 a6 (+0.30)"),
)  # fmt: skip


@pytest.mark.parametrize("case", CLAIMS, ids=lambda case: f"{case.claim} at {case.score}")
def test_claims(case, tmp_path):
    made = tiny(tmp_path, line_of(f"1. e4 e5 2. Nf3 Nc6 {{% {case.claim} %}}"))
    claims = engine_claims(made.booklet)
    lookup = Known({AT_TASK: (f"Bb5 a6 {case.score}",)})
    result = engine_findings(claims, lookup, lambda claim: "here", "stockfish")
    assert (result.proved, result.false) == ((0, 1) if case.finding else (1, 0))
    assert [(one.code, one.severity.word) for one in result.findings] == (
        [("claim-false", "error")] if case.finding else [])  # fmt: skip
    for finding in result.findings:
        assert (finding.message, finding.hint) == (
            case.finding, case.remedy or finding.hint)  # fmt: skip


def test_a_claim_without_an_answer_is_told(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 e5 {% eval white >= 0 %} 2. Nf3 {% best Nc6 %}"))
    claims = engine_claims(made.booklet)
    assert [question.epd for question in claim_questions(claims)] == [
        after("e4 e5").epd(), after("e4 e5 Nf3").epd()]  # fmt: skip
    for command, hint in (("", "name an engine"), ("stockfish", "plyleaf proof --engine asks it")):
        result = engine_findings(claims, Known({}), lambda claim: "here", command)
        assert (result.proved, result.false) == (0, 0)
        (finding,) = result.findings
        assert (finding.code, finding.severity.word) == ("claim-unproved", "notice")
        assert finding.message == "2 claims about an engine's judgement were not proved"
        assert hint in finding.hint


def test_a_claim_about_a_game_that_is_over(tmp_path):
    made = tiny(tmp_path, line_of("1. f3 e5 2. g4 Qh4# {% eval black >= 9 %}"))
    claims = engine_claims(made.booklet)
    assert claim_questions(claims) == ()
    assert engine_findings(claims, Known({}), lambda claim: "here", "").proved == 1


def test_the_score_of_a_game_that_is_over():
    assert score_over(after("f3 e5 g4 Qh4")) == Score.mate(0, by_white=False)
    assert score_over(after("", "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1")) == Score(0)
    assert score_over(after("")) is None


def test_scores_are_told_from_whites_side():
    assert [str(score) for score in (Score(45), Score(-120), Score(0), Score.mate(2, True),
                                     Score.mate(1, False), Score.mate(0, True))] == [
        "+0.45", "-1.20", "+0.00", "White mates in 2", "Black mates in 1", "White has mated"]  # fmt: skip
    assert Score(45).pawns(white=False) == -0.45
    assert Score.mate(1, True).pawns(True) > Score.mate(2, True).pawns(True) > Score(30000).pawns(True)
    assert EQUAL == 0.05


def test_lines_are_numbered_as_printed():
    board = after("e4")
    moves = tuple(board.copy().parse_san(san) for san in ("e5",))
    assert line_text(board, moves) == "1...e5"
    known = Known({"e4": ("e5 Nf3 Nc6 Bb5 a6 0.3",)}).answers[board.epd()].best.moves
    assert line_text(board, known, most=4) == "1...e5 2.Nf3 Nc6 3.Bb5"
