"""A booklet of everything that is hard to set: its chapters are made here, the same each time."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import cycle, islice
from pathlib import Path

import chess
from PIL import Image

LANGUAGES = ("en", "de", "fr")
_WORDS = ("the knight returns", "Black counterattacks immediately", "and nobody", "a",
          "uncompromising simplification", "waits", "on the long diagonal", "of it",
          "characteristically", "White's rooks", "which is more than it seems", "once")  # fmt: skip
LONG_WORD = "Unwahrscheinlichkeitsabschätzungsverfahrensvorschriftensammlung"
SIXTY = "A caption as long as this one is has sixty letters, or more?"
LONG_TITLE = ("A title that is too long for the head of any page, goes on past the end of it, and "
              "names 4...Bc5 on its way")  # fmt: skip


def write_torture(folder: Path, language: str = "en") -> Path:
    """Writes the booklet into an empty folder."""
    (folder / "chapters").mkdir(parents=True)
    (folder / "images").mkdir()
    for name, size in (("tall", (200, 2400)), ("wide", (3000, 150)), ("tiny", (9, 9)),
                       ("large", (2000, 2000))):  # fmt: skip
        Image.new("L", size, 150).save(folder / "images" / f"{name}.png")
    (folder / "booklet.toml").write_text(
        f'title = "{LONG_TITLE}"\nsubtitle = "{words(14)}"\n'
        f'author = "Maximiliane von und zu Hohenstaufen-Wittelsbach the Younger"\n'
        f'edition = "twenty-third edition, revised"\ndate = 2026-01-02\nside = "white"\n'
        f'language = "{language}"\n',
        encoding="utf-8",
    )
    for number, text in enumerate((moves_chapter(), prose_chapter(), "# Short\n\nOne line.\n"), 1):
        (folder / "chapters" / f"{number}.md").write_text(text, encoding="utf-8")
    return folder


def words(count: int, start: int = 0) -> str:
    return " ".join(islice(cycle(_WORDS), start, start + count))


def sentence(count: int, start: int = 0) -> str:
    text = words(count, start)
    return f"{text[:1].upper()}{text[1:]}."


# --- moves --------------------------------------------------------------------------------------


def moves_chapter() -> str:
    return "\n\n".join([
        f"# {LONG_TITLE}",
        f"{sentence(9)} {LONG_WORD}, `{'x' * 70}` and {'A' * 48}.",
        fence(f"line main\n{' '.join(_marked_game(40))}"),
        "## Variations in variations",
        fence(f"line deep\n{_nested(chess.Board(), 9)}"),
        "## Every sign",
        fence(f"line signs\n{' '.join(_signs())}"),
        "## Promotion and castling",
        fence('line promotion from "r3k2r/P7/8/8/8/8/p7/R3K2R w KQkq - 0 1"\n'
              "1. O-O-O (1. O-O O-O-O) (1. Kf2 O-O) 1... O-O"),
        fence('line more from "8/P5kP/8/8/8/8/p5Kp/8 w - - 0 1"\n'
              "1. h8=Q+ (1. a8=N a1=N 2. h8=R h1=B+) 1... Kxh8 2. a8=Q+ Kg7 3. Kxh2 a1=R"),
        "## Boards",
        fence("line boards\n1. e4 e5 2. Nf3 @a-very-long-name-for-a-position-that-nobody-will-remember "
              f'(D "{SIXTY}") Nc6 3. Bc4 (D "{SIXTY}" flip) Bc5 (D "{SIXTY}" small) '
              '4. c3 {Words.} (D large "Large" label a1 "twelve signs" label h8 "twelve signs" '
              "label e5 \"outpost\" plan c1-g5-d8 threat c4-f7 guard d2-d3 key d4 e5 weak f7 f2) Nf6 "
              f'(D small "{words(30)}") 5. d4 exd4 (D "{SIXTY}") 6. cxd4 Bb4+ (D "{SIXTY}")'),
        "![a](@a-very-long-name-for-a-position-that-nobody-will-remember) "
        "![b](@a-very-long-name-for-a-position-that-nobody-will-remember flip) "
        "![c](@a-very-long-name-for-a-position-that-nobody-will-remember small) "
        "![d](@a-very-long-name-for-a-position-that-nobody-will-remember large)",
        *(_section(number) for number in range(9)),
        *(_exercise(number, sentence(3 + number % 5)) for number in range(1, 7)),
        _exercise(7, sentence(60)),
        _exercise(8, f"Find\n\n- {words(5)}\n- {words(9)}", "large"),
    ])  # fmt: skip


def fence(text: str) -> str:
    return f"```{text}\n```"


def _marked_game(plies: int) -> Iterator[str]:
    """A game with comments, short variations and diagrams at odd distances."""
    board = chess.Board()
    for number in range(plies):
        move = _choice(board, number)
        other = _choice(board, number + 7)
        yield board.san(move)
        if number % 11 == 5 and other != move:
            yield f"({board.san(other)} {{{words(number)}}})"
        board.push(move)
        if number % 7 == 3:
            yield f'(D "{words(number % 9 + 1)}")'
        elif number % 5 == 4:
            yield f"{{{sentence(number)}}}"


def _nested(board: chess.Board, depth: int) -> str:
    """Moves that part again and again, `depth` levels deep."""
    first, other = _choice(board, depth), _choice(board, depth + 5)
    said = board.san(first)
    inner = board.copy()
    inner.push(other)
    opened = board.san(other)
    board.push(first)
    rest = ""
    for step in range(4):
        move = _choice(board, step)
        rest += f" {board.san(move)}"
        board.push(move)
    if depth == 1:
        return said + rest
    return f"{said} ({opened} {{{words(depth)}}} {_nested(inner, depth - 1)}){rest} {{{sentence(6)}}}"


def _signs() -> Iterator[str]:
    board = chess.Board()
    for nag in (*range(1, 7), *range(10, 20), *range(20, 140, 7)):
        move = _choice(board, nag)
        yield f"{board.san(move)} ${nag}"
        board.push(move)


def _choice(board: chess.Board, seed: int) -> chess.Move:
    moves = sorted(board.legal_moves, key=lambda move: (board.is_capture(move), move.uci()))
    return moves[seed * 37 % len(moves)]


def _section(number: int) -> str:
    """Headings and diagrams at ever new heights of the page."""
    board = chess.Board()
    shown = ""
    for step in range(3):
        move = _choice(board, number + step)
        shown += f"{board.san(move)} "
        board.push(move)
    mark = "(D)" if number % 3 else f'(D "{SIXTY}")'
    deeper = f"\n\n### {words(3)}" if number % 4 == 1 else ""
    return (f"## {words(2 + number % 12, number)}{deeper}\n\n{sentence(5 + number * 7 % 40)}\n\n"
            f"{fence(f'line s{number}' + chr(10) + shown + mark + ' {' + sentence(number * 5 % 23 + 1) + '}')}"
            f"\n\n{sentence(number * 11 % 50 + 3)}")  # fmt: skip


def _exercise(number: int, task: str, more: str = "") -> str:
    name = "a-very-long-name-for-a-position-that-nobody-will-remember"
    return fence(f"exercise e{number} from @{name} {more}\ntask: {task}\nhint: {sentence(number)}\n"
                 f"solution: 2... Nc6 {{{words(number * 3)}}} (2... d6 3. d4) 3. Bb5")  # fmt: skip


# --- prose --------------------------------------------------------------------------------------


def prose_chapter() -> str:
    notes = [f"[^n{number}]: {sentence(6 if number % 3 else 130)}" for number in range(1, 13)]
    notes[1] += "[^inner]\n[^inner]: See[^n3] or[^n12]."
    return "\n\n".join([
        "# Words",
        *(sentence(20 + number * 9) for number in range(4)),
        "Notes[^n1] and[^n2] more[^n3] and[^n4] more[^n5] on one page.[^n6] " + sentence(40),
        f"### {words(20)}",
        f"> {sentence(30)}\n>\n> - {words(4)}\n>   - {words(6)}\n>     1. {words(9)}\n>        - {words(20)}",
        "- " + "\n- ".join(f"{words(number * 3 + 1)}[^n7]" for number in range(9)),
        _table(8, 4, 3), _table(3, 40, 2), _table(2, 5, 5, "[^n8]"),
        "".join(f"{sentence(11)}[^n{number}] " for number in (9, 10, 11, 12)),
        "    " + "code that is too long for its line " * 5,
        "* * *",
        *(f"![{name}](images/{name}.png)" for name in ("tall", "wide", "tiny", "large")),
        *notes,
    ])  # fmt: skip


def _table(columns: int, rows: int, letters: int, note: str = "") -> str:
    head = "| " + " | ".join(words(1, number) for number in range(columns)) + " |"
    rule = "|" + " --- |" * columns
    body = ("| " + " | ".join(words(letters, row + one) + (note if one == row == 1 else "")
                              for one in range(columns)) + " |" for row in range(rows))  # fmt: skip
    return "\n".join([head, rule, *body])
