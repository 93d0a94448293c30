"""The one model: names across chapters, numbers, positions that meet, what is in force."""

from __future__ import annotations

import pytest
from tiny import line_of, tiny

from builder.model import Code, Comment, Diagram, Exercise, Line, PositionLink, Text
from builder.render.inline import plain

SCOTCH = "1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4"


def test_names_reach_over_chapters_in_both_directions(tmp_path):
    made = tiny(
        tmp_path,
        line_of("7. Qe2 Nd5 @outpost", "line a from @pin") + "\n[@pin] and [there](@outpost)\n",
        line_of(SCOTCH + " Nf6 5. Nxc6 bxc6 6. e5 Qe7 @pin"),
    )
    assert made.faults == (), made.told()
    assert made.booklet.names["pin"].chapter == "2"
    start = made.chapter.lines[0]
    assert start.start_name == "pin"
    assert [ply.label for ply in next(start.plies()).path()][-3:] == ["6.e5", "6...Qe7", "7.Qe2"]


def test_circle_of_names(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 @a", "line x from @b") + line_of("1. e4 @b", "line y from @a"))
    assert made.codes() == ["name-circle", "name-circle"]


def test_diagrams_and_exercises_are_numbered_through(tmp_path):
    exercise = "```exercise e1 from @key flip\ntask: Find it.\nsolution: 4... Bc5\n```\n"
    made = tiny(
        tmp_path,
        line_of(SCOTCH + " @key (D) Nf6 (D)") + exercise,
        "```diagram @key \"again\"\n```\n" + exercise.replace("e1", "e2"),
    )
    assert made.faults == (), made.told()
    assert [diagram.number for diagram in made.booklet.diagrams] == [1, 2, 3]
    assert [exercise.number for exercise in made.booklet.exercises] == [1, 2]
    assert made.booklet.exercises[0].diagram.flip
    assert made.booklet.names["key"].diagram.number == 1


def test_positions_meet(tmp_path):
    """The same position by another order of moves has the same key; clocks don't count."""
    made = tiny(
        tmp_path,
        line_of("1. Nf3 Nf6 2. g3 g6", "line a") + line_of("1. g3 g6 2. Nf3 Nf6", "line b"),
    )
    last = [line.main_plies()[-1] for line in made.chapter.lines]
    assert last[0].after.key == last[1].after.key
    assert made.booklet.reached[last[0].after.key] == tuple(last)


@pytest.mark.parametrize(
    ("moves", "other", "same"),
    [
        # FIDE Laws 9.2.3.1: not the same when an en-passant capture was possible before.
        ("1. e4 a6 2. e5 d5", "1. e4 d6 2. e5 a6 3. a3 d5", False),
        # No capture is possible: the double step makes no difference.
        ("1. e4 e6 2. d4", "1. e3 e6 2. d4 Nf6 3. e4 Ng8", False),
        ("1. d4 d6 2. e4", "1. e4 d6 2. d4", True),
        # FIDE Laws 9.2.3.2: the right to castle counts.
        ("1. Nf3 Nf6 2. Rg1 Ng8 3. Rh1 Nf6", "1. Nf3 Nf6 2. Nc3 Nc6 3. Nb1 Nb8", False),
    ],
    ids=["en passant possible", "side to move", "double step without capture", "castling right"],
)
def test_identity(moves, other, same, tmp_path):
    made = tiny(tmp_path, line_of(moves, "line a") + line_of(other, "line b"))
    assert made.faults == (), made.told()
    one, two = (line.main_plies()[-1].after for line in made.chapter.lines)
    assert (one.key == two.key) is same


def test_position_in_force(tmp_path):
    """A claim speaks of the last move or position named before it in reading order."""
    made = tiny(
        tmp_path,
        "[start]{material even} "
        "[1.e4 e5]{material even} [x]{material even}\n\n"
        + line_of("1. e4 {% material even %} e5 (1... c5 2. Nf3 {[2.c3 d5]: [y]{material even}}"
                  " {% material even %} @sicilian) {% material even %} 2. Nf3 Nc6")
        + "\n[z]{material even} [@sicilian] [u]{material even} [v]{at @sicilian: material even}\n",
    )  # fmt: skip
    assert made.faults == (), made.told()
    assert [claim.ply and claim.ply.label for claim in made.chapter.claims] == [
        None, "1...e5", "1...e5", "1.e4", "2...d5", "2.Nf3", "1...e5", "2...Nc6", "2.Nf3", "2.Nf3",
    ]  # fmt: skip


def test_a_footnote_is_read_where_it_is_referred_to(tmp_path):
    made = tiny(tmp_path, line_of(SCOTCH) + "\nHere[^a] and [z]{material even}.\n\n[^a]: Or [4...Qh4].\n")
    assert made.faults == (), made.told()
    assert made.chapter.claims[0].ply.label == "4.Nxd4"
    assert made.chapter.lines[-1].kind == "aside"


def test_a_footnote_that_only_a_footnote_marks(tmp_path):
    """Numbers go by marks: those of the text, then those of note after note."""
    made = tiny(tmp_path, "A[^a] and[^b].\n\n[^c]: C[^a], D[^d].\n\n[^b]: B.\n\n[^a]: A[^c].\n\n"
                "[^d]: D.\n\n    And more[^d].\n\n[^never]: Nobody[^else].\n\n[^else]: No.\n")  # fmt: skip
    assert made.faults == (), made.told()
    words = [plain(note.blocks[0].inlines) for note in made.chapter.footnotes]
    assert [(note.number, text[0]) for note, text in zip(made.chapter.footnotes, words, strict=True)] == [
        (1, "A"), (2, "B"), (3, "C"), (4, "D"),
    ]  # fmt: skip


def test_footnotes_may_lead_on_and_on(tmp_path):
    notes = "\n\n".join(f"[^{number}]: See[^{number + 1}]." for number in range(2000))
    made = tiny(tmp_path, f"A[^0].\n\n{notes}\n\n[^2000]: Here.\n")
    assert made.faults == (), made.told()
    assert len(made.chapter.footnotes) == 2001


def test_solutions_keep_to_themselves(tmp_path):
    """A solution's moves count as right where the contract says, and are no part of the text."""
    text = line_of(SCOTCH + " @key") + (
        "```exercise e1 from @key\ntask: Move.\n"
        "solution: 4... Nf6 (4... Bc5) 5. Nc3 (5. Nxc6) Bb4 (5... d5 loses a pawn)\n```\n"
        "\nNow [4...Nf6].\n"
    )
    made = tiny(tmp_path, text)
    assert made.faults == (), made.told()
    exercise = made.booklet.exercises[0]
    assert [ply.label for ply in exercise.answers] == ["4...Nf6", "4...Bc5", "5...d5"]
    assert any(isinstance(item, Comment) for item in exercise.solution.items)
    assert made.chapter.lines[-1].kind == "aside"


def test_blocks_in_lists_and_quotations(tmp_path):
    made = tiny(
        tmp_path,
        "- first\n\n  ```line main\n  1. e4 @x\n  e5\n  ```\n\n"
        "> quoted\n>\n> ```line other\n> 1. d4\n> d5\n> ```\n> and [1.d4 d5\n> 2.c4]\n",
    )
    assert made.faults == (), made.told()
    assert [[ply.san for ply in line.plies()] for line in made.chapter.lines] == [
        ["e4", "e5"], ["d4", "d5"], ["c4"],
    ]  # fmt: skip


def test_code_is_left_alone(tmp_path):
    text = "`[@x]` and ``[1.e4]``\n\n```text\n[@x]\n```\n\n~~~md\n```line main\n1. e9\n```\n~~~\n\n    [@x]\n"
    made = tiny(tmp_path, text)
    assert made.faults == (), made.told()
    assert [block.text for block in made.chapter.blocks[1:]] == [
        "[@x]", "```line main\n1. e9\n```", "[@x]",
    ]  # fmt: skip


def test_drafts_are_left_out_on_request(tmp_path):
    from builder.book.make import make_booklet
    from builder.faults import Faults
    from builder.source.booklet import read_booklet

    made = tiny(tmp_path, "+++\ndraft = true\n+++\nText.\n", "Text.\n")
    source = read_booklet(made.folder, Faults())
    assert [c.slug for c in make_booklet(source, Faults(), drafts=False).chapters] == ["2"]
    assert [c.slug for c in made.booklet.chapters] == ["1", "2"]


def test_the_stream_in_reading_order(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 {king} (D) e5 (1... c5) 2. Nf3 1-0"))
    kinds = [type(item).__name__ for item in made.chapter.lines[0].items]
    assert kinds == ["Ply", "Comment", "Diagram", "Ply", "VariationStart", "Ply", "VariationEnd",
                     "Ply", "Result"]  # fmt: skip
    assert isinstance(made.chapter.blocks[0], Line)
    assert made.booklet.diagrams[0].ply.label == "1.e4"


def test_links_and_diagrams_in_the_prose(tmp_path):
    made = tiny(tmp_path, line_of(SCOTCH + " @key") + "\nSee [@key].\n\n![The *centre*](@key plan c1-f4)\n")
    paragraph, diagram = made.chapter.blocks[1:]
    assert isinstance(paragraph.inlines[1], PositionLink)
    assert isinstance(diagram, Diagram) and diagram.marks[0].kind == "plan"


def test_exercise_block_is_a_block(tmp_path):
    made = tiny(tmp_path, "```exercise e1\ntask: Move.\n\nTwo paragraphs.\nsolution: 1. e4\n```\n")
    assert isinstance(made.chapter.blocks[0], Exercise)
    assert len(made.chapter.blocks[0].task) == 2


def test_a_picture_with_a_space_in_its_name(tmp_path):
    (tmp_path / "images").mkdir()
    (tmp_path / "images" / "a rook.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    made = tiny(tmp_path, "![A rook](<images/a rook.png>)\n")
    assert made.faults == (), made.told()
    assert made.chapter.blocks[0].inlines[0].file == "images/a rook.png"


def test_one_slip_loses_no_further_words(tmp_path):
    """Names and brackets behind a move that can't be played are not told again."""
    made = tiny(
        tmp_path,
        line_of("1. e4 e5 2. Nf4 Nc6 @lost 3. d4")
        + "\n[@lost] and [there](@lost), [3.d4], [x]{same as @lost}\n\n"
        + line_of("3. Bc4 @gone", "line x from @lost") + "\n[@gone] but [@never]\n",
    )
    assert made.codes() == ["move-illegal", "name-unknown"], made.told()


def test_a_claim_behind_a_line_that_breaks_off_is_not_judged(tmp_path):
    """It speaks of a position that was not reached; one that names its position is, and one behind
    the next line."""
    broken = line_of("1. e4 @begun e5 2. Nf4 Nc6 (2... d6) 3. d4")
    claims = "\n[x]{attackers e5 white = 1} [y]{at @begun: attackers e5 white = 0}\n\n"
    made = tiny(tmp_path, broken + claims + line_of("1. d4", "line b") + "\n[z]{attackers e5 white = 1}\n")
    assert made.codes() == ["move-illegal"], made.told()
    assert [claim.text for claim in made.chapter.claims] == [
        "at @begun: attackers e5 white = 0", "attackers e5 white = 1",
    ]  # fmt: skip


def test_silent_claims_in_words(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 {king {% material even %} pawn} e5") + "\nText {% check %}.\n")
    assert made.faults == (), made.told()
    assert [claim.text for claim in made.chapter.claims] == ["material even", "check"]
    comment = made.chapter.lines[0].items[1]
    assert "".join(getattr(node, "text", "") for node in comment.inlines) == "king  pawn"


# --- characters --------------------------------------------------------------------------------------

# CommonMark 0.31.2, 2.5, examples 25 to 28 and 35 to 38, from memory; and what XML can't hold.
CHARACTERS = {
    "names": ("&amp; &copy; &AElig; &Dcaron; &frac34; &HilbertSpace; &ngE;", "& © Æ Ď ¾ ℋ ≧̸"),
    "decimal": ("&#35; &#1234; &#992; &#0;", "# Ӓ Ϡ \ufffd"),
    "hexadecimal": ("&#X22; &#XD06; &#xcab;", '" ആ ಫ'),
    "none": ("&nbsp &x; &#; &#x; &#87654321; &ThisIsNotDefined; &hi?;",) * 2,
    "no structure": ("&#42;foo&#42; &#91;5.Nxc6&#93;", "*foo* [5.Nxc6]"),
    "an escaped one": ("\\&amp;", "&amp;"),
    "our marks, control codes, halves": ("&#xe000;0&#xe001; &#7; &#xd800; &#x110000;", "\ufffd0\ufffd \ufffd \ufffd \ufffd"),
}


@pytest.mark.parametrize("written, shown", CHARACTERS.values(), ids=CHARACTERS)
def test_references_to_characters(written, shown, tmp_path):
    """In the text and in a comment; code has them as they stand."""
    made = tiny(tmp_path, f"{written}\n\n`{written}`\n\n" + line_of(f"1. e4 {{{written}}} e5"))
    assert not made.faults
    prose, code = made.chapter.blocks[:2]
    assert prose.inlines == (Text(shown),) and code.inlines == (Code(written),)
    assert made.chapter.lines[0].items[1].inlines == (Text(shown),)
