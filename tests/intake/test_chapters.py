"""What an import writes: how games are parted, what is proposed, what becomes of words and tags."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from goldens import check_golden
from intake.reading_back import booklet_of, bring_in, check_round_trip, read
from intake.samples import CLUB, STANDARD

from builder.faults import Faults
from builder.intake.folder import FolderFault, chapter_files
from builder.intake.gather import Split
from builder.intake.layout import LEVELS, LINE_PLIES
from builder.intake.titles import game_titles, summary
from builder.intake.words import WIDTH, clean, escaped, paragraphs
from builder.model import Comment, Line, Paragraph, VariationEnd, VariationStart
from builder.pipeline import check
from builder.source.prose import plain_text

HERE = Path(__file__).parent


def test_a_clubs_file(tmp_path):
    """Whole, as a golden: titles, prose between lines, names and diagrams at branches."""
    made = check_round_trip(CLUB, tmp_path / "booklet")
    files = sorted(path for path in made.folder.rglob("*") if path.is_file())
    text = "".join(
        f"=== {path.relative_to(made.folder)}\n{path.read_text(encoding='utf-8')}" for path in files
    )
    check_golden(HERE / "club.golden.txt", text)
    assert made.report is not None and made.report.joined == 0
    faults = Faults()
    assert check(made.folder, faults) is not None and not faults.has_errors


def test_the_standards_sample(tmp_path):
    made = check_round_trip(STANDARD, tmp_path / "booklet")
    (text,) = made.chapters()
    assert 'title = "Fischer, Robert J. – Spassky, Boris V."' in text
    assert 'summary = "F/S Return Match (29), Belgrade, Serbia JUG, 1992-11-04"' in text
    assert re.findall(r"```line .*", text) == ["```line main", "```line main-2 from @25-rxe1"]
    assert text.endswith("43. Re6 1/2-1/2\n```\n")
    assert not made.faults


SHUFFLE = ("Nf3", "Nf6", "Ng1", "Ng8")
LONG = " ".join(SHUFFLE[ply % 4] for ply in range(260))


def every_line(folder: Path) -> list[Line]:
    return [line for chapter in booklet_of(folder).chapters for line in chapter.lines]


def test_lines_are_short_and_go_on(tmp_path):
    made = check_round_trip(f"{LONG} *", tmp_path / "booklet")
    lines = every_line(made.folder)
    assert len(lines) == 6 and all(len(line.main_plies()) <= LINE_PLIES + 12 for line in lines)
    assert all(line.start_name for line in lines[1:])
    assert len({line.given_id for line in lines}) == 6


def test_brackets_are_not_nested_too_deep(tmp_path):
    made = check_round_trip(
        "1. e4 (1. d4 d5 (1... Nf6 2. c4 (2. Nf3 g6 (2... e6 3. g3 (3. Bg5 c5))))) e5 *",
        tmp_path / "booklet",
    )
    for line in every_line(made.folder):
        depth = 0
        for item in line.items:
            depth += isinstance(item, VariationStart) - isinstance(item, VariationEnd)
            assert depth <= LEVELS
    assert "## 1.d4" in made.chapters()[0]


@pytest.mark.parametrize("by", ["auto", "branch"])
def test_a_big_game_is_several_chapters(by, tmp_path):
    """Parted at branches: a later chapter starts from a name, with a diagram."""
    branches = " ".join(
        f"(1. {first} {' '.join(('Nf6', 'Nf3', 'Ng8', 'Ng1')[ply % 4] for ply in range(110))})"
        for first in ("d4", "c4", "g3", "b3", "f4")
    )
    made = check_round_trip(f"1. e4 {branches} e5 2. Nf3 *", tmp_path / "booklet", Split(by=by))
    texts = made.chapters()
    assert len(texts) == 2 and made.report is not None and made.report.chapters == 2
    assert re.search(r'title = "1\.\w+', texts[1])


def test_depth(tmp_path):
    games = "".join(f"1. e4 {black} 2. Nf3 a6 3. {' '.join(SHUFFLE)} b6 4. c3 c6 5. a3 g6 *\n\n"
                    .replace("3. Nf3 Nf6 Ng1 Ng8", "3. Nc3 b5 4. Nb1 b4 5. Nc3 a5 6. Nb1 a4")
                    .replace("b6 4. c3 c6 5. a3 g6", "7. d3 g6 8. c3 g5 9. h3 h6")
                    for black in ("e5", "d6", "h6"))  # fmt: skip
    made = check_round_trip(games, tmp_path / "booklet", Split(by="depth", depth=2))
    assert [chapter.title for chapter in booklet_of(made.folder).chapters] == [
        "Sample", "1...e5 2.Nf3", "1...d6 2.Nf3", "1...h6 2.Nf3",
    ]  # fmt: skip


TRANSPOSED = "1. e4 e5 (1... Nc6 2. Nf3 e5 3. d4 exd4 {late}) 2. Nf3 Nc6 3. Bb5 a6 *"


def test_transposing_lines_are_joined(tmp_path):
    made = check_round_trip(TRANSPOSED, tmp_path / "booklet")
    (text,) = made.chapters()
    assert "{% same as @2-nc6 %}" in text and "2. Nf3 Nc6 @2-nc6 3. Bb5" in text
    assert text.count("exd4 {late}") == 1
    assert made.report is not None and made.report.joined == 1
    apart = check_round_trip(TRANSPOSED, tmp_path / "apart", Split(join=False))
    assert "same as" not in apart.chapters()[0]


def test_repeated_games_are_left_out(tmp_path):
    text = '[White "A"]\n\n1. e4 e5 2. Nf3 *\n\n[White "B"]\n\n1. e4 e5 *\n\n[White "C"]\n\n1. e4 d5 *\n'
    made = check_round_trip(text, tmp_path / "booklet")
    assert len(made.chapters()) == 2
    assert "say nothing which another one does not say" in made.told()


def test_a_crowd_is_joined_and_thinned(tmp_path):
    """More games than chapters could be: one tree, the most played moves first."""
    games = [f"1. e4 {black} 2. Nf3 {white} *\n\n" for black, white in
             [("c5", "d6")] * 120 + [("e5", "Nc6")] * 90 + [("a6", "h6")]]  # fmt: skip
    made = bring_in("".join(games), tmp_path / "booklet")
    (text,) = made.chapters()
    assert "1. e4 c5 (1... e5 2. Nf3 Nc6) 2. Nf3 d6" in text and "a6" not in text
    assert "3 moves that fewer than 2 games play are left out" in made.told()
    assert booklet_of(made.folder)


def test_what_is_not_kept_is_told(tmp_path):
    text = "1. e4 {[%clk 1] a} (1. d4 {[%clk 2]} 1-0) e5 {[%cal x]} *\n\n[White \"x\"]\n\n*\n"
    made = bring_in(text, tmp_path / "booklet")
    assert [fault.message for fault in made.faults] == [
        "commands for programs, [%clk …], are left out (2 times, here first)",
        "results inside variations are left out",
        "commands for programs, [%cal …], are left out",
        "games without moves are left out",
    ]
    assert str(made.faults[0].place) == "sample.pgn:1:8"


# --- words ----------------------------------------------------------------------------------------

NASTY = (
    "[5.Nxc6] is [main: 5.Nxc6]", "[x](@y) ![x](@y) [@y] @y", "[a]{check} {% check %}", "% check %",
    "<script>alert(1)</script> <b>&amp;&#65;</b>", "```line x", "``` ```", "~~~", "# no heading",
    "1. no list", "- no list", "> no quote", "a | b", "*a* _b_ `c` ~~d~~", "\\ \\* \\\\", "[^1] [^1]:",
    "<!-- no comment", "http://example.org/a_b*c", "+++", "=== ---", "ends in \\", "!x", "(D) ; $1",
    "\u202eturned", "\ue0000\ue001",
)  # fmt: skip


@pytest.mark.parametrize("words", NASTY)
def test_words_stay_words(words, tmp_path):
    """In a comment, in a paragraph, in a title: they come out as they went in, and make nothing."""
    tag = words.replace("\\", r"\\").replace('"', r"\"")
    said = words.replace("}", "")  # which ends a comment
    text = (f'[White "{tag}"]\n[Event "{tag}"]\n[Site "{tag}"]\n[Odd "{tag}"]\n\n'
            f"{{{said}}} 1. e4 {{{said}}} e5 ({{{said}}} 1... c5 {{{said}}}) *\n")  # fmt: skip
    made = check_round_trip(text, tmp_path / "booklet")
    booklet = booklet_of(made.folder)
    (chapter,) = booklet.chapters
    (line,) = chapter.lines
    assert chapter.title == clean(words)
    assert not booklet.names and not chapter.claims and not chapter.footnotes
    assert all(isinstance(block, Paragraph | Line) for block in chapter.blocks)
    assert len(list(line.plies())) == 3


def test_braces_are_shown_as_they_were_written(tmp_path):
    """In comments as in a line's text; only the booklet's own PGN makes them round."""
    words = "a {b {% c"
    long = words + " word" * 100
    check_round_trip(f"1. e4 {{{long}}} e5 {{{words}}} 2. Nf3 ; {words} }}\n*", tmp_path / "booklet")
    (chapter,) = booklet_of(tmp_path / "booklet").chapters
    said = [plain_text(block.inlines) for block in chapter.blocks if isinstance(block, Paragraph)]
    said += [plain_text(item.inlines) for line in chapter.lines for item in line.items if isinstance(item, Comment)]
    assert said == [long, words, f"{words} }}"]


def test_lines_of_text_are_short(tmp_path):
    words = " ".join(["word", "*", "1.", "-", "#", "[x]"] * 60)
    made = check_round_trip(f"{{{words}}} 1. e4 {{{words}}} e5 *", tmp_path / "booklet")
    assert max(map(len, made.chapters()[0].split("\n"))) <= WIDTH + 1  # an escape


def test_paragraphs_lose_nothing():
    text = " ".join(f"Sentence {n} is “this long.” And 5. Nxc6 is no end!" for n in range(60))
    parts = paragraphs(text)
    assert len(parts) > 3 and " ".join(parts) == text
    assert all(not part.startswith("Nxc6") for part in parts)


def test_escapes_are_few():
    assert escaped("Black's 50% isn't bad: 4.Nxd4 (see p. 7)") == "Black's 50% isn't bad: 4.Nxd4 (see p. 7)"


# --- titles and files -----------------------------------------------------------------------------

TITLES = {
    "players": (['[White "A"][Black "B"]'], ["A – B"]),
    "one player": (['[White "The idea"][Black "?"][Event "E"]'], ["The idea"]),
    "an event": (['[White "?"][Event "E"]'], ["E"]),
    "an opening": (['[Opening "Scotch"]'], ["Scotch"]),
    "told apart by the next tag": (
        ['[White "A"][Event "E"]', '[White "A"][Event "F"]'], ["A (E)", "A (F)"],
    ),
    "told apart by number": (['[White "A"]', '[White "A"]'], ["A (1)", "A (2)"]),
    "nothing known": (["[X \"y\"]", "[X \"y\"]"], ["Game 1", "Game 2"]),
    "a booklet's own": (['[Event "B: The Scotch"][Booklet "B"][White "?"]'], ["The Scotch"]),
}  # fmt: skip


@pytest.mark.parametrize("tags, expected", TITLES.values(), ids=TITLES)
def test_titles(tags, expected):
    text = "".join(f"{tag}\n\n1. e4 *\n\n" for tag in tags)
    assert game_titles([game.raw for game in read(text).games]) == expected


SUMMARIES = {
    "event, place and date": ('[Event "E"][Site "S"][Date "1992.11.??"]', "E, S, 1992-11"),
    "a round": ('[Event "E"][Round "3"]', "E (3)"),
    "the booklet's event": ('[Event "The booklet"][Site "S"]', "S"),
    "a round of the booklet's event": ('[Event "The booklet"][Round "3"]', "The booklet (3)"),
    "a round of nothing": ('[Event "?"][Round "3"]', ""),
    "what the title says": ('[Event "The title"][Date "2026"]', "2026"),
    "a booklet's own": ('[Event "B: E"][Booklet "B"][Site "S"]', ""),
}  # fmt: skip


@pytest.mark.parametrize("tags, expected", SUMMARIES.values(), ids=SUMMARIES)
def test_summaries(tags, expected):
    (game,) = read(f"{tags}\n\n1. e4 *\n").games
    assert summary(game.raw, "The title", "The booklet") == expected


NUMBERS = {
    "none there": ((), ("a", "B c"), ["10-a", "20-b-c"]),
    "behind those there": (("10-x", "20-y"), ("a",), ["30-a"]),
    "little room": (("10-x", "95-y"), ("a", "b"), ["96-a", "97-b"]),
    "no room": (("98-x",), ("a", "b"), ["98-x_01-a", "98-x_02-b"]),
    "no numbers": (("intro",), ("a",), ["intro_01-a"]),
    "many": ((), ("a",) * 12, [f"{n}0-a".zfill(5) for n in range(1, 13)]),
    "no path": ((), ("../../etc", "a/b\\c", "\x00", "."), ["10-etc", "20-a-b-c", "30-part", "40-part"]),
    "long": ((), ("word " * 40,), ["10-" + "word-" * 9 + "word"]),
}  # fmt: skip


@pytest.mark.parametrize("there, titles, expected", NUMBERS.values(), ids=NUMBERS)
def test_file_names(there, titles, expected):
    files = chapter_files(titles, [f"chapters/{name}.md" for name in there])
    assert [file.removeprefix("chapters/").removesuffix(".md") for file in files] == expected
    ordered = [f"chapters/{name}.md" for name in there] + files
    assert ordered == sorted(ordered)  # the order that a booklet has


def test_names_are_not_given_twice(tmp_path):
    into = tmp_path / "booklet"
    bring_in(CLUB, into)
    bring_in(CLUB, into)
    booklet = booklet_of(into)
    assert len(booklet.chapters) == 4
    assert "4-nxd4" in booklet.names and "the-main-road-4-nxd4" in booklet.names


def test_a_booklet_that_lists_its_chapters(tmp_path):
    (tmp_path / "booklet.toml").write_text('title = "T"\nchapters = []\n')
    made = bring_in("1. e4 *", tmp_path)
    assert made.report is not None and made.report.listed


def test_all_or_nothing(tmp_path):
    (tmp_path / "booklet").mkdir()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "booklet" / "chapters").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(FolderFault, match="leads out of the folder"):
        bring_in("1. e4 *", tmp_path / "booklet")
    assert not list((tmp_path / "elsewhere").iterdir())
    (tmp_path / "file").write_text("")
    with pytest.raises(FolderFault, match="is a file"):
        bring_in("1. e4 *", tmp_path / "file")
    with pytest.raises(FolderFault):
        bring_in("1. e4 *", tmp_path / "file" / "below")
