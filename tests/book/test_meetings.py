"""Transpositions: told where two ways come together, for both, and only there."""

from __future__ import annotations

import pytest
from tiny import line_of, tiny

from builder.book.meetings import meetings
from builder.write.plain import moves_text


def told(made) -> list[str]:
    """`here <- the other way's tail`, in reading order of here."""
    found = meetings(made.booklet)
    lines = [line for chapter in made.booklet.chapters for line in chapter.lines]
    return [
        f"{ply.label} <- {moves_text(meeting.moves)}"
        for line in lines
        for ply in line.plies()
        for meeting in found.get(ply.anchor, ())
    ]


FEN = "rnbqkbnr/pppp1ppp/4p3/8/2P5/8/PP1PPPPP/RNBQKBNR w KQkq - 0 2"  # after 1.c4 e6

CASES = {
    "no meeting": (line_of("1. e4 e5 (1... c5) 2. Nf3"), []),
    "both ways, at the first meeting point only": (
        line_of("1. d4 Nf6 2. c4 e6 3. Nc3", "line a")
        + line_of("1. c4 Nf6 2. d4 e6 3. Nc3", "line b"),
        ["2.c4 <- 1.c4 Nf6 2.d4", "2.d4 <- 1.d4 Nf6 2.c4"],
    ),
    "the tail begins where the ways part": (
        line_of("1. e4 e5 2. Nf3 Nc6 (2... Nf6 3. Nc3 Nc6) 3. Nc3 Nf6 (3... d6)"),
        ["3...Nc6 <- 2...Nc6 3.Nc3 Nf6", "3...Nf6 <- 2...Nf6 3.Nc3 Nc6"],
    ),
    "the same way twice is no meeting": (
        line_of("1. d4 d5 2. c4", "line a") + line_of("1. d4 d5 2. c4 e6", "line b"),
        [],
    ),
    "one note for another way that is written twice": (
        line_of("1. d4 d5 2. c4", "line a") + line_of("1. c4 d5 2. d4", "line b")
        + line_of("1. c4 d5 2. d4", "line c"),
        ["2.c4 <- 1.c4 d5 2.d4", "2.d4 <- 1.d4 d5 2.c4", "2.d4 <- 1.d4 d5 2.c4"],
    ),
    "three ways, in reading order": (
        line_of("1. d4 e6 2. c4 Nf6", "line a") + line_of("1. c4 e6 2. d4 Nf6", "line b")
        + line_of("1. d4 Nf6 2. c4 e6", "line c"),
        [
            "2.c4 <- 1.c4 e6 2.d4",
            "2...Nf6 <- 1...Nf6 2.c4 e6",
            "2.d4 <- 1.d4 e6 2.c4",
            "2...Nf6 <- 1.d4 Nf6 2.c4 e6",
            "2...e6 <- 1...e6 2.c4 Nf6",
            "2...e6 <- 1.c4 e6 2.d4 Nf6",
        ],
    ),
    "a repetition is no meeting": (line_of("1. Nf3 Nf6 2. Ng1 Ng8 3. Nf3"), []),
    "an en-passant right that nobody can use does not matter": (
        line_of("1. e4 e6 2. d4", "line a") + line_of("1. d4 e6 2. e4", "line b"),
        ["2.d4 <- 1.d4 e6 2.e4", "2.e4 <- 1.e4 e6 2.d4"],
    ),
    "one that somebody can use does": (
        line_of("1. e4 Nf6 2. e5 d5", "line a")
        + line_of("1. e4 d5 2. e5 Nf6", "line b"),
        [],
    ),
    "castling rights matter": (
        line_of("1. e4 e5 2. Ke2 Ke7 3. Ke1 Ke8 4. Nf3", "line a")
        + line_of("1. e4 e5 2. Nf3", "line b"),
        [],
    ),
    "a way from another start is told whole": (
        line_of("1. d4 e6 2. c4", "line a") + line_of("2. d4 Nf6", f'line b from "{FEN}"'),
        ["2.c4 <- 2.d4", "2.d4 <- 1.d4 e6 2.c4"],
    ),
    "behind a pass nothing meets": (
        line_of("1. d4 d5 2. c4", "line a") + line_of("1. c4 d5 2. -- (2. d4) d4 3. d3", "line b"),
        ["2.c4 <- 1.c4 d5 2.d4", "2.d4 <- 1.d4 d5 2.c4"],
    ),
    "solutions keep to themselves": (
        line_of("1. d4 @queen d5 2. c4", "line a")
        + "```exercise e from @queen\ntask: Go.\nsolution: 1... e6\n```\n"
        + line_of("1. e3 e6 2. d3", "line b"),
        [],
    ),
}  # fmt: skip


@pytest.mark.parametrize("text, expected", CASES.values(), ids=CASES)
def test_meetings(tmp_path, text, expected):
    made = tiny(tmp_path, text)
    assert not [fault for fault in made.faults if fault.severity.word == "error"], made.told()
    assert told(made) == expected
