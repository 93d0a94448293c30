"""Which cards there are, and what stands on them; the same as CSV."""

from __future__ import annotations

import csv
import io

import chess
import pytest
from tiny import line_of, tiny

from builder.render.handouts.deck import deck
from builder.write.cards_csv import cards_csv

WHITE = 'title = "T"\nside = "white"\n'
BLACK = 'title = "T"\nside = "black"\n'
BOTH = 'title = "T"\nside = "both"\n'
EXERCISE = """
```line main
1. e4 e5 2. Nf3 Nc6 @knights 3. Bb5 a6
```

```exercise e1 from @knights
task: White to move.
solution: 3. {} (3. Bc4 Bc5) Nf6
```
"""

# name, settings, chapter, and for each card its moves
DECKS = (
    ("White's moves", WHITE, line_of("1. e4 e5 2. Nf3 Nc6"), ["e4", "Nf3"]),
    ("Black's moves", BLACK, line_of("1. e4 e5 2. Nf3 Nc6"), ["e5", "Nc6"]),
    ("both sides'", BOTH, line_of("1. e4 e5 2. Nf3"), ["e4", "e5", "Nf3"]),
    ("a variation of the other side", WHITE, line_of("1. e4 e5 (1... c5 2. Nf3) 2. Nf3"),
     ["e4", "Nf3", "Nf3"]),
    ("a move offered in place of ours", WHITE, line_of("1. e4 (1. d4 d5 2. c4) e5 2. Nf3"),
     ["e4", "Nf3"]),
    ("a criticised move is none", WHITE, line_of("1. e4 e5 2. f4? (2. Nf3 Nc6 3. Bb5) exf4"),
     ["e4", "Nf3", "Bb5"]),
    ("nothing behind a pass", WHITE, line_of("1. e4 -- 2. d4"), ["e4"]),
    ("the same position twice", WHITE,
     line_of("1. e4 e5 2. Nf3", "line a") + line_of("1. e4 e5 2. Nf3 Nc6 3. Bb5", "line b"),
     ["e4", "Nf3", "Bb5"]),
    ("two recommendations", WHITE,
     line_of("1. e4 e5", "line a") + line_of("1. d4 d5", "line b"), ["e4 d4"]),
    ("transposition", WHITE,
     line_of("1. Nf3 Nf6 2. c4 g6 3. g3", "line a")
     + line_of("1. c4 Nf6 2. Nf3 g6 3. Nc3", "line b"),
     ["Nf3 c4", "c4", "g3 Nc3", "Nf3"]),
    ("an exercise with the line's answer", WHITE, EXERCISE.format("Bb5"),
     ["e4", "Nf3", "Bb5 Bc4"]),
    ("an exercise at a given position", WHITE,
     '```exercise e1 from "6k1/5ppp/8/8/8/8/5PPP/3R2K1 w - - 0 1"\ntask: Mate.\n'
     "solution: 1. Rd8#\n```\n", ["Rd8#"]),
)  # fmt: skip


@pytest.mark.parametrize(("settings", "chapter", "wanted"), [case[1:] for case in DECKS],
                         ids=[case[0] for case in DECKS])  # fmt: skip
def test_decks(tmp_path, settings, chapter, wanted):
    read = tiny(tmp_path, chapter, settings=settings)
    assert not [fault for fault in read.faults if fault.severity > 1], read.told()
    found = deck(read.booklet, ["1"])
    assert [" ".join(card.moves) for card in found] == wanted
    assert [card.number for card in found] == list(range(1, len(found) + 1))
    for card in found:
        assert card.flip == (not card.position.white_to_move) or card.exercise
        board = card.position.board()
        for move in card.moves:
            assert board.parse_san(move)


def test_a_chapters_own_side_counts(tmp_path):
    for_black = '+++\nside = "black"\n+++\n' + line_of("1. d4 Nf6 2. c4 g6")
    booklet = tiny(tmp_path, line_of("1. e4 e5"), for_black).booklet
    assert [card.moves for card in deck(booklet, ["1", "2"])] == [("e4",), ("Nf6",), ("g6",)]
    assert [card.moves for card in deck(booklet, ["2"])] == [("Nf6",), ("g6",)]


def test_what_stands_on_a_card(tmp_path):
    booklet = tiny(tmp_path, line_of(
        "1. e4 e5 2. Nf3 {The knight attacks. It also develops.} Nc6? (2... d6 3. d4) "
        '(2... Nf6 3. Nxe5 d6 4. Nf3) 3. Bb5 @spanish (D "The Spanish bishop") a6'
    )).booklet  # fmt: skip
    start, knight, *_, bishop = deck(booklet, ["1"])
    assert start.ply is None
    assert knight.ply.label == "1...e5"
    answer = knight.answers[0]
    # The first reply that isn't criticised, and on from there as the booklet recommends.
    assert [ply.san for ply in answer.after] == ["d6", "d4"]
    assert answer.comment[0].text.startswith("The knight attacks.")
    assert bishop.moves == ("Bb5",)
    assert [ply.san for ply in bishop.answers[0].after] == ["a6"]
    assert {card.diagram for card in (start, knight, bishop)} == {None}


def test_a_card_knows_its_diagram(tmp_path):
    booklet = tiny(tmp_path, line_of('1. e4 e5 (D "Both") 2. Nf3')).booklet
    assert [card.diagram for card in deck(booklet, ["1"])] == [None, booklet.diagrams[0]]


def test_a_solution_goes_on_in_the_solution(tmp_path):
    booklet = tiny(tmp_path, EXERCISE.format("Nc3")).booklet
    card = deck(booklet, ["1"])[-1]
    assert card.exercise is booklet.exercises[0]
    assert card.moves == ("Bb5", "Nc3", "Bc4")
    after = [[ply.san for ply in answer.after] for answer in card.answers]
    assert after == [["a6"], ["Nf6"], ["Bc5"]]


def test_csv(tmp_path):
    booklet = tiny(tmp_path, line_of("1. e4 e5 2. Nf3"), line_of("1. d4 d5")).booklet
    text = cards_csv(deck(booklet, ["1", "2"]))
    assert text.endswith("\r\n") and text.count("\n") == text.count("\r\n") == 3
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert rows[0] == ["position", "moves", "chapter"]
    for position, moves, chapter in rows[1:]:
        board = chess.Board(f"{position} 0 1")
        assert all(board.parse_san(move) for move in moves.split())
        assert chapter == "1"
    assert rows[1] == ["rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq -", "e4 d4", "1"]
