"""What can be wrong with a game block and its file: place, code, reason and remedy."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from played import HEAD, OPENING, block, game_of, with_games

from builder.model import Comment, Text

TWO = game_of("1. e4 e5 1-0") + game_of("1. d4 d5 1/2-1/2", HEAD.replace('Result "1-0"', 'Result "1/2-1/2"'))


@dataclass(frozen=True)
class Case:
    """`at` is the fault's file and line, `marked` the text under the caret."""

    name: str
    chapter: str
    pgn: str
    code: str
    at: str
    marked: str
    message: str
    hint: str = ""


CHAPTER, FILE = "chapters/1.md", "games/club.pgn"
CASES = (
    # --- which game
    Case("no file told", "```game\n```", TWO, "game-file", f"{CHAPTER}:1", "game", "needs a file"),
    Case("no such file", block("games/clup.pgn"), TWO, "file-missing", f"{CHAPTER}:1",
         "games/clup.pgn", "there is no file games/clup.pgn", "did you mean games/club.pgn?"),
    Case("outside", block("../../etc/club.pgn"), TWO, "file-outside", f"{CHAPTER}:1",
         "../../etc/club.pgn", "outside the booklet"),
    Case("another kind of file", block("booklet.toml#1"), TWO, "game-file", f"{CHAPTER}:1",
         "booklet.toml#1", "booklet.toml is no PGN file"),
    Case("no such number", block("games/club.pgn#3"), TWO, "game-unknown", f"{CHAPTER}:1",
         "games/club.pgn#3", "holds 2 games, so there is no game 3", "1 Quay, Ann – Pier, Bo"),
    Case("number nought", block("games/club.pgn#0"), TWO, "game-unknown", f"{CHAPTER}:1",
         "games/club.pgn#0", "there is no game 0"),
    Case("no such players", block('games/club.pgn#"Quay, Ann - Pier, Jo"'), TWO, "game-unknown",
         f"{CHAPTER}:1", 'games/club.pgn#"Quay, Ann - Pier, Jo"', "holds no game",
         "did you mean Quay, Ann – Pier, Bo?"),
    Case("same players", block('games/club.pgn#"Quay, Ann - Pier, Bo"'), TWO, "game-ambiguous",
         f"{CHAPTER}:1", 'games/club.pgn#"Quay, Ann - Pier, Bo"', "holds 2 games that are",
         "write games/club.pgn#1"),
    Case("one of two", block(), TWO, "game-ambiguous", f"{CHAPTER}:1", "games/club.pgn",
         "holds 2 games"),
    Case("an empty file", block(), "", "game-unknown", f"{CHAPTER}:1", "games/club.pgn",
         "holds no games"),
    # --- which part
    Case("a word", block("games/club.pgn#1 form 12"), TWO, "block-header", f"{CHAPTER}:1", "form",
         "form has no meaning here", "from 12, to 30, diagrams"),
    Case("past the end", block("games/club.pgn#1 diagrams 2"), TWO, "game-number",
         f"{CHAPTER}:1", "2", "this game has no move 2.", "its last is 1...e5"),
    Case("from past the end", block("games/club.pgn#1 from 9"), TWO, "game-number",
         f"{CHAPTER}:1", "9", "this game has no move 9."),
    Case("backwards", block("games/club.pgn#1 from 1b to 1"), TWO, "game-number",
         f"{CHAPTER}:1", "1", "ends before it begins"),
    # --- notes
    Case("a note of no move", block("games/club.pgn#1", "{Hm.}"), TWO, "game-note",
         f"{CHAPTER}:2", "{Hm.}", "which move this belongs to", "12... { … }"),
    Case("another move", block("games/club.pgn#1", "1. d4 {Hm.}"), TWO, "game-note",
         f"{CHAPTER}:2", "d4", "the game's move here is e4"),
    Case("behind the end", block("games/club.pgn#1", "1... e5 Nf3 {Hm.}"), TWO, "game-note",
         f"{CHAPTER}:2", "Nf3", "the game has ended here"),
    Case("a wrong claim in a note", block("games/club.pgn#1", "1. {% matrial even %}"), TWO,
         "claim-unknown", f"{CHAPTER}:2", "matrial", "matrial", "material"),
    # --- the file's own slips
    Case("illegal", block(), game_of("1. e4 e5\n2. Nd5 *"), "move-illegal", f"{FILE}:11", "Nd5",
         "Nd5 is not legal after 1...e5", "White's knights can reach"),
    Case("illegal, told at the block", block(), game_of("1. e4 e5\n2. Nd5 *"), "game-broken",
         f"{CHAPTER}:1", "game games/club.pgn", "its faults are told in games/club.pgn"),
    Case("illegal in a variation", block(), game_of("1. e4 (1. e5) e5 1-0"), "move-illegal",
         f"{FILE}:10", "e5", "e5 is not legal at the start"),
    Case("another language", block(), game_of("1. e4 e5 2. Sf3 1-0"), "move-syntax", f"{FILE}:10",
         "Sf3", "Sf3 is not a move", "English letters"),
    Case("an open variation", block(), game_of("1. e4 e5 (1... c5 1-0"), "variation-open",
         f"{FILE}:10", "(", "never closed"),
    Case("an open comment", block(), game_of("1. e4 {So far 1-0"), "comment-open", f"{FILE}:10",
         "{", "never closed"),
    Case("a stray bracket", block(), game_of("1. e4 ) e5 1-0"), "variation-close", f"{FILE}:10",
         ")", "no variation is open"),
    Case("no moves", block(), game_of("1-0"), "game-empty", f"{CHAPTER}:1", "game games/club.pgn",
         "has no moves"),
    Case("a wrong number", block(), game_of("1. e4 e5 3. Nf3 1-0"), "move-number", f"{FILE}:10",
         "3.", "move number 3. is wrong", "it should be 2."),
    Case("no such NAG", block(), game_of("1. e4 $999 1-0"), "nag", f"{FILE}:10", "$999", "no NAG"),
    Case("a stray word", block(), game_of("1. e4 hello e5 1-0"), "pgn-text", f"{FILE}:10",
         "hello", "has no meaning here"),
    Case("two results", block(), game_of("1. e4 e5 0-1"), "pgn-result", f"{FILE}:10", "0-1",
         "the moves end with 0-1, the tags tell 1-0"),
    Case("no result", block(), game_of("1. e4 e5"), "pgn-end", f"{FILE}:10", "5",
         "end without the result"),
    Case("a bad FEN", block(), game_of("1. e4 1-0", HEAD + '[FEN "8/8/8/8/8/8/8/K7 w - - 0 1"]\n'),
         "fen", f"{FILE}:9", '[FEN "8/8/8/8/8/8/8/K7 w - - 0 1"]', "Black has no king"),
    Case("other rules", block(), game_of("1. e4 1-0", HEAD + '[Variant "Atomic"]\n'),
         "pgn-variant", f"{FILE}:9", '[Variant "Atomic"]', "other rules"),
    Case("a broken tag", block(), HEAD + '[Opening "Scotch]\n\n1. e4 1-0\n', "pgn-tag",
         f"{FILE}:9", '[Opening "Scotch]', "not well-formed"),
    Case("too deep", block(), game_of("1. e4 e5 " + "(1... c5 " * 150 + ")" * 150 + " 1-0"),
         "pgn-large", f"{FILE}:10", "(", "nested more than 100 deep"),
    # --- tables
    Case("a table of no line", "```table mian\n```", TWO, "line-unknown", f"{CHAPTER}:1",
         "table mian", "this chapter has no line named mian"),
    Case("a table of no moves", "```line main\n```\n\n```table main\n```", TWO, "table-empty",
         f"{CHAPTER}:4", "table main", "has no moves"),
    Case("a table without branches", "```line main\n1. e4 e5\n```\n\n```table main\n```", TWO,
         "table-plain", f"{CHAPTER}:5", "table main", "has no variations"),
    Case("a booklet without lines", "```table\n```", TWO, "table-empty", f"{CHAPTER}:1", "table",
         "no line of the booklet begins"),
    Case("a stray word behind table", "```table main line\n```", TWO, "block-header",
         f"{CHAPTER}:1", "line", "line has no meaning here"),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_fault(case: Case, tmp_path):
    made = with_games(tmp_path, case.pgn, case.chapter)
    found = [fault for fault in made.faults if fault.code == case.code
             and f"{fault.place.file}:{fault.place.line}" == case.at]  # fmt: skip
    assert found, made.told()
    fault = found[0]
    begin = fault.place.column - 1 - fault.cut
    text = fault.excerpt[begin:][: fault.place.end_column - fault.place.column]
    assert text.strip() == case.marked or text.startswith(case.marked), (text, made.told())
    assert case.message in fault.message and case.hint in fault.hint, made.told()


def test_other_games_of_the_file_are_no_matter(tmp_path):
    """A file may hold anything beside the game that is cited."""
    broken = game_of("1. e4 Ke9 (((", HEAD + '[Broken "tag]\n')
    made = with_games(tmp_path, game_of("1. e4 e5 1-0") + broken, block("games/club.pgn#1"))
    assert made.faults == ()


@pytest.mark.parametrize("which", ['#"Quay, Ann – Pier, Bo"', '#"quay, ann-pier, bo"',
                                   '#"Round 3"', '#"3"', '#"2026.01.02"', '#"2026-01-02"', "#1", ""])  # fmt: skip
def test_ways_to_name_a_game(which, tmp_path):
    made = with_games(tmp_path, game_of("1. e4 e5 1-0"), block(f"games/club.pgn{which}"))
    assert made.faults == ()
    assert made.chapter.games[0].tags.white == "Quay, Ann"


def test_a_file_name_with_spaces(tmp_path):
    (tmp_path / "games").mkdir()
    (tmp_path / "games" / "the club.pgn").write_text(game_of("1. e4 e5 1-0"))
    made = with_games(tmp_path, "", block('"games/the club.pgn"#1'))
    assert made.faults == ()


@pytest.mark.parametrize("data", [
    game_of("1. e4 {für} e5 1-0").encode("latin-1"), game_of("1. e4 {für} e5 1-0").encode(),
    b"\xef\xbb\xbf" + game_of("1. e4 {f\u00fcr} e5 1-0").encode(),
    game_of("1. e4 {für} e5 1-0").replace("\n", "\r\n").encode("cp1252"),
], ids=["Latin-1", "UTF-8", "with a byte-order mark", "Windows"])  # fmt: skip
def test_encodings(data, tmp_path):
    """Section 4.1 of the PGN standard has ISO 8859-1; programs write UTF-8."""
    made = with_games(tmp_path, data, block())
    assert [fault for fault in made.faults if fault.code != "not-kept"] == []
    words = [item.inlines[0].text for item in made.chapter.games[0].line.items
             if isinstance(item, Comment)]  # fmt: skip
    assert words == ["für"]


@pytest.mark.parametrize("codec", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16(codec, tmp_path):
    made = with_games(tmp_path, game_of("1. e4 {für} e5 1-0").encode(codec), block())
    assert made.faults == () and made.chapter.games[0].line.main_plies()[1].san == "e5"


def test_no_text(tmp_path):
    made = with_games(tmp_path, b"PK\x03\x04\x00\x00", block())
    assert len(made.faults) == 1
    assert made.faults[0].place.file == "chapters/1.md"


def test_words_of_a_file_are_words(tmp_path):
    """Nothing in a PGN comment is Markdown, a claim, a piece of ours or HTML."""
    words = "![x](http://example.org/x.png) <script>1</script> [@main] `code` **so** (D) $1 % @name"
    made = with_games(tmp_path, game_of(f"1. e4 {{{words}}} e5 1-0"), block())
    assert made.faults == ()
    (said,) = [item for item in made.chapter.games[0].line.items if isinstance(item, Comment)]
    assert said.inlines == (Text(words),)
    assert made.chapter.claims == () and made.booklet.names == {}


def test_opening_is_legal(tmp_path):
    assert with_games(tmp_path, game_of(f"{OPENING} 1-0"), block()).faults == ()
