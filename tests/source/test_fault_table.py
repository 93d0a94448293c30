"""Every fault that reading and playing can tell: place, code, reason and remedy."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from tiny import line_of, tiny

FEN_NO_KING = "8/8/8/8/8/8/8/K7 w - - 0 1"
SCOTCH = "1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4"


@dataclass(frozen=True)
class Case:
    """`marked` is the text under the caret, the first one after `behind` in the chapter."""

    name: str
    chapter: str
    code: str
    marked: str
    message: str
    hint: str = ""
    behind: str = ""


CASES = (
    # --- moves
    Case("illegal", line_of("1. e4 e5 2. Nd5"), "move-illegal", "Nd5",
         "Nd5 is not legal after 1...e5", "White's knights can reach: Na3 Nc3 Ne2 Nf3 Nh3"),
    Case("illegal near", line_of("1. e4 e5 2. Nf4"), "move-illegal", "Nf4", "Nf4 is not legal",
         "did you mean Nf3?"),
    Case("another piece", line_of("1. Bf3"), "move-illegal", "Bf3", "not legal",
         "did you mean Nf3"),
    Case("illegal at the start", line_of("1. e5"), "move-illegal", "e5", "not legal at the start"),
    Case("other side", line_of("1. e4 Nf3"), "move-illegal", "Nf3", "not legal after 1.e4",
         "it is Black's move here; Nf3 would be White's"),
    Case("into check", line_of("1. e4 e5 2. Nf3 Qh4 3. Nc3 Qxf2+ 4. Bd3"), "move-illegal", "Bd3",
         "not legal after 3...Qxf2+", "White's king on e1 is in check from Qf2"),
    Case("pinned", line_of("1. e4 e5 2. d3 Bb4+ 3. Nc3 d6 4. Nd5"), "move-illegal", "Nd5",
         "not legal", "it would leave White's king on e1 in check"),
    Case("castling in the way", line_of("1. e4 e5 2. O-O"), "move-illegal", "O-O", "not legal",
         "Bf1, Ng1 stands in the way"),
    Case("castling lost", line_of("1. e4 e5 2. Ke2 d6 3. Ke1 d5 4. Nf3 d4 5. Be2 a6 6. O-O"),
         "move-illegal", "O-O", "not legal", "White has lost the right to castle kingside"),
    Case("no such piece", line_of("1. Qe9"), "move-syntax", "Qe9", "Qe9 is not a move"),
    Case("ambiguous", line_of("1. Nf3 d5 2. d3 d4 3. Nd2"), "move-ambiguous", "Nd2",
         "Nd2 is ambiguous after 2...d4", "write Nbd2 or Nfd2"),
    Case("not a move", line_of("1. e4 e5 2. Nff"), "move-syntax", "Nff", "Nff is not a move"),
    Case("German letters", line_of("1. Sf3"), "move-syntax", "Sf3", "not a move",
         "English letters"),
    Case("square off the board", line_of("1. e4 e5 2. Nf9"), "move-syntax", "Nf9", "not a move",
         "squares are a1 to h8"),
    Case("letters changed round", line_of("1. e4 d5 2. edx5"), "move-syntax", "edx5", "not a move",
         "did you mean exd5?"),
    Case("unseen letter", line_of("1. e\u200b4 e5"), "move-syntax", "e\u200b4", "not a move",
         "write e4: an unseen zero width space stands in it"),
    Case("Cyrillic letter", line_of("1. \u04354 e5"), "move-syntax", "\u04354", "not a move",
         "write e4: cyrillic small letter ie"),
    Case("figurine", line_of("1. ♘f3 d5"), "move-syntax", "♘f3", "not a move", "write Nf3"),
    Case("dash in castling", line_of("1. e4 e5 2. O–O"), "move-syntax", "O–O", "not a move",
         "write O-O: en dash"),
    Case("curly quotes", line_of("1. e4 (D “centre”)"), "diagram-word", "“centre”",
         "no meaning", "write straight quotation marks"),
    Case("curly quotes round a FEN", "```diagram “8/8/8/8/8/k7/8/K6R w - - 0 1”\n```\n", "diagram-start",
         "diagram “8/8/8/8/8/k7/8/K6R w - - 0 1”", "needs a position", "straight quotation marks"),
    Case("picture that is a folder", "![a](chapters)\n", "file-missing", "![a]", "no picture chapters",
         "chapters is a folder"),
    Case("small letter", line_of("1. nf3"), "move-syntax", "nf3", "not a move",
         "did you mean Nf3?"),
    Case("wrong number", line_of("1. e4 e5 3. Nf3"), "move-number", "3.",
         "move number 3. is wrong after 1...e5", "it should be 2."),
    Case("variation in the wrong place", line_of("1. e4 e5 2. Nf3 Nc6 (1... c5 2. c3)"),
         "move-number", "1...", "this variation replaces 2...Nc6", "put the variation behind"),
    Case("number of the wrong side", line_of("1. e4 1. e5"), "move-number", "1.", "is wrong",
         "it should be 1...", behind="1. e4 "),
    Case("check that is none", line_of("1. e4+"), "move-sign", "e4+", "e4+ gives no check",
         "write e4"),
    Case("capture that is none", line_of("1. Nxf3"), "move-sign", "Nxf3", "takes nothing",
         "write Nf3"),
    Case("mate that is none", line_of("1. f3 e5 2. Nh3 Qh4#"), "move-sign", "Qh4#",
         "Qh4# gives check", "write Qh4+"),
    Case("pass in check", line_of("1. e4 e5 2. Nf3 d6 3. Bb5+ --"), "pass-check", "--",
         "a side in check can't pass after 3.Bb5+"),
    # --- movetext
    Case("open variation", line_of("1. e4 (1. d4 d5"), "variation-open", "(", "never closed"),
    Case("stray bracket", line_of("1. e4) e5"), "variation-close", ")", "no variation is open"),
    Case("variation before moves", line_of("(1. d4) 1. e4"), "variation-place", "(",
         "replaces no move"),
    Case("empty variation", line_of("1. e4 () e5"), "variation-empty", "(", "has no moves"),
    Case("open comment", line_of("1. e4 {never"), "comment-open", "{", "never closed"),
    Case("bad NAG", line_of("1. e4 $256"), "nag", "$256", "$256 is no NAG"),
    Case("bad sign", line_of("1. e4 !!!"), "nag", "!!!", "!!! is no move sign"),
    Case("sign before moves", line_of("! 1. e4"), "nag-place", "!", "behind no move"),
    Case("result inside", line_of("1. e4 1-0 e5"), "result-place", "1-0", "at the end"),
    Case("PGN tag", line_of('[Event "x"] 1. e4'), "movetext", "[Event", "no place in a line"),
    Case("stray brace", line_of("1. e4 } e5"), "movetext", "}", "no meaning"),
    Case("lone at", line_of("1. e4 @ e5"), "name-syntax", "@", "a name must follow"),
    Case("name in front of a variation's moves", line_of("1. e4 (@x 1. d4)"), "name-place", "@x",
         "stands behind no move"),
    Case("name twice", line_of("1. e4 @x e5 @x"), "name-twice", "@x", "given twice",
         "chapters/1.md:2:7", behind="e5 "),
    Case("empty line", line_of(""), "line-empty", "line main", "has no moves"),
    # --- diagrams
    Case("no square", line_of("1. e4 (D key e9)"), "square", "e9", "e9 is not a square"),
    Case("path of one", line_of("1. e4 (D plan e4)"), "mark-path", "e4",
         "plan goes from square to square", behind="plan "),
    Case("path for key", line_of("1. e4 (D key e4-e5)"), "mark-square", "e4-e5",
         "key takes single squares"),
    Case("empty mark", line_of("1. e4 (D threat)"), "mark-empty", "threat", "threat needs squares"),
    Case("label without text", line_of("1. e4 (D label e4)"), "mark-empty", "label",
         "needs a square and a text"),
    Case("long label", line_of('1. e4 (D label e4 "a very long label")'), "mark-label",
         '"a very long label"', "1 to 12 characters"),
    Case("unknown word", line_of("1. e4 (D flop)"), "diagram-word", "flop", "no meaning",
         "did you mean flip?"),
    Case("two captions", line_of('1. e4 (D "one" "two")'), "diagram-caption", '"two"',
         "one caption"),
    Case("open diagram", line_of("1. e4 (D flip"), "diagram-open", "(D", "never closed"),
    Case("open caption", line_of('1. e4 (D "flip) e5'), "diagram-open", "(D", "quote"),
    Case("mark from an empty square", line_of("1. e4 (D plan a3-a4)"), "mark-start",
         "(D plan a3-a4)", "starts at a3, which is empty"),
    Case("diagram without position", '```diagram "caption\n```\n', "diagram-start",
         'diagram "caption', "needs a position"),
    # --- starts
    Case("unknown start", line_of("1. e4", "line x from @nowhere"), "name-unknown", "@nowhere",
         "no position is named nowhere"),
    Case("from nothing", line_of("1. e4", "line x from"), "line-start", "from", "needs a position"),
    Case("not a FEN", line_of("1. e4", 'line x from "rubbish"'), "fen", "rubbish", "not a FEN"),
    Case("impossible FEN", line_of("1. Kb1", f'line x from "{FEN_NO_KING}"'), "fen", FEN_NO_KING,
         "Black has no king"),
    Case("header", line_of("1. e4", "line x y"), "block-header", "y", "no meaning", behind="line x "),
    Case("line twice", line_of("1. e4") + line_of("1. d4"), "line-twice", "line main",
         "two lines named main", behind="e4"),
    # --- the prose
    Case("moves nowhere", "See [4...Bc5].", "moves-nowhere", "4...Bc5", "Black's move 4"),
    Case("illegal in prose", line_of(SCOTCH) + "\nNow [4...Bc6].", "move-illegal", "Bc6",
         "not legal after 4.Nxd4"),
    Case("unknown line", line_of(SCOTCH) + "\nNow [mian: 4...Bc5].", "line-unknown",
         "mian: 4...Bc5", "no line named mian", "did you mean main?"),
    Case("number in prose", line_of(SCOTCH) + "\nNow [4...Bc5 6.Be3].", "move-number", "6.",
         "is wrong", "it should be 5."),
    Case("brackets in brackets", line_of("1. e4 @a") + "[" * 22 + "x" + "](@a)" * 22, "brackets-deep", "[x](@a)",
         "more than 20 deep", "close each bracket"),
    Case("looks like moves", line_of(SCOTCH) + "\nNow [4...Bc5 Bcc].", "moves-plain", "Bcc",
         "stays text"),
    Case("unknown position", "See [@nowhere].", "name-unknown", "@nowhere", "no position"),
    Case("unknown position, near", line_of("1. e4 @key") + "\n[@kay]", "name-unknown", "@kay",
         "named kay", "did you mean key?"),
    Case("unknown position in words", "See [this](@nowhere).", "name-unknown", "@nowhere",
         "no position"),
    Case("position with more", line_of("1. e4 @key") + "\n[this](@key flip)", "position-link",
         "@key flip", "not a position's name"),
    Case("link that runs code", "[x](javascript:alert(1))", "link", "[x]", "can't go to"),
    Case("link to a file", "[x](/etc/passwd)", "link", "[x]", "can't go to"),
    Case("link to no chapter", "[x](9.md)", "link", "[x]", "no chapter 9.md"),
    Case("remote picture", "![x](https://example.org/x.png)", "picture-remote",
         "![x]", "must be a file"),
    Case("picture outside", "![x](../../x.png)", "file-outside", "![x]", "outside"),
    Case("no picture", "![x](images/x.png)", "file-missing", "![x]", "no picture images/x.png"),
    Case("a picture that can't be", f"![x]({'a' * 300}.png)", "file-missing", "![x]",
         "no picture aaa"),
    Case("no footnote", "word[^9]", "footnote", "[^9]", "no footnote 9"),
    Case("footnote in a comment", line_of("1. e4 {king[^1]} e5") + "\n[^1]: x\n", "footnote",
         "[^1]", "can't be marked in a comment"),
    Case("footnote in an exercise",
         "```exercise e1\ntask: Move.[^1]\n\n [^1]: x\nsolution: 1. e4\n```\n",
         "footnote", "[^1]", "or an exercise"),
    Case("HTML", "some <b>words</b>", "html", "<b>", "as it stands"),
    # --- exercises and blocks of later days
    Case("exercise without task", "```exercise e1\nsolution: 1. e4\n```\n", "exercise-field",
         "exercise e1", "no task"),
    Case("exercise without solution", "```exercise e1\ntask: do\n```\n", "exercise-field",
         "exercise e1", "no solution"),
    Case("exercise without name", "```exercise\ntask: do\nsolution: 1. e4\n```\n", "exercise-id",
         "exercise", "needs a name"),
    Case("exercise with two tasks", "```exercise e1\ntask: a\ntask: b\nsolution: 1. e4\n```\n",
         "exercise-field", "task", "two of task", behind="task: a\n"),
    Case("words in an exercise", "```exercise e1\nwords\ntask: a\nsolution: 1. e4\n```\n",
         "block-header", "words", "no meaning"),
    Case("illegal solution", "```exercise e1\ntask: a\nsolution: 1. e5\n```\n", "move-illegal",
         "e5", "e5 is not legal"),
    Case("part with a slip", "```exercise e1\ntask: a\nhnt: b\nsolution: 1. e4\n```\n",
         "exercise-field", "hnt", "begins no part", "did you mean hint?"),
    Case("block with a slip", "```lines main\nx\n```\n", "fence-code", "lines main",
         "printed as it stands", "did you mean line?"),
    Case("block of moves", "```moves\n1. e4 e5\n```\n", "fence-code", "moves",
         "printed as it stands", "begins with ```line"),
    Case("block of moves without a name", "> ```\n> 1.e4 e5\n> ```\n", "fence-code", "> ```",
         "printed as it stands", "begins with ```line"),
    Case("open block", "```line main\n1. e4 e5\n\n# More\n\nWords [1.e4].\n", "fence-open",
         "line main", "never closed", "put a line ```"),
    Case("open bracket", line_of("1. e4 e5") + "See [1.e4 and so on.\n", "moves-plain", "[1.e4",
         "never closed", "put ]"),
    # --- front matter
    Case("front matter between dashes", "---\ntitle: x\n---\n", "front-dashes", "---",
         "between lines +++", "title = "),
    Case("open front matter", "+++\ntitle = 'x'\n", "front-open", "+++", "never closed"),
    Case("deep TOML", f"+++\ntitle = {'[' * 3000}{']' * 3000}\n+++\n", "toml", "t",
         "nested too deep", behind="+++\n"),
    Case("a number without end", f"+++\nx = 1\ntitle = {'9' * 5000}\n+++\n", "toml", "9",
         "too many digits"),
    Case("bad TOML", "+++\ntitle = \n+++\n", "toml", None, "not valid TOML"),  # type: ignore
    Case("words without quotes", "+++\ntitle = The Pin\n+++\n", "toml", "T", "not valid TOML",
         "text stands in straight quotes", behind="= "),
    Case("a key given twice", "+++\ntitle = 'a'\ntitle = 'b'\n+++\n", "toml", None,  # type: ignore
         "not valid TOML", "each key may stand once"),
    Case("a number for text", "+++\nsummary = 2\n+++\n", "settings-type", "summary",
         "must be text in quotes", 'write summary = "2"'),
    Case("unknown key", "+++\ntitel = 'x'\n+++\n", "settings-key", "titel", "unknown key titel",
         "did you mean title?"),
    Case("wrong type", "+++\ndraft = 'yes'\n+++\n", "settings-type", "draft", "true or false"),
    Case("bad side", "+++\nside = 'red'\n+++\n", "settings-value", "side", "can't be 'red'"),
    Case("bad ECO", "+++\neco = 'Z99'\n+++\n", "settings-value", "eco", "can't be 'Z99'"),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_fault(case: Case, tmp_path):
    made = tiny(tmp_path, case.chapter)
    assert made.codes() == [case.code], made.told()
    fault = made.faults[0]
    assert case.message in fault.message
    assert case.hint in fault.hint
    if case.marked is None:
        return
    behind = case.chapter.index(case.behind) + len(case.behind)
    at = case.chapter.index(case.marked, behind)
    before = case.chapter[:at]
    marked = case.marked.split("\n")[0]
    assert fault.place.file == "chapters/1.md"
    assert fault.place.line == before.count("\n") + 1
    assert fault.place.column == at - before.rfind("\n")
    assert fault.place.end_column - fault.place.column == len(marked)


def test_text_form(tmp_path):
    """The printed form of the contract, to the letter."""
    made = tiny(tmp_path, line_of("1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nd5"))
    assert made.told() == (
        "chapters/1.md:2:35: error: Nd5 is not legal after 3...exd4\n"
        "  1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nd5\n"
        "                                    ^^^ White's knights can reach: "
        "Na3 Nbd2 Nc3 Ne5 Nfd2 Ng1 Ng5 Nh4 Nxd4   did you mean Ne5 or Nxd4?"
    )


def test_one_slip_is_one_fault(tmp_path):
    """What follows a move that can't be played is passed over; its alternatives are not."""
    made = tiny(tmp_path, line_of("1. e4 e5 2. Nd5 (2. Nf3 Nf3) Nc6 3. Bb5 (3. Bc4 Bc5) a6"))
    assert [(f.code, f.place.column) for f in made.faults] == [
        ("move-illegal", 13), ("move-illegal", 25),
    ]  # fmt: skip
