"""What a booklet says twice and differently, or leaves hanging: planted, and put right."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from tiny import line_of, tiny

from builder.proof.consistency import CODES, find_inconsistencies
from builder.proof.walk import steps

QGD = "1. d4 d5 2. c4 e6 3. Nc3"
OTHER_ORDER = "1. d4 e6 2. c4 d5"
SIX = "1. e4 e5 2. Nf3 Nc6 3. Bb5 a6"
BACK_RANK = "6k1/5ppp/8/8/8/8/r4PPP/1R4K1 b - - 0 1"
BLACK = '+++\nside = "black"\n+++\n'
FILLER = "\n".join(f"Paragraph {number}.\n" for number in range(1, 40))


def lines(*moves: str) -> str:
    """A chapter with a line for each of the texts, named a, b, c."""
    return "\n".join(line_of(text, f"line {name}") for name, text in zip("abcde", moves, strict=False))


@dataclass(frozen=True)
class Case:
    """A planted inconsistency: `marked`, the first one after `behind` in the last chapter (or in
    chapter `at`), is where it is told. `mended` are the chapters put right."""

    name: str
    code: str
    planted: tuple[str, ...]
    marked: str
    message: str
    mended: tuple[str, ...]
    behind: str = ""
    at: int = 0


CASES = (
    # --- two moves recommended
    Case("two lines", "two-moves", (lines("1. e4 e5 2. Nf3", "1. e4 e5 2. Nc3"),), "Nc3",
         "2.Nc3 is recommended here, and 2.Nf3 in the same position at chapters/1.md:2:13",
         (lines("1. e4 e5 2. Nf3", "1. e4 e5 2. Nf3 Nf6"),)),
    Case("two orders of moves", "two-moves", (lines(QGD, f"{OTHER_ORDER} 3. Nf3"),), "Nf3",
         "3.Nf3 is recommended here, and 3.Nc3",
         (lines("1. d4 d5 2. c4 e6 @qgd 3. Nc3", f"{OTHER_ORDER} {{% same as @qgd %}} 3. Nc3"),)),
    Case("two chapters", "two-moves", (lines("1. e4 c5 2. Nf3"), lines("1. e4 c5 2. c3")), "c3",
         "at chapters/1.md:2:13", (lines("1. e4 c5 2. Nf3"), lines("1. e4 c5 2. Nf3 d6"))),
    Case("a reply's variation", "two-moves",
         (lines("1. e4 e5 (1... c5 2. Nf3) 2. Bc4", "1. e4 c5 2. c3"),), "c3",
         "and 2.Nf3 in the same", (lines("1. e4 e5 (1... c5 2. Nf3) 2. Bc4", "1. e4 c5 2. Nf3 e6"),)),
    Case("Black's chapter", "two-moves", (BLACK + lines("1. e4 e5", "1. e4 c5"),), "c5",
         "1...c5 is recommended here, and 1...e5",
         (BLACK + lines("1. e4 e5", "1. e4 (1. d4 d5) e5 2. Nf3"),), "line b"),
    Case("a better move in a variation", "two-moves",
         (lines("1. e4 e5 2. Qh5? (2. Nf3) Nc6", "1. e4 e5 2. Nc3"),), "Nc3",
         "and 2.Nf3", (lines("1. e4 e5 2. Qh5? (2. Nf3) Nc6", "1. e4 e5 2. Nf3 Nc6"),)),
    Case("a line from a name", "two-moves",
         (lines("1. e4 e5 @open 2. Nf3") + line_of("2. Nc3", "line c from @open"),), "Nc3",
         "and 2.Nf3", (lines("1. e4 e5 @open 2. Nf3") + line_of("2. Nf3 d6", "line c from @open"),)),
    Case("told once, at the second of three", "two-moves",
         (lines("1. e4 e5 2. Nf3", "1. e4 e5 2. Nf3 d6", "1. e4 e5 2. Nc3"),), "Nc3",
         "chapters/1.md:2:13", (lines("1. e4 e5 2. Nf3", "1. e4 e5 2. Nf3 d6"),)),
    # --- praise and blame
    Case("praised and criticised", "praise-and-blame",
         (lines("1. e4 e5 2. Nf3! Nc6", "1. e4 e5 2. Nf3? d6"),), "Nf3",
         "2.Nf3 is criticised here and praised at chapters/1.md:2:13",
         (lines("1. e4 e5 2. Nf3! Nc6", "1. e4 e5 2. Nf3 d6"),), "line b"),
    Case("criticised and praised", "praise-and-blame",
         (lines("1. e4 e5 2. Nf3 f6?!", "1. e4 e5 2. Nf3 f6!!"),), "f6",
         "2...f6 is praised here and criticised at",
         (lines("1. e4 e5 2. Nf3 f6?!", "1. e4 e5 2. Nf3 f6??"),), "line b"),
    Case("by another order", "praise-and-blame",
         (lines("1. d4 d5 2. c4 e6 3. Nc3!", f"{OTHER_ORDER} 3. Nc3 $2"),), "Nc3",
         "3.Nc3 is criticised here",
         (lines("1. d4 d5 2. c4 e6 @qgd 3. Nc3!", f"{OTHER_ORDER} {{% same as @qgd %}} 3. Nc3 $1"),),
         "line b"),
    Case("in a variation of another chapter", "praise-and-blame",
         (lines("1. e4 e5 2. Nf3 Nc6!"), lines("1. e4 e5 2. Nf3 d6 (2... Nc6? 3. Bb5)")), "Nc6",
         "2...Nc6 is criticised here and praised at chapters/1.md:2:17",
         (lines("1. e4 e5 2. Nf3 Nc6!"), lines("1. e4 e5 2. Nf3 d6 (2... Nc6!? 3. Bb5)"))),
    Case("in the prose", "praise-and-blame",
         (lines("1. e4 e5 2. Nf3 Nc6?") + "\nSurely [2...Nc6!] is good.\n",), "2...Nc6!",
         "2...Nc6 is praised here and criticised at chapters/1.md:2:17",
         (lines("1. e4 e5 2. Nf3 Nc6?") + "\nSurely [2...Nc6?] is bad.\n",)),
    Case("in a side-line of the prose", "praise-and-blame",
         (lines("1. e4 e5") + "\nNot [2.Nf3 f6?].\n\n" + line_of("1. e4 e5 2. Nf3 f6!", "line b"),),
         "f6", "2...f6 is praised here and criticised at chapters/1.md:5:",
         (lines("1. e4 e5") + "\nNot [2.Nf3 f6?].\n\n" + line_of("1. e4 e5 2. Nf3 f6?", "line b"),),
         "line b"),
    # --- assessments
    Case("two signs", "assessment-differs",
         (lines("1. e4 e5 2. Nf3 Nc6 +=", "1. e4 e5 2. Nf3 Nc6 = 3. Bb5"),), "Nc6",
         "the position after 2...Nc6 is judged = here and += at chapters/1.md:2:17",
         (lines("1. e4 e5 2. Nf3 Nc6 +=", "1. e4 e5 2. Nf3 Nc6 += 3. Bb5"),), "line b"),
    Case("two NAGs", "assessment-differs",
         (lines("1. e4 e5 $10", "1. e4 e5 $13 2. Nf3"),), "e5", "is judged unclear here and = at",
         (lines("1. e4 e5 $10", "1. e4 e5 $11 2. Nf3"),), "line b"),
    Case("two orders of moves, two signs", "assessment-differs",
         (lines("1. d4 d5 2. c4 e6 +/-", f"{OTHER_ORDER} +-"),), "d5", "is judged +- here and +/- at",
         (lines("1. d4 d5 2. c4 e6 +/- @qgd", f"{OTHER_ORDER} +/- {{% same as @qgd %}}"),), "line b"),
    Case("a sign in the prose", "assessment-differs",
         (lines("1. e4 e5 2. Nf3 Nc6 +=") + "\nAfter [2...Nc6 =] all is level.\n",), "2...Nc6 =",
         "is judged = here and += at", (lines("1. e4 e5 2. Nf3 Nc6 +=") + "\n[2...Nc6 +=]\n",)),
    # --- lines that end with a mate to come
    Case("mate in one", "end-mate", (lines("1. f3 e5 2. g4"),), "g4",
         "the line ends with 2.g4, and Black mates by Qh4#", (lines("1. f3 e5 2. g4 Qh4#"),)),
    Case("mate at a variation's end", "end-mate",
         (lines("1. e4 e5 2. Bc4 Nc6 3. Qh5 g6 (3... Nf6) 4. Qf3"),), "Nf6", "White mates by Qxf7#",
         (lines("1. e4 e5 2. Bc4 Nc6 3. Qh5 g6 (3... Nf6 4. Qxf7#) 4. Qf3"),)),
    Case("mate on the back rank", "end-mate",
         (line_of("1... Ra3", f'line a from "{BACK_RANK}"'),), "Ra3", "White mates by Rb8#",
         (line_of("1... Ra8", f'line a from "{BACK_RANK}"'),)),
    # --- lines that end with something hanging
    Case("a knight hangs", "end-hanging", (lines("1. e4 e5 2. Nf3 Nc6 3. Nxe5"),), "Nxe5",
         "the line ends with 3.Nxe5, and Black wins 3 points by Nxe5",
         (lines("1. e4 e5 2. Nf3 Nc6 3. Nxe5 Nxe5"),)),
    Case("in the middle of an exchange", "end-hanging",
         (lines("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Nf6 5. Nxc6"),), "Nxc6",
         "Black wins 3 points by dxc6",
         (lines("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Nf6 5. Nxc6 bxc6"),)),
    Case("the queen hangs at a variation's end", "end-hanging",
         (lines("1. e4 d6 2. Nf3 (2. Qg4) Nf6"),), "Qg4", "Black wins 9 points by Bxg4",
         (lines("1. e4 d6 2. Nf3 (2. Qg4 Bxg4) Nf6"),)),
    Case("a game given up", "end-hanging", (lines("1. e4 d6 2. Qg4"),), "Qg4", "9 points",
         (lines("1. e4 d6 2. Qg4 0-1"),)),
    # --- transpositions
    Case("two ways", "transposition", (lines(QGD, OTHER_ORDER),), "d5",
         "the position after 2...d5 is also reached by 1...d5 2.c4 e6 at chapters/1.md:2:16",
         (lines("1. d4 d5 2. c4 e6 @qgd 3. Nc3", f"{OTHER_ORDER} {{% same as @qgd %}}"),), "line b"),
    Case("two ways, and a link", "transposition", (lines(QGD, OTHER_ORDER) + "\nWell.\n",), "d5",
         "is also reached by",
         (lines("1. d4 d5 2. c4 e6 @qgd 3. Nc3", OTHER_ORDER) + "\nThis is [@qgd].\n",), "line b"),
    Case("two ways in one line", "transposition",
         (lines("1. d4 Nf6 (1... d5 2. Nf3 Nf6) 2. Nf3 d5"),), "d5",
         "is also reached by 1...d5 2.Nf3 Nf6",
         (lines("1. d4 Nf6 (1... d5 2. Nf3 Nf6 @both) 2. Nf3 d5 {% same as @both %}"),), ") 2. Nf3"),
    Case("two ways, two chapters", "transposition", (lines(QGD), lines(OTHER_ORDER)), "d5",
         "at chapters/1.md:2:16",
         (lines("1. d4 d5 2. c4 e6 @qgd 3. Nc3"), lines(f"{OTHER_ORDER} {{% same as @qgd %}}"))),
    # --- duplicates
    Case("a line twice", "line-duplicate", (lines(SIX, SIX),), "line b",
         "all of this line stands at chapters/1.md:1:4 already",
         (lines(SIX, SIX + " 4. Ba4"),)),
    Case("a line inside another", "line-duplicate",
         (lines(SIX + " 4. Ba4 Nf6 (4... b5 5. Bb3)"), lines(SIX + " 4. Ba4 b5")), "line a",
         "stands at chapters/1.md:1:4",
         (lines(SIX + " 4. Ba4 @ba4 Nf6 (4... b5 5. Bb3)"),
          line_of("4... b5 5. Bb3 Bb7", "line a from @ba4"))),
    # --- names
    Case("an unused name", "name-unused", (lines("1. e4 e5 @open 2. Nf3"),), "@open",
         "nothing refers to the position open", (lines("1. e4 e5 @open 2. Nf3") + "\n[@open]\n",)),
    Case("an unused name of a start", "name-unused", (lines("@start 1. e4 e5"),), "@start",
         "nothing refers to the position start",
         (lines("@start 1. e4 e5") + "\n```diagram @start\n```\n",)),
    Case("a name that only its own diagram has", "name-unused",
         (lines("1. e4 e5 @open (D) 2. Nf3"),), "@open", "nothing refers",
         (lines("1. e4 e5 @open (D) 2. Nf3", "1. e4 c5 {% not same as @open %}"),)),
    Case("a name in another chapter", "name-unused",
         (lines("1. e4 e5 @open 2. Nf3"), "Text.\n"), "@open", "nothing refers",
         (lines("1. e4 e5 @open 2. Nf3"), "So [it stands]{at @open: material even}.\n"), at=1),
    # --- diagrams
    Case("a diagram in another chapter", "diagram-far",
         (lines("1. e4 e5 @open 2. Nf3"), "Text.\n\n```diagram @open\n```\n"), "diagram @open",
         "the move that this diagram shows, 1...e5, stands in another chapter, at "
         "chapters/1.md:2:7",
         (lines("1. e4 e5 @open 2. Nf3"), lines("1. e4 e5") + "\n```diagram @open\n```\n")),
    Case("a diagram pages away", "diagram-far",
         (lines("1. e4 e5 @open 2. Nf3") + f"\n{FILLER}\n![It](@open)\n",), "![It](@open)",
         "stands far away, at chapters/1.md:2:7",
         (lines("1. e4 e5 @open 2. Nf3") + f"\n![It](@open)\n\n{FILLER}",)),
)  # fmt: skip


def found(folder, chapters):
    made = tiny(folder, *chapters)
    assert not [fault for fault in made.faults if fault.severity > 1], made.told()
    return made, find_inconsistencies(made.booklet)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_planted(case, tmp_path):
    """Found once, at its line and column, with its reason."""
    made, findings = found(tmp_path, case.planted)
    told = [finding for finding in findings if finding.code == case.code]
    assert len(told) == 1, [finding.key for finding in findings]
    number = case.at or len(case.planted)
    text = (made.folder / "chapters" / f"{number}.md").read_text(encoding="utf-8")
    start = text.index(case.marked, text.index(case.behind))
    line = text.count("\n", 0, start) + 1
    column = start - (text.rfind("\n", 0, start) + 1) + 1
    assert str(told[0].place) == f"chapters/{number}.md:{line}:{column}"
    assert case.message in told[0].message
    assert told[0].chapter == str(number)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_put_right(case, tmp_path):
    _, findings = found(tmp_path, case.mended)
    assert [f"{finding.key}: {finding.message}" for finding in findings] == []


def test_every_code_is_planted():
    assert {case.code for case in CASES} == set(CODES)


RECOMMENDED = {
    "a line": ("1. e4 e5 2. Nf3 Nc6", "e4 e5 Nf3 Nc6"),
    "an offer": ("1. e4 e5 2. Nf3 (2. Nc3 Nf6 3. f4) Nc6", "e4 e5 Nf3 Nf6 Nc6"),
    "a reply": ("1. e4 e5 (1... c5 2. Nf3 d6) 2. Nf3", "e4 e5 Nf3 Nf3"),
    "a reply to an offer": ("1. e4 (1. d4 d5 (1... Nf6 2. c4)) e5", "e4 d5 e5"),
    "a bad move": ("1. e4 e5 2. Qh5? Nc6 3. Bc4", "e4 e5 Nc6"),
    "a dubious move": ("1. e4 e5 2. Qh5?! Nc6", "e4 e5 Nc6"),
    "an interesting move": ("1. e4 e5 2. Qh5!? Nc6", "e4 e5 Qh5 Nc6"),
    "better than a bad move": ("1. e4 e5 2. Qh5? (2. Nf3 Nc6 3. Bb5) Nc6", "e4 e5 Nf3 Nc6 Bb5 Nc6"),
    "two that are better": ("1. e4 e5 2. Qh5? (2. Nf3) (2. Nc3) Nc6", "e4 e5 Nf3 Nc3 Nc6"),
    "a pass": ("1. e4 -- 2. d4", "e4 d4"),
}  # fmt: skip


@pytest.mark.parametrize("name", RECOMMENDED)
def test_who_recommends_what(name, tmp_path):
    moves, wanted = RECOMMENDED[name]
    made = tiny(tmp_path, line_of(moves))
    assert " ".join(step.ply.san for step in steps(made.booklet) if step.recommends()) == wanted


def test_a_line_from_an_offer_recommends_nothing_to_its_side(tmp_path):
    chapters = (line_of("2... Nf6 3. f4 d5", "line b from @vienna"),
                line_of("1. e4 e5 2. Nf3 (2. Nc3 @vienna) Nc6", "line a"))  # fmt: skip
    made = tiny(tmp_path, *chapters)
    san = [step.ply.san for step in steps(made.booklet) if step.recommends()]
    assert san == ["Nf6", "d5", "e4", "e5", "Nf3", "Nc6"]


def test_moves_of_the_prose_are_an_offer(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 e5 2. Nf3") + "\nOr [2.Nc3 Nf6 3.f4], or [1...c5 2.Nf3].\n")
    san = [step.ply.san for step in steps(made.booklet) if step.recommends()]
    assert san == ["e4", "e5", "Nf3", "Nf6", "Nf3"]
