"""The repertoire as branches and groups: who answers what, what is left out, what joins what."""

from __future__ import annotations

import pytest
from tiny import line_of, tiny

from builder.model import Booklet
from builder.render.handouts.branch_groups import groups
from builder.render.handouts.branches import (
    Repertoire, branch_count, family_count, repertoires, thinned,
)  # fmt: skip
from builder.render.handouts.summary import group_letter

WHITE = 'title = "T"\nside = "white"\n'
BLACK = 'title = "T"\nside = "black"\n'
BOTH = 'title = "T"\nside = "both"\n'
BRANCHED = line_of("""
    1. e4 e5 (1... c5 2. Nf3 d6 (2... e6 3. d4) 3. d4)
    2. Nf3 Nc6 (2... d6 3. d4 exd4 4. Nxd4) 3. Bb5
""")
BRANCHED_TREE = """\
1.e4
  1...e5: 2.Nf3
    2...Nc6: 3.Bb5
    2...d6: 3.d4 exd4 4.Nxd4
  1...c5: 2.Nf3
    2...d6: 3.d4
    2...e6: 3.d4"""

# name, settings, chapter, the branches
TREES = (
    ("White's", WHITE, BRANCHED, BRANCHED_TREE),
    ("Black's", BLACK, line_of("1. e4 e5 (1... c5) 2. Nf3 (2. f4 exf4) Nc6"),
     "1.e4: 1...e5\n  2.Nf3: 2...Nc6\n  2.f4: 2...exf4"),
    ("both sides'", BOTH, line_of("1. e4 e5 2. Nf3 Nc6"),
     "1.e4\n  1...e5: 2.Nf3\n1.e4: 1...e5 2.Nf3 Nc6"),
    ("one way goes on in a row", WHITE, line_of("1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4"),
     "1.e4\n  1...e5: 2.Nf3 Nc6 3.Bb5 a6 4.Ba4"),
    ("what isn't recommended", WHITE, line_of("1. e4 (1. d4 d5) e5 2. Nf3 (2. f4 exf4 3. Nf3)"),
     "1.e4\n  1...e5: 2.Nf3"),
    ("a reply without an answer", WHITE, line_of("1. e4 e5 (1... c5) 2. Nf3 Nc6"),
     "1.e4\n  1...e5: 2.Nf3"),
    ("a threat is no reply", WHITE, line_of("1. e4 e5 (1... -- 2. d4) 2. Nf3"),
     "1.e4\n  1...e5: 2.Nf3"),
    ("another order of moves answers", WHITE,
     line_of("1. d4 Nf6 2. c4 e6 (2... c6 3. Nc3) 3. Nf3 d5", "line a")
     + line_of("1. d4 e6 2. c4 Nf6", "line b"),
     "1.d4\n  1...Nf6: 2.c4\n    2...e6: 3.Nf3\n    2...c6: 3.Nc3\n  1...e6: 2.c4 Nf6 3.Nf3 joins"),
    ("another start", WHITE,
     line_of("1. Kd2 Kd7 2. Kd3", 'line end from "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"'),
     "1.Kd2\n  1...Kd7: 2.Kd3"),
    ("solutions say nothing new", WHITE, line_of("1. e4 e5 @open 2. Nf3")
     + "```exercise e from @open\ntask: White to move.\nsolution: 2. Bc4\n```\n",
     "1.e4\n  1...e5: 2.Nf3"),
)  # fmt: skip


def read(folder, settings: str, *chapters: str) -> Booklet:
    found = tiny(folder, *chapters, settings=settings)
    assert not [fault for fault in found.faults if fault.severity > 1], found.told()
    return found.booklet


def told(found: tuple[Repertoire, ...]) -> str:
    lines = []
    for repertoire in found:
        for index, branch in enumerate(repertoire.branches):
            above = repertoire.branches[branch.above] if branch.above is not None else None
            assert branch.above is None or branch.above < index
            assert branch.depth == (0 if above is None else above.depth + 1)
            text = [f"{branch.reply.label}:"] if branch.reply else []
            text.append(branch.answer.label)
            text += [ply.label if ply.by_white else ply.san for ply in branch.run]
            text += ["joins"] if branch.borrowed else []
            text += ["…"] if branch.cut else []
            lines.append("  " * branch.depth + " ".join(text))
    return "\n".join(lines)


@pytest.mark.parametrize(("settings", "chapter", "wanted"), [case[1:] for case in TREES],
                         ids=[case[0] for case in TREES])  # fmt: skip
def test_branches(tmp_path, settings, chapter, wanted):
    assert told(repertoires(read(tmp_path, settings, chapter))) == wanted


def test_chapters_for_either_side(tmp_path):
    booklet = read(tmp_path, WHITE, line_of("1. e4 e5 2. Nf3"),
                   '+++\nside = "black"\n+++\n' + line_of("1. d4 d5 2. c4 e6"))  # fmt: skip
    found = repertoires(booklet)
    assert [repertoire.white for repertoire in found] == [True, False]
    assert told(found) == "1.e4\n  1...e5: 2.Nf3\n1.d4: 1...d5 2.c4 e6"


def test_the_last_diagram_of_a_branch(tmp_path):
    chapter = line_of('1. e4 e5 2. Nf3 (D "A") Nc6 3. Bb5 (D "B") a6 4. Ba4 Nf6')
    branches = repertoires(read(tmp_path, WHITE, chapter))[0].branches
    assert [branch.diagram and branch.diagram.number for branch in branches] == [None, 2]


def test_a_diagram_of_the_start(tmp_path):
    fen = "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"
    chapter = f'```diagram "{fen}"\n```\n' + line_of("1. Kd2 Kd7 2. Kd3", f'line e from "{fen}"')
    found = repertoires(read(tmp_path, WHITE, chapter))[0]
    assert found.diagram is not None and found.diagram.number == 1
    assert not found.from_the_beginning


# --- leaving out ----------------------------------------------------------------------------------

THINNED = (
    (4, BRANCHED_TREE),
    (3, """\
1.e4
  1...e5: 2.Nf3
    2...Nc6: 3.Bb5
    2...d6: 3.d4 exd4 4.Nxd4
  1...c5: 2.Nf3 …"""),
    (2, "1.e4\n  1...e5: 2.Nf3 …\n  1...c5: 2.Nf3 …"),
    (1, "1.e4 …"),
)  # fmt: skip


@pytest.mark.parametrize(("families", "wanted"), THINNED, ids=[str(case[0]) for case in THINNED])
def test_the_deepest_and_last_go_first(tmp_path, families, wanted):
    found = repertoires(read(tmp_path, WHITE, BRANCHED))
    assert family_count(found) == 4
    assert branch_count(found) == 7
    thin = thinned(found, families)
    assert told(thin) == wanted
    assert branch_count(thin) == wanted.count("\n") + 1


# --- groups ---------------------------------------------------------------------------------------


def grouped(folder, *chapters: str) -> list[str]:
    (found,) = repertoires(read(folder, WHITE, *chapters))
    lines = []
    for group in groups(found, first=3):
        lines.append(f"{group.number}: {' '.join(ply.label for ply in group.stem)}".rstrip())
        for row in group.rows:
            assert row.branch.reply is not None
            goes_on = "" if row.group is None else f" -> {row.group}"
            lines.append("  " * (row.indent + 1) + row.branch.reply.label + goes_on)
    return lines


def test_a_small_repertoire_is_one_group(tmp_path):
    assert grouped(tmp_path, BRANCHED) == [
        "3: 1.e4", "  1...e5", "    2...Nc6", "    2...d6", "  1...c5", "    2...d6", "    2...e6",
    ]  # fmt: skip


def test_large_branches_are_groups_of_their_own(tmp_path):
    replies = ["a6", "a5", "b6", "b5", "h6", "h5"]
    second = " ".join(f"(2... {move} 3. Bc4)" for move in replies[1:])
    third = " ".join(f"(2... {move} 3. d4)" for move in replies[1:])
    chapter = line_of(f"""
        1. e4 e5 (1... c5 2. Nc3 {replies[0]} {third} 3. d4) (1... d6 2. d4)
        2. Nf3 {replies[0]} {second} 3. Bc4
    """)
    assert grouped(tmp_path, chapter) == [
        "3: 1.e4", "  1...e5 -> 4", "  1...c5 -> 5", "  1...d6",
        "4: 1.e4 1...e5 2.Nf3", *(f"  2...{move}" for move in replies),
        "5: 1.e4 1...c5 2.Nc3", *(f"  2...{move}" for move in replies),
    ]  # fmt: skip


def test_very_deep_nesting(tmp_path):
    """Each variation in the one before: 150 branchings on one way."""
    shuffle = ["Nf3", "Nf6", "Ng1", "Ng8"] * 75
    text = " ".join(f"{move} (e6 {'c3' if index % 4 == 1 else 'd3'})" if index % 2 else move
                    for index, move in enumerate(shuffle))  # fmt: skip
    (found,) = repertoires(read(tmp_path, WHITE, line_of(text)))
    assert max(branch.depth for branch in found.branches) > 100
    assert sum(len(group.rows) for group in groups(found)) <= len(found.branches)


@pytest.mark.parametrize(("number", "letter"), [
    (0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA"),
])  # fmt: skip
def test_letters(number, letter):
    assert group_letter(number) == letter
