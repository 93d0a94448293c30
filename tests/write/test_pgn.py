"""PGN: the standard's export format, and what other programs read in it.

The rules checked are those of the PGN standard (revision of 1994-03-12), sections 4 to 9. The
outside readers are PyPI `chess`, npm `chess.js` (main moves) and npm `kokopu` (variations too).
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import chess
import chess.pgn
import pytest
from intake.samples import STANDARD
from node_readers import CHESS_JS, KOKOPU, says
from tiny import line_of, tiny

from builder.book.make import make_booklet
from builder.book.tree import move_trees
from builder.faults import Faults
from builder.model import Booklet, Line
from builder.source.booklet import read_booklet
from builder.write.pgn import pgn_text, tag_value, wrapped
from builder.write.pgn_remarks import PgnForm

ROOT = Path(__file__).parent.parent.parent
SCOTCH = "1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4"
LONG = "word " * 40
BOOKLET = (
    "# The Scotch; a \"test\" of \\ and {braces}\n\n"
    + line_of(
        "{Before everything.} 1. e4 e5 2. Nf3 Nc6 (2... d6 {solid}) (2... Nf6) 3. d4! exd4 "
        "4. Nxd4 (D \"White has 50 % of it\" key d4) Nf6 $16 $34 (4... Bc5 {[5.Be3] says } "
        "5. Be3 Qf6 (5... Bb6?! 6. Nf5 (6. Nxc6 bxc6)) 6. c3 Nge7 @classical) "
        "(4... -- 5. Nxc6 {the threat} bxc6 (5... dxc6 6. Qxd8+) 6. e5) "
        "(4... Qh4 {" + LONG + "%% " + "x" * 200 + "}) 5. Nxc6 bxc6 "
        "6. e5 {Point ) ; % here.} Qe7 @pin 1/2-1/2"
    )
    + "\nThe text goes on with [7.Qe2 Nd5 8.c4] and, elsewhere, [4...Bb4+].\n\n"
    + line_of("7. Qe2 Nd5 8. Nd2", "line more from @pin")
    + line_of("1. e8=Q Kf6 2. Qd7", 'line study from "8/4P1k1/8/8/8/8/8/4K3 w - - 0 1"')
    + "```exercise e1 from @pin\ntask: White to move; *keep* the tempo.\n"
    "solution: 7. Qe2 Nd5 8. c4 (8. Nd2 also keeps an edge)\n```\n",
    line_of("7. Qe2 Nd5 8. h4 {Żółć — “quotes”}", "line late from @pin"),
)


@pytest.fixture
def made(tmp_path):
    settings = 'title = "A \\"tiny\\" one"\nauthor = "Anna Ødegård"\ndate = 2026-01-02\n'
    booklet = tiny(tmp_path, *BOOKLET, settings=settings)
    assert not [fault for fault in booklet.faults if fault.severity.word == "error"], booklet.told()
    return booklet.booklet


@pytest.fixture(params=["made", "content", "demo/handout", "builder/starter/booklet"])
def booklet(request):
    """The sample above, and the project's own booklets."""
    if request.param == "made":
        return request.getfixturevalue("made")
    faults = Faults()
    booklet = make_booklet(read_booklet(ROOT / request.param, faults), faults)
    assert not faults.has_errors
    return booklet


def movetext(text: str) -> str:
    """The movetext of the first game, on one line."""
    return " ".join(text.split("\n\n")[1].split())


CASES = {
    "numbers": ("1. e4 e5 2. Nf3", "1. e4 e5 2. Nf3 *"),
    "black's number behind a variation": ("1. e4 (1. d4) e5", "1. e4 (1. d4) 1... e5 *"),
    "black's number behind a comment": ("1. e4 {x} e5", "1. e4 {x} 1... e5 *"),
    "black's number behind a NAG": ("1. e4! e5 2. d4?? d5", "1. e4 $1 1... e5 2. d4 $4 2... d5 *"),
    "none behind black's own remarks": ("1. e4 e5! {x} 2. d4", "1. e4 e5 $1 {x} 2. d4 *"),
    "written signs are NAGs": ("1. e4 += e5 $10", "1. e4 $14 1... e5 $10 *"),
    "castling": (
        "1. e4 e5 2. Nf3 Nf6 3. Bc4 Bc5 4. 0-0 0-0",
        "1. e4 e5 2. Nf3 Nf6 3. Bc4 Bc5 4. O-O O-O *",
    ),
    "one proper form": ("1. Ng1f3 d7d5", "1. Nf3 d5 *"),
    "nested": (
        "1. e4 e5 (1... c5 2. Nf3 (2. c3 d5)) 2. Nc3",
        "1. e4 e5 (1... c5 2. Nf3 (2. c3 d5)) 2. Nc3 *",
    ),
    "two variations": ("1. e4 (1. d4) (1. c4) e5", "1. e4 (1. d4) (1. c4) 1... e5 *"),
    "words in front of a variation": ("1. e4 ({Or} 1. d4) e5", "1. e4 ({Or} 1. d4) 1... e5 *"),
    "words in front of everything": ("{First} 1. e4", "{First} 1. e4 *"),
    "a name": ("1. e4 @king e5", "1. e4 {@king} 1... e5 *"),
    "a diagram": ('1. e4 (D "See") e5', "1. e4 {Diagram 1: See} 1... e5 *"),
    "a diagram at the start": ('(D "Set up") 1. e4', "{Diagram 1: Set up} 1. e4 *"),
    "a pass is words": (
        "1. e4 e5 (1... -- 2. d4! d5 (2... e6) 3. e5 {good}) 2. Nf3",
        "1. e4 {1...(pass) 2.d4! d5 (2...e6) 3.e5 good} 1... e5 2. Nf3 *",
    ),
    "a pass at the end": ("1. e4 -- 2. d4", "1. e4 {1...(pass) 2.d4} *"),
    "a pass at the start": ("1. -- e5", "{1.(pass) e5} *"),
    "a result is always unknown": ("1. e4 e5 1-0", "1. e4 e5 *"),
    "braces in words": ("1. e4 ; a { brace } here\ne5", "1. e4 {a ( brace ) here} 1... e5 *"),
    "a backslash at the end": ("1. e4 {a\\\\} e5", "1. e4 {a\\ } 1... e5 *"),
    "moves in words": (
        "1. e4 {or [1.d4 d5 2.c4]} e5", "1. e4 {or 1.d4 d5 2.c4} (1. d4 d5 2. c4) 1... e5 *",
    ),
}  # fmt: skip


@pytest.mark.parametrize("moves, expected", CASES.values(), ids=CASES)
def test_movetext(tmp_path, moves, expected):
    made = tiny(tmp_path, line_of(moves))
    assert movetext(pgn_text(made.booklet)) == expected


CONTINUED = (
    "Words in front.\n\nAnd more.\n\n" + line_of("1. e4 {Good.} @king (D) e5 @open (1... c5)")
    + "\nProse in between, [1.e4].\n\n" + line_of("(D) {Now} 2. Nf3 Nc6", "line two from @open")
    + "\n## A heading\n\nBehind it.\n\n" + line_of("1. e4 e5 2. Nc3", "line three")
    + "\nThe end.\n"
)  # fmt: skip
FORMS = {
    "a booklet's own": (
        PgnForm(),
        "{Words in front. And more.} 1. e4 {@king Diagram 1 Good.} 1... e5 {@open Diagram 2 Prose "
        "in between, 1.e4. Now} (1... c5) 2. Nf3 ({Behind it.} 2. Nc3) 2... Nc6 *",
    ),
    "without marks": (
        PgnForm(marks=False),
        "{Words in front. And more.} 1. e4 {Good.} 1... e5 {Prose in between, 1.e4. Now} "
        "(1... c5) 2. Nf3 ({Behind it.} 2. Nc3) 2... Nc6 *",
    ),
}  # fmt: skip


@pytest.mark.parametrize("form, expected", FORMS.values(), ids=FORMS)
def test_a_position_has_one_comment(tmp_path, form, expected):
    """Marks first; the prose right in front of a line goes before its first new move."""
    made = tiny(tmp_path, CONTINUED)
    assert movetext(pgn_text(made.booklet, form)) == expected


def test_prose_in_front_of_known_moves_is_kept(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 e5") + "\nAgain.\n\n" + line_of("1. e4 e5", "line two"))
    assert movetext(pgn_text(made.booklet)) == "{Again.} 1. e4 e5 *"


GUARDED = {
    "a name": ("1. e4 {@king}", "1. e4 { @king} *"),
    "a number": ("1. e4 {Diagram 7 shows it}", "1. e4 { Diagram 7 shows it} *"),
    "behind a mark": ("1. e4 @king {@queen}", "1. e4 {@king - @queen} *"),
    "what is guarded already": ("1. e4 @king {- @queen}", "1. e4 {@king - - @queen} *"),
    "an address is no name": ("1. e4 {@king@example.org Diagram 7, too}",
                              "1. e4 {@king@example.org Diagram 7, too} *"),
}  # fmt: skip


@pytest.mark.parametrize("moves, expected", GUARDED.values(), ids=GUARDED)
def test_words_are_not_taken_for_marks(tmp_path, moves, expected):
    made = tiny(tmp_path, line_of(moves))
    assert movetext(pgn_text(made.booklet)) == expected


def test_passes_as_moves(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 e5 (1... -- {why} 2. d4) 2. Nf3"))
    text = movetext(pgn_text(made.booklet, PgnForm(passes=True)))
    assert text == "1. e4 e5 (1... -- {why} 2. d4) 2. Nf3 *"


def test_one_chapter(made):
    text = pgn_text(made, PgnForm(chapter="2"))
    assert re.findall(r'Round "(.*)"', text) == ["2.1"]
    assert text in pgn_text(made)


def test_tags(made):
    games = re.findall(r"(?:^\[.*\]\n)+", pgn_text(made), re.M)
    assert games[1] == (
        '[Event "A \'tiny\' one: The Scotch; a \'test\' of \\\\ and {braces}"]\n'
        '[Site "?"]\n[Date "2026.01.02"]\n[Round "1.2"]\n[White "?"]\n[Black "?"]\n[Result "*"]\n'
        '[Annotator "Anna Ødegård"]\n[Booklet "A \'tiny\' one"]\n[FEN "8/4P1k1/8/8/8/8/8/4K3 w - - 0 1"]\n[SetUp "1"]\n'
    )
    rounds = [re.search(r'Round "(.*)"', tags).group(1) for tags in games]
    assert rounds == ["1.1", "1.2", "1.E1", "2.1"]


@pytest.mark.parametrize(
    "text, expected",
    {
        "quotes and backslashes": ('a "b" \\c', "a 'b' \\\\c"),
        "line ends": ("a\nb\tc", "a b c"),
        "at most 255 characters (7)": ("x" * 300, "x" * 255),
        "an escape is not cut in two": ("x" * 254 + "\\y", "x" * 254),
    }.values(),
)
def test_tag_value(text, expected):
    assert tag_value(text) == expected


def test_export_format(booklet):
    text = pgn_text(booklet)
    lines = text.split("\n")
    assert text.endswith("*\n\n") and "\n\n\n" not in text
    for line in lines:
        assert len(line) < 80, line  # 8.2.1
        assert line == line.strip() and "\t" not in line
        assert not line.startswith("%")  # 6: would hide the line
    for block in text.strip().split("\n\n")[::2]:
        names = re.findall(r"^\[(\w+) ", block, re.M)
        assert names[:7] == ["Event", "Site", "Date", "Round", "White", "Black", "Result"]  # 8.1.1
        assert names[7:] == sorted(names[7:])
        assert ("FEN" in names) == ("SetUp" in names)  # 9.7


def test_lines_are_as_full_as_can_be(booklet):
    """8.2.1: as many tokens as possible are placed on a line."""
    for block in pgn_text(booklet).strip().split("\n\n")[1::2]:
        lines = block.split("\n")
        for line, following in zip(lines, lines[1:]):
            first = following.split(" ")[0]
            joined = " ".join(following.split(" ")[:2]) if "% " in following else first
            assert len(line) + 1 + len(first) >= 80 or "%" in joined, (line, following)


@pytest.mark.parametrize(
    "tokens, expected",
    {
        "a bracket's inside": (["1.", "e4", "(", "1.", "d4", ")", "*"], "1. e4 (1. d4) *\n"),
        "a bracket at the end of a line": (
            ["x" * 77, "(", "1.", "d4", ")"], "x" * 77 + "\n(1. d4)\n",
        ),
        "a percent sign never begins a line": (
            ["x" * 70, "{one %two}"], "x" * 70 + "\n{one %two}\n",
        ),
        "a word longer than a line": (
            ["{" + "x" * 90 + "}"], "{" + "x" * 78 + "\n" + "x" * 12 + "}\n",
        ),
    }.values(),
)  # fmt: skip
def test_wrapped(tokens, expected):
    assert wrapped(tokens) == expected


# --- read back by others ------------------------------------------------------------------------


def our_positions(booklet: Booklet) -> list[set[str]]:
    """The FEN after every move, for each game: passes and what follows them left out. Cited games
    are each a game of its own behind what the chapter teaches."""
    games = []
    for chapter in booklet.chapters:
        games += trees_positions(line for line in chapter.lines if line.is_taught)
        for cited in chapter.games:
            games += trees_positions((cited.line,))
        games += [{ply.after.fen for ply in exercise.solution.plies()}
                  for exercise in chapter.exercises]  # fmt: skip
    return games


def trees_positions(lines: Iterable[Line]) -> Iterator[set[str]]:
    for tree in move_trees(lines):
        found, hidden = set(), None
        for node, depth in tree.walk():
            if hidden is not None and depth > hidden:
                continue
            hidden = depth if node.ply.is_pass else None
            if hidden is None:
                found.add(node.ply.after.fen)
        yield found


def read_games(text: str) -> list[chess.pgn.Game]:
    handle = io.StringIO(text)
    games = list(iter(lambda: chess.pgn.read_game(handle), None))
    assert [game.errors for game in games] == [[]] * len(games)
    return games


def game_nodes(game: chess.pgn.Game):
    stack = [game]
    while stack:
        node = stack.pop()
        stack.extend(node.variations)
        if node.parent is not None:
            yield node


def test_chess_reads_the_same_positions(booklet):
    games = read_games(pgn_text(booklet))
    read = [{node.board().fen(en_passant="fen") for node in game_nodes(game)} for game in games]
    assert read == our_positions(booklet)
    named = {
        name: node.board().fen(en_passant="fen")
        for game in games
        for node in game_nodes(game)
        for name in re.findall(r"@([\w-]+)", node.comment)
    }
    cited = {ply.anchor for game in booklet.games for ply in game.line.plies()}
    behind_moves = {name: named for name, named in booklet.names.items()
                    if named.ply is not None and named.ply.anchor not in cited}  # fmt: skip
    assert named == {name: found.position.fen for name, found in behind_moves.items()}


def test_words_that_latin_1_lacks(made):
    games = read_games(pgn_text(made))
    assert "Żółć — “quotes”" in games[3].end().comment


def test_kokopu_reads_the_same_positions(booklet, program, node_package):
    """Placement, turn, castling, and en passant where it is legal, as kokopu writes it."""
    read = says(program, node_package("kokopu"), KOKOPU, pgn_text(booklet))

    def plain(fens):
        return {chess.Board(fen).epd(en_passant="legal") for fen in fens}

    assert [plain(fens) for fens in read] == [plain(fens) for fens in our_positions(booklet)]


def test_chess_js_reads_the_same_main_moves(booklet, program, node_package):
    text = pgn_text(booklet)
    games = re.findall(r"\[Event.*?\n\n.*?\n\n", text, re.S)
    read = says(program, node_package("chess.js"), CHESS_JS, json.dumps(games))
    expected = [
        [node.board().fen(en_passant="legal") for node in game.mainline()]
        for game in read_games(text)
    ]
    assert read == expected


# --- the standard's own sample --------------------------------------------------------------------

# PGN standard, section 2.3: the sample game, its moves.
SAMPLE = STANDARD.partition("\n\n")[2]


def test_the_standards_sample_game(tmp_path):
    """Its moves are read, and written again token for token with the standard's line breaks."""
    made = tiny(tmp_path, line_of(SAMPLE.strip()))
    assert made.faults == (), made.told()
    assert pgn_text(made.booklet).split("\n\n")[1] == SAMPLE.strip().replace("1/2-1/2", "*")
    game = chess.pgn.read_game(io.StringIO(SAMPLE))
    ours = [ply.after.fen for ply in made.chapter.lines[0].plies()]
    assert ours == [node.board().fen(en_passant="fen") for node in game.mainline()]


# PGN standard, section 16.1.4: the FEN of the initial position and after 1. e4, 1... c5, 2. Nf3.
STANDARD_FENS = (
    "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
    "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq e3 0 1",
    "rnbqkbnr/pp1ppppp/8/2p5/4P3/8/PPPP1PPP/RNBQKBNR w KQkq c6 0 2",
    "rnbqkbnr/pp1ppppp/8/2p5/4P3/5N2/PPPP1PPP/RNBQKB1R b KQkq - 1 2",
)


def test_the_standards_sample_fens(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 c5 2. Nf3"))
    plies = list(made.chapter.lines[0].plies())
    assert (plies[0].before.fen, *(ply.after.fen for ply in plies)) == STANDARD_FENS


@pytest.mark.parametrize("levels", [150, 1500])
def test_very_deep(tmp_path, levels):
    """1. Nc3 (1. Nh3 Nc6 (1... Nh6 2. Nc3 (2. Ng1 … is more than Python's stack would carry."""
    shuffle = ("Nh3", "Nh6", "Ng1", "Ng8")
    opened = (f"{('Nc3', 'Nc6')[level % 2]} ({shuffle[level % 4]} " for level in range(levels))
    made = tiny(tmp_path, line_of("".join(opened) + ")" * levels))
    assert made.faults == (), made.told()[:300]
    text = pgn_text(made.booklet)
    assert max(map(len, text.split("\n"))) < 80
    assert text.count("(") == text.count(")") == levels
    if levels > 150:
        return  # the reader takes a time that grows with the square
    (node,) = read_games(text)
    depth = 0
    while node.variations:
        node, depth = node.variations[-1], depth + 1
    assert depth == levels
