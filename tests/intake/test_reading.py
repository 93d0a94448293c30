"""PGN read: what the standard says, what real files hold, and every fault at its place.

Section numbers are those of the PGN standard (revision of 1994-03-12), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from intake.reading_back import read, shown

from builder.intake.play import Budget

MOVES = {
    "numbers": ("1. e4 e5 2. Nf3 *", "e4 e5 Nf3"),
    "numbers are optional, and so are dots (8.2.2.1)": ("e4 1 e5 2 Nf3 *", "e4 e5 Nf3"),
    "numbers stick to moves": ("1.e4 e5 2.Nf3 2...Nc6 *", "e4 e5 Nf3 Nc6"),
    "dots apart": ("1 . e4 1 . . . e5 2.. Nf3 *", "e4 e5 Nf3"),
    "zeros in castling": ("1. Nf3 Nf6 2. g3 g6 3. Bg2 Bg7 4. 0-0 o-o *",
                          "Nf3 Nf6 g3 g6 Bg2 Bg7 O-O O-O"),
    "a pawn's letter (8.2.3.2)": ("1. Pe4 Pe7-e5 *", "e4 e5"),
    "long forms": ("1. Ng1-f3 d7d5 2. e2-e4 d5:e4 *", "Nf3 d5 e4 dxe4"),
    "UCI": ("g1f3 d7d5 e2e4 d5e4 e1e2 *", "Nf3 d5 e4 dxe4 Ke2"),
    "checks not signed, or signed too much": ("1. e4 f6 2. Qh5++ g6 *", "e4 f6 Qh5+ g6"),
    "en passant told": ("1. e4 a6 2. e5 d5 3. exd6 e.p. cxd6 4. a3 *", "e4 a6 e5 d5 exd6 cxd6 a3"),
    "en passant glued": ("1. e4 a6 2. e5 d5 3. exd6e.p. *", "e4 a6 e5 d5 exd6"),
    "signs (8.2.3.8)": ("1. e4! e5?? 2. Nf3!? Nc6?! *", "e4 $1 e5 $4 Nf3 $5 Nc6 $6"),
    "NAGs (8.2.4)": ("1. e4 $1 $14 e5 $0 *", "e4 $1 $14 e5"),
    "the same NAG twice": ("1. e4 $1 ! *", "e4 $1"),
    "signs in print": ("1. e4= e5 += 2. Nf3+- Nc6 ∞ *", "e4 $10 e5 $14 Nf3 $18 Nc6 $13"),
    "variations (8.2.5)": ("1. e4 (1. d4 d5 (1... Nf6)) (1. c4) e5 *",
                           "e4 (d4 d5 (Nf6)) (c4) e5"),
    "what stands twice is one": ("1. e4 (1. e4 c5) (1. d4) (1. d4 d5) e5 *",
                                 "e4 (d4 d5) c5 (e5)"),
    "comments (5)": ("{a} 1. e4 {b  c\n d} e5 ; the rest } ( of it\n2. Nf3 *",
                     "{a} e4 {b c d} e5 {the rest } ( of it} Nf3"),
    "braces don't nest (5)": ("1. e4 {a { b} e5 *", "e4 {a { b} e5"),
    "several comments": ("1. e4 {a} {b} {a} e5 *", "e4 {a b} e5"),
    "a comment behind a variation": ("1. e4 {a} (1. d4) {b} e5 *", "e4 {a b} (d4) e5"),
    "a comment before a variation's moves": ("1. e4 ({or} 1. d4) e5 *", "e4 ({or} d4) e5"),
    "a comment behind the result": ("1. e4 * {the end}", "e4 {the end}"),
    "words alone in a variation": ("1. e4 ({only words}) e5 *", "e4 {only words} e5"),
    "an escaped line (6)": ("1. e4\n% 2. d4 {\ne5 *", "e4 e5"),
    "a percent sign elsewhere": ("1. e4 {50 % of it\n%more} e5 *", "e4 {50 % of it %more} e5"),
    "a semicolon in a comment": ("1. e4 {a; b} e5 *", "e4 {a; b} e5"),
    "passes": ("1. e4 -- 2. d4 (2. Z0 e5) *", "e4 -- d4 (-- e5)"),
    "commands for programs": ("1. e4 {[%clk 0:01:00] good [%eval 0.3]} {[%x]} e5 *",
                              "e4 {good} e5"),
    "results inside": ("1. e4 (1. d4 *) e5 1-0", "e4 (d4) e5"),
    "an unfinished game": ("1. e4 e5 2. Nf3", "e4 e5 Nf3"),
    "no space round brackets": ("1.e4(1.d4{x}d5)1...e5{y}*", "e4 (d4 {x} d5) e5 {y}"),
    "promotions": ('[FEN "8/P6k/8/8/8/8/8/K7 w - - 0 1"]\n\n1. a8Q (1. a8=R) (1. a8(B)) (1. a8=n) *',
                   "a8=Q (a8=R) (a8=B) (a8=N)"),
    "control codes and turned text": ("1. e4 {a\x07b \u202ec\ue000} *", "e4 {a b c\ufffd}"),
}  # fmt: skip


@pytest.mark.parametrize("text, expected", MOVES.values(), ids=MOVES)
def test_movetext(text, expected):
    (game,) = read(text).games
    assert shown(game.tree) == expected


FILES = {
    "UTF-8": ("1. e4 {Żółć – ok} *".encode(), "Żółć – ok"),
    "with a mark of order": ("\ufeff1. e4 {é} *".encode(), "é"),
    "Latin-1 (4.1)": ("1. e4 {Château, naïf} *".encode("latin-1"), "Château, naïf"),
    "Windows-1252": ("1. e4 {“so” – €} *".encode("cp1252"), "“so” – €"),
    "both": (b"1. e4 {caf\xe9}\n{caf\xc3\xa9s} *", "café cafés"),
    "UTF-16": ("1. e4 {Żółć}\r\n *".encode("utf-16"), "Żółć"),
    "UTF-16, big end first": ("\ufeff1. e4 {Żółć} *".encode("utf-16-be"), "Żółć"),
    "UTF-16 without a mark": (f"1. e4 {{{'Żółć ' * 4_000}}} *".encode("utf-16-le"),
                              ("Żółć " * 4_000).strip()),
    "CR alone": (b"1. e4 {a\rb}\r*", "a b"),
    "CR LF": (b"1. e4\r\n{a\r\nb}\r\n*", "a b"),
    "a long line": (b"1. e4 {" + b"word " * 2000 + b"} *", " ".join(["word"] * 2000)),
}


@pytest.mark.parametrize("data, expected", FILES.values(), ids=FILES)
def test_encodings(data, expected):
    (game,) = read(data).games
    assert game.tree.root.children[0].comment == expected
    assert not [fault for fault in read(data).faults if fault.severity.word != "notice"]


SPLITS = {
    "by tags": ('[Event "a"]\n\n1. e4 *\n\n[Event "b"]\n\n1. d4 *\n', ["e4", "d4"]),
    "without an empty line": ('[Event "a"]\n1. e4 *\n[Event "b"]\n1. d4 *', ["e4", "d4"]),
    "an empty line inside tags": ('[Event "a"]\n\n[White "x"]\n\n1. e4 *', ["e4"]),
    "an empty line inside moves": ("1. e4\n\ne5 *", ["e4 e5"]),
    "no tags at all": ("1. e4 *\n\n1. d4 1-0\n\n1. c4 *", ["e4", "d4", "c4"]),
    "several on a line": ("1. e4 * 1. d4 *", ["e4", "d4"]),
    "tags alone": ('[Event "a"]\n\n[Event "b"]\n\n1. d4 *', ["", "d4"]),
    "all in one line": ('[Event "a"] [White "b"] 1. e4 *', ["e4"]),
    "a tag in a comment": ('1. e4 {\n[Event "x"]\n} e5 *', ["e4 {[Event \"x\"]} e5"]),
    "a comment left open": ('1. e4 {oh\n\n[Event "b"]\n\n1. d4 *', ["e4 {oh}", "d4"]),
    "an end of file mark": ("1. e4 *\n\x1a", ["e4"]),
}  # fmt: skip


@pytest.mark.parametrize("text, expected", SPLITS.values(), ids=SPLITS)
def test_games(text, expected):
    assert [shown(game.tree) for game in read(text).games] == expected


TAGS = {
    "plain": ('[White "Anna"]', "Anna"),
    "spaces": ('  [ White   "Anna" ]  ', "Anna"),
    "escapes (7)": (r'[White "A \"b\" \\ c"]', 'A "b" \\ c'),
    "quotes left as they are": ('[White "A "b" c"]', 'A "b" c'),
    "no quotes": ("[White Anna B]", "Anna B"),
    "left open": ('[White "Anna', "Anna"),
    "nobody known": ('[White "?"]', ""),
    "braces": ('[White "{a}"]', "{a}"),
    "a line end is told by nothing": ('[White "a\tb"]', "a b"),
}


@pytest.mark.parametrize("line, expected", TAGS.values(), ids=TAGS)
def test_tags(line, expected):
    (game,) = read(f"{line}\n\n1. e4 *").games
    assert game.raw.tag("White") == expected
    assert shown(game.tree) == "e4"


# --- faults ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Case:
    """`marked` is the text under the caret, in the given line; `left` what could be read."""

    name: str
    text: str | bytes
    code: str
    line: int
    marked: str
    message: str
    hint: str = ""
    left: str | None = None


FEN = '[FEN "{}"]\n\n1. e4 *'
CASES = (
    Case("illegal", "1. e4 e5\n2. Nd5 Nc6 *", "move-illegal", 2, "Nd5",
         "Nd5 is not legal after 1...e5", "White's knights can reach", "e4 e5"),
    Case("ambiguous", "1. Nf3 d5 2. d3 d4\n3. Nd2 *", "move-ambiguous", 2, "Nd2", "is ambiguous",
         "write Nbd2 or Nfd2", "Nf3 d5 d3 d4"),
    Case("in a variation", "1. e4 (1. d5 e5) (1. c4) e5 *", "move-illegal", 1, "d5", "d5 is not legal",
         "", "e4 (c4) e5"),
    Case("another language", "1. e4 e5 2. Sf3 *", "move-syntax", 1, "Sf3", "Sf3 is not a move",
         "English letters", "e4 e5"),
    Case("another game's move", "1. e4 e5 2. N@f3 *", "move-syntax", 1, "N@f3", "is not a move",
         "", "e4 e5"),
    Case("a word", "1. e4 foo e5 *", "pgn-text", 1, "foo", "foo has no meaning here",
         "words stand in braces", "e4 e5"),
    Case("a wrong number", "1. e4 e5 3. Nf3 *", "move-number", 1, "3.",
         "move number 3. is wrong after 1...e5", "it should be 2.", "e4 e5 Nf3"),
    Case("the other side's number", "1. e4 2. e5 *", "move-number", 1, "2.", "is wrong",
         "it should be 1...", "e4 e5"),
    Case("an open variation", "1. e4 (1. d4\n(1. c4 *", "variation-open", 1, "(",
         "this variation is never closed, nor are 1 inside it", "put )", "e4 (d4) (c4)"),
    Case("a stray bracket", "1. e4 ) e5 *", "variation-close", 1, ")", "no variation is open",
         "", "e4 e5"),
    Case("a variation of nothing", "(1. d4) 1. e4 *", "variation-place", 1, "(",
         "this variation replaces no move", "", "e4"),
    Case("an empty variation", "1. e4 () e5 *", "variation-empty", 1, "()", "has no moves", "",
         "e4 e5"),
    Case("an open comment", "1. e4\n{oh e5 *", "comment-open", 2, "{", "never closed", "put }",
         "e4 {oh e5 *}"),
    Case("a stray brace", "1. e4 } e5 *", "pgn-text", 1, "}", "has no meaning", "", "e4 e5"),
    Case("no NAG", "1. e4 $256 e5 $ *", "nag", 1, "$256", "$256 is no NAG", "$0 to $255", "e4 e5"),
    Case("no sign", "1. e4!!! *", "nag", 1, "!!!", "!!! is no move sign", "signs:", "e4"),
    Case("a sign behind nothing", "! 1. e4 *", "nag-place", 1, "!", "stands behind no move", "",
         "e4"),
    Case("a pass in check", "1. e4 f6 2. Qh5+ -- *", "pass-check", 1, "--", "can't pass", "",
         "e4 f6 Qh5+"),
    Case("no FEN", FEN.format("8/8/8 w"), "fen", 1, '[FEN "8/8/8 w"]', "not a FEN"),
    Case("no king", FEN.format("8/8/8/8/8/8/8/K7 w - - 0 1"), "fen", 1,
         '[FEN "8/8/8/8/8/8/8/K7 w - - 0 1"]', "Black has no king"),
    Case("castling that can't be", FEN.format("4k3/8/8/8/4P3/8/8/4K3 b KQkq - 0 1"), "fen", 1,
         '[FEN "4k3/8/8/8/4P3/8/8/4K3 b KQkq - 0 1"]', "castling right without king and rook"),
    Case("other rules", '[Event "x"]\n[Variant "Atomic"]\n\n1. e4 *', "pgn-variant", 2,
         '[Variant "Atomic"]', "other rules (Atomic)"),
    Case("a bad tag", '[Event "x"]\n  [White "x]\n\n1. e4 *', "pgn-tag", 2, '[White "x]',
         "White is read as far as it goes", r"quotes inside as \"", "e4"),
    Case("no tag", '[Event "x"]\n[-- x]\n\n1. e4 *', "pgn-tag", 2, "[-- x]", "no tag pair", "", "e4"),
    Case("a tag twice", '[Event "x"]\n[White "a"]\n[White "b"]\n\n1. e4 *', "pgn-tag", 3,
         '[White "b"]', "given twice", "", "e4"),
    Case("cut off", '[Result "1-0"]\n\n1. e4 e5\n2. Nf3', "pgn-end", 4, "3",
         "without the result", "cut off", "e4 e5 Nf3"),
    Case("binary", b"PK\x03\x04\0\0\0", "pgn-binary", 1, "", "not text", "unpack"),
    Case("bytes of zero in it", b"1. e4 " + b" " * 5000 + b"\0\0 e5 *", "not-kept", 1, "", "no text",
         "", "e4 e5"),
    Case("a long comment", "1. e4 {" + "x " * 20_000 + "} *", "pgn-large", 1, "", "longer than 20,000"),
    Case("a deep variation", "1. e4 " + "(1. d4 (1. e4 " * 1500 + "*", "pgn-large", 1, "",
         "nested more than 2,000 deep"),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_faults(case):
    done = read(case.text)
    (fault,) = [fault for fault in done.faults if fault.code == case.code][:1]
    assert case.message in fault.message and case.hint in fault.hint, done.told()
    assert fault.place.line == case.line and fault.place.file == "x.pgn"
    if case.marked:
        line = case.text.split("\n")[case.line - 1]
        assert line[fault.place.column - 1 : fault.place.end_column - 1] == case.marked
        assert fault.excerpt in (line, "")
    if case.left is not None:
        assert shown(done.games[0].tree) == case.left


def test_places_in_later_games_and_long_lines():
    """Lines count through the file; a line that is read in pieces keeps its columns."""
    text = "1. e4 *\n\n" * 3 + "1. e4 {" + "x" * (3 << 20) + "} e4 *"
    (fault,) = [fault for fault in read(text).faults if fault.code == "move-illegal"]
    assert (fault.place.line, fault.place.column) == (7, (3 << 20) + 10)


def test_no_more_is_told_than_anybody_reads():
    done = read("1. e4 " + "foo " * 5000)
    assert done.codes().count("pgn-text") == 100
    assert "4,900 more faults of this file are not told" in done.told()


BOUNDS = {
    "moves of a game": (Budget(moves=3), "1. e4 e5 2. Nf3 Nc6 3. Bb5 *", "e4 e5 Nf3"),
    "half-moves of lines": (Budget(plies=2), "1. e4 (1. d4 d5 2. c4) e5 (1... c5 2. c3) 2. Nf3 *",
                            "e4 (d4 d5) e5 (c5)"),
    "half-moves from a given start": (
        Budget(plies=1), '[FEN "4k3/8/8/8/8/8/4P3/4K3 w - - 0 30"]\n\n30. e4 Kd7 *', "e4"),
}  # fmt: skip


@pytest.mark.parametrize("budget, text, expected", BOUNDS.values(), ids=BOUNDS)
def test_bounds(budget, text, expected):
    (game,) = read(text, budget).games
    assert shown(game.tree) == expected
