"""The sheets as paper: what lies behind what, one page for the summary, what a printer needs."""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass
from pathlib import Path

import chess
import pypdf
import pytest
from handouts.papers import Printed, board, numbers_behind, printed, rows
from tiny import line_of, tiny

from builder.faults import Fault, Faults
from builder.errands.chapters import NoChapter, chapter_slug
from builder.press.handouts import Handout, HandoutPress, Kind, Wanted
from builder.press.plan import Turn
from builder.settings import PAGE_SIZES, PrintSettings, page_size

MM = 72 / 25.4
SETTINGS = 'title = "The Rook & the <Pawn>"\nauthor = "N. N."\nside = "white"\ndate = 2026-01-02\n'
# Mates by the rook on the back rank, a file further for each exercise.
EXERCISE = """
```exercise e{number} from "6k1/5ppp/8/8/8/8/5PPP/{rank} w - - 0 1"
task: White to move. Which file is open?
solution: 1. R{file}8#{more}
```
"""
LONG = " {" + "The rook comes to the eighth rank, and nothing can stand between. " * 9 + "}"
FIRST = """\
# First <part>

```line main
1. e4 e5 (1... c5 2. Nf3 {Ready for d4. What else?} d6) 2. Nf3 Nc6 3. Bb5 @spanish
(D "The <Spanish> bishop") a6 (3... Nf6 4. O-O!) 4. Ba4 +=
```

""" + "".join(
    EXERCISE.format(number=index + 1, file=file, more=LONG if file == "c" else "",
                    rank=f"{index or ''}R{5 - index}K1")
    for index, file in enumerate("abcde")
)  # fmt: skip
SECOND = """\
# Second part

As in [@spanish], or [the bishop](@spanish); see [the first part](1.md).

```line two from @spanish
3... d6 4. d4 @d4 (D "Steinitz")
```

Compare [@d4].

```exercise f1 from @d4
task: Black to move, and [@spanish] is where it began.
solution: 4... Bd7
```
"""


@dataclass(frozen=True)
class Made:
    path: Path
    handout: Handout | None
    faults: tuple[Fault, ...]


def made(folder: Path, kind: Kind, *, chapter: str = "", page: str = "A4", turn: str = "",
         chapters: tuple[str, ...] = (FIRST, SECOND),
         settings: str = SETTINGS) -> Made:  # fmt: skip
    read = tiny(folder, *chapters, settings=settings)
    assert not [fault for fault in read.faults if fault.severity > 1], read.told()
    size = page_size(page)
    assert size is not None
    wanted = Wanted(kind, chapter, PrintSettings(page, *size), Turn(turn) if turn else None)
    faults = Faults()
    target = folder / f"{kind.value}.pdf"
    handout = HandoutPress(read.booklet, folder, faults, {}).make(wanted, target)
    return Made(target, handout, faults.sorted())


EDGES = (("A4", "long"), ("A4", "short"), ("297mm x 210mm", "short"), ("297mm x 210mm", "long"))


# --- exercises ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("page", "edge"), EDGES)
def test_solutions_lie_behind_their_exercises(tmp_path, program, page, edge):
    program("pdftotext")
    one = made(tmp_path, Kind.EXERCISES, page=page, turn=edge)
    assert one.faults == ()
    pages = printed(one.path)
    assert len(pages) % 2 == 0
    seen = []
    for front, back in zip(pages[::2], pages[1::2], strict=True):
        behind = back.behind(edge)
        tasks = numbers_behind(front.words, "Exercise")
        solutions = numbers_behind(behind.words, "Solution")
        assert rows(tasks) == rows(solutions)
        assert sum(len(row) for row in rows(tasks)) == len(tasks) > 0
        for number, task in tasks.items():
            assert abs(solutions[number].y - task.y) < 17
        seen += sorted(tasks)
    assert seen == [1, 2, 3, 4, 5, 6]


def test_an_exercise_sheet_holds_board_task_and_solution(tmp_path, program):
    program("pdftotext")
    one = made(tmp_path, Kind.EXERCISES, chapter="2")
    front, back = printed(one.path)
    assert board(front.words) == "r1bqkbnr/ppp2ppp/2np4/1B2p3/3PP3/5N2/PPP2PPP/RNBQK2R"
    text = " ".join(word.text for word in front.words)
    assert "Black to move, and Diagram 1, Chapter 1 is where it began." in text
    assert "Bd7" not in text and "Bd7" in " ".join(word.text for word in back.words)
    assert "Second part" in text
    assert one.handout == Handout(2, exercises=1)


def test_long_solutions_take_small_type_then_fail(tmp_path, program):
    program("pdftotext")
    long = " {" + "The rook comes to the eighth rank, and nothing stands between. " * 60 + "}"
    chapter = EXERCISE.format(number=1, file="a", rank="R5K1", more=long)
    fits = made(tmp_path, Kind.EXERCISES, chapters=(chapter,))
    assert fits.faults == () and fits.handout is not None
    chapter = EXERCISE.format(number=1, file="a", rank="R5K1", more=long * 9)
    fails = made(tmp_path, Kind.EXERCISES, chapters=(chapter,))
    assert fails.handout is None
    (fault,) = fails.faults
    assert (fault.code, fault.place.file, fault.place.line) == ("handout-long", "chapters/1.md", 2)
    assert fault.message == "exercise 1 fits on no A4 sheet"


# --- cards ----------------------------------------------------------------------------------------

CARD_PAGES = ((*EDGES[0], 2, 4), (*EDGES[1], 2, 4), (*EDGES[2], 3, 3), ("A5", "short", 1, 3))


@pytest.mark.parametrize(("page", "edge", "columns", "down"), CARD_PAGES)
def test_backs_lie_behind_their_fronts(tmp_path, program, page, edge, columns, down):
    """The number, and the moves of the back are legal on the board of the front."""
    program("pdftotext")
    one = made(tmp_path, Kind.CARDS, page=page, turn=edge)
    assert one.faults == () and one.handout is not None
    pages = printed(one.path)
    cards = {card.number: card for card in one.handout.cards}
    assert len(pages) == 2 * -(-len(cards) // (columns * down))
    stacks = []
    for front, back in zip(pages[::2], pages[1::2], strict=True):
        behind = back.behind(edge)
        numbers = []
        for row in range(down):
            for column in range(columns):
                wide, high = front.width / columns, front.height / down
                cell = (wide * column, high * row, wide * (column + 1), high * (row + 1))
                shown, hidden = front.box(*cell), behind.box(*cell)
                if not shown:
                    assert not hidden
                    continue
                number = int(max(shown, key=lambda word: (word.text.isdigit(), word.y)).text)
                assert str(number) in [word.text for word in hidden]
                card = cards[number]
                assert chess.Board(f"{board(shown)} w - - 0 1").board_fen() == (
                    flipped(card.position.placement) if card.flip else card.position.placement
                )
                text = " ".join(word.text for word in hidden)
                for answer in card.answers:
                    assert answer.ply.label.replace("O", "0") in text
                numbers.append(number)
        stacks.append(numbers)
    # Cut and laid on one another the stacks are in order.
    order = [stack[place] for place in range(columns * down) for stack in stacks
             if place < len(stack)]  # fmt: skip
    assert sorted(order) == list(cards)
    assert order == list(cards)


def flipped(placement: str) -> str:
    return "/".join(rank[::-1] for rank in reversed(placement.split("/")))


def test_a_back_says_what_comes_then(tmp_path, program):
    program("pdftotext")
    one = made(tmp_path, Kind.CARDS, chapter="1")
    assert one.handout is not None
    number = next(card.number for card in one.handout.cards if card.ply and card.ply.san == "c5")
    for page in printed(one.path):
        for left in (0, page.width / 2):
            for row in range(4):
                top = page.height / 4 * row
                words = page.box(left, top, left + page.width / 2, top + page.height / 4)
                text = Printed(0, 0, words).text()
                if str(number) == (text.split() or [""])[-1] and "After" not in text:
                    assert text == f"2.Nf3\nd6\nReady for d4.\nChapter 1 {number}"
                    return
    raise AssertionError("no back of that number")


@pytest.mark.parametrize("count", [1, 2, 3, 6])
def test_a_back_holds_much(tmp_path, program, count):
    """More recommendations than there is room for, and a comment that goes on and on."""
    program("pdftotext")
    firsts = ("e4", "d4", "c4", "Nf3", "g3", "b3")[:count]
    comment = "{" + "Endless words and words about this " * 20 + "}"
    lines = "".join(
        line_of(f"1. {move} {comment} e5 2. Nc3 Nf6 3. h3 d5", f"line l{index}")
        for index, move in enumerate(firsts)
    )  # fmt: skip
    one = made(tmp_path, Kind.CARDS, chapters=(lines,))
    front, back, *_ = printed(one.path)
    cell = back.behind("long").box(0, 0, front.width / 2, front.height / 4)
    text = Printed(0, 0, cell).text()
    assert re.findall(r"1\.\w+", text) == [f"1.{move}" for move in firsts[:4]]
    assert ("Endless" in text) == (count < 4) == ("…" in text)
    foot = max(word.y for word in cell)
    words = [word.y for word in cell if word.y < foot - 2]
    assert max(words) < foot - 10  # the words end above the card's place and number


# --- the summary ----------------------------------------------------------------------------------


@pytest.mark.parametrize("page", ["A4", "A5"])
def test_the_summary_is_one_page(tmp_path, program, page):
    program("pdftotext")
    one = made(tmp_path, Kind.SUMMARY, page=page)
    assert one.faults == ()
    (sheet,) = printed(one.path)
    width, height = PAGE_SIZES[page]
    assert (sheet.width / MM, sheet.height / MM) == pytest.approx((width, height), abs=0.1)
    text = sheet.text()
    for row in ("They play You answer", "1...c5 2.Nf3", "3...Nf6 4.0-0!", "3...a6 4.Ba4",
                "3...d6 4.d4"):  # fmt: skip
        assert row in text
    assert "3.Bb5 D 1" in text
    assert all(10 * MM < word.x < sheet.width - 10 * MM for word in sheet.words)


@pytest.fixture(scope="module")
def crowded(tmp_path_factory) -> Made:
    """A repertoire of some 450 branches on A5."""
    board = chess.Board()
    board.push_san("e4")
    parts = []
    for reply in list(board.legal_moves):
        first = board.san(reply)
        board.push(reply)
        board.push_san("Nc3")
        answers = []
        for second in list(board.legal_moves):
            san = board.san(second)
            board.push(second)
            answers.append(f"2... {san} 3. {board.san(next(iter(board.legal_moves)))}")
            board.pop()
        board.pop()
        board.pop()
        inner = " ".join(f"({answer})" for answer in answers[1:])
        parts.append(f"1... {first} 2. Nc3 {answers[0].split(' 3. ')[0]} {inner} "
                     f"3. {answers[0].split(' 3. ')[1]}")  # fmt: skip
    text = "1. e4 " + parts[0].split(" 2. ")[0] + " " + " ".join(f"({part})" for part in parts[1:])
    text += " 2. " + parts[0].split(" 2. ", 1)[1]
    folder = tmp_path_factory.mktemp("crowded")
    return made(folder, Kind.SUMMARY, page="A5", chapters=(line_of(text),))


def test_what_a_page_cant_hold_is_left_out(crowded, program):
    program("pdftotext")
    (sheet,) = printed(crowded.path)
    (fault,) = crowded.faults
    assert fault.code == "handout-cut" and fault.severity == 0
    told = re.search(r": (\d+) of (\d+) branches", fault.message)
    assert told
    assert f"Deeper branches left out: {told[1]}" in sheet.text()
    # All first replies are there, and every row that is left is counted.
    shown = {word.text for word in sheet.words if word.text.startswith("1...")}
    assert len(shown) == 20
    left = sum(1 for word in sheet.words if re.match(r"\d\.\.\.", word.text))
    assert left + int(told[1]) + 1 == int(told[2])


def test_no_type_is_smaller_than_can_be_read(crowded, program):
    """6.5 pt at least, by what the PDF's text operators say."""
    sizes = []
    pypdf.PdfReader(crowded.path).pages[0].extract_text(
        visitor_text=lambda text, cm, tm, font, size: sizes.append(abs(size * tm[3] * cm[3]))
        if text.strip() else None
    )  # fmt: skip
    assert min(sizes) >= 6.5 - 0.01
    assert min(sizes) < 7


# --- a chapter alone ------------------------------------------------------------------------------


def test_references_to_other_chapters_are_words(tmp_path, program):
    program("pdftotext")
    one = made(tmp_path, Kind.CHAPTER, chapter="2", page="A5")
    assert one.faults == ()
    text = " ".join(word.text for page in printed(one.path) for word in page.words)
    assert "As in Diagram 1, Chapter 1, or the bishop; see the first part." in text
    assert "Compare Diagram 2, page 1." in text
    assert "Second part" in text and "The Rook & the <Pawn>, Chapter 2" in text
    assert "Solution 6" in text and "First <part>" not in text
    reader = pypdf.PdfReader(one.path)
    links = [note.get_object() for page in reader.pages for note in page.get("/Annots", ())]
    names = {note["/Dest"] if "/Dest" in note else note["/A"]["/D"] for note in links}
    assert names and names <= set(reader.named_destinations)


# --- all of them ----------------------------------------------------------------------------------

KINDS = (
    (Kind.EXERCISES, ""), (Kind.CARDS, ""), (Kind.SUMMARY, ""), (Kind.CHAPTER, "1"),
)  # fmt: skip


@pytest.mark.parametrize(("kind", "chapter"), KINDS, ids=[kind.value for kind, _ in KINDS])
def test_fit_for_a_mono_printer(tmp_path, program, kind, chapter):
    """Fonts are in the file, nothing is coloured, two runs give the same bytes."""
    program("pdffonts")
    one = made(tmp_path / "one", kind, chapter=chapter)
    fonts = subprocess.run(["pdffonts", one.path], check=True, capture_output=True,
                           encoding="utf-8").stdout.splitlines()[2:]  # fmt: skip
    assert fonts
    for line in fonts:
        assert line.split()[-5] == "yes", line  # emb, sub, uni, object ID
    for page in pypdf.PdfReader(one.path).pages:
        for operands, operator in page.get_contents().operations:
            if operator in (b"rg", b"RG"):
                assert len({float(value) for value in operands}) == 1
            assert operator not in (b"k", b"K")
    again = made(tmp_path / "two", kind, chapter=chapter)
    assert again.path.read_bytes() == one.path.read_bytes()


@pytest.mark.parametrize("kind", [Kind.EXERCISES, Kind.CARDS, Kind.SUMMARY])
def test_words_and_letters_of_the_language(tmp_path, program, kind):
    program("pdftotext")
    settings = SETTINGS + 'language = "de"\nnotation = "letters"\n'
    one = made(tmp_path, kind, settings=settings)
    text = " ".join(word.text for page in printed(one.path) for word in page.words)
    wanted = {
        Kind.EXERCISES: ("Aufgaben", "Lösung 2", "1.Tb8#"),
        Kind.CARDS: ("2.Sf3", "Weiß am Zug"),
        Kind.SUMMARY: ("Antwort", "4.La4"),
    }
    for words in wanted[kind]:
        assert words in text


@pytest.mark.parametrize(("kind", "reason"), [
    (Kind.EXERCISES, "there are no exercises in this chapter"),
    (Kind.CARDS, "there is no move that a chapter recommends to its side in this chapter"),
])  # fmt: skip
def test_nothing_to_print(tmp_path, kind, reason):
    one = made(tmp_path, kind, chapter="1", chapters=("# Words\n\nOnly words.\n", FIRST))
    assert one.handout is None
    assert [(fault.code, fault.message) for fault in one.faults] == [("handout-empty", reason)]


def test_the_booklets_own_templates(tmp_path, program):
    """A file in theme/sheets takes the place of ours; what is wrong in it is told."""
    program("pdftotext")
    own = tmp_path / "theme" / "sheets"
    own.mkdir(parents=True)
    (own / "summary.html").write_text("{% include 'head.html' %}<p>{{ title }}, mine</p>")
    one = made(tmp_path, Kind.SUMMARY)
    assert "At a glance, mine" in " ".join(word.text for word in printed(one.path)[0].words)
    (own / "summary.html").write_text("{% if %}")
    two = made(tmp_path, Kind.SUMMARY)
    assert two.handout is None
    assert [fault.place.file for fault in two.faults] == ["theme/sheets/summary.html"]


# --- chapters -------------------------------------------------------------------------------------


@pytest.mark.parametrize("asked", ["2", "chapters/2.md", "2.md", "book\\chapters\\2.md"])
def test_a_chapter_by_name(tmp_path, asked):
    booklet = tiny(tmp_path, "# One\n", "# Two\n").booklet
    assert chapter_slug(booklet, asked) == "2"


def test_no_such_chapter(tmp_path):
    booklet = tiny(tmp_path, "# One\n", "# Two\n").booklet
    with pytest.raises(NoChapter, match="has no chapter tenth; its chapters: 1, 2"):
        chapter_slug(booklet, "tenth")
    with pytest.raises(NoChapter, match="has no chapter 20; did you mean 2?"):
        chapter_slug(booklet, "20")
