"""EPD (PGN standard, section 16.2): every position, read back by PyPI `chess`."""

from __future__ import annotations

import chess
import pytest
from tiny import line_of, tiny

from builder.write.epd import epd_text

CHAPTER = (
    line_of(
        "1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 (D \"White has retaken; and now\") Nf6 "
        "5. Nxc6 bxc6 6. e5 Qe7 @pin"
    )
    + "\n![Seen again](@pin plan d1-e2)\n\n"
    + "```exercise e1 from @pin\ntask: White to move: \"what\" now?\n"
    "solution: 7. Qe2 (7. Bf4 Nd5) Nd5 8. c4 (8. Nd2)\n```\n"
)
PIN = "r1b1kb1r/p1ppqppp/2p2n2/4P3/8/8/PPP2PPP/RNBQKB1R w KQkq -"


def test_lines(tmp_path):
    made = tiny(tmp_path, CHAPTER)
    assert not [fault for fault in made.faults if fault.severity.word == "error"], made.told()
    pin = made.booklet.names["pin"].anchor
    assert epd_text(made.booklet, {}).splitlines() == [
        "r1bqkbnr/pppp1ppp/2n5/8/3NP3/8/PPP2PPP/RNBQKB1R b KQkq - "
        'c0 "1.html#diagram-1 White has retaken, and now"; id "Diagram 1";',
        f'{PIN} c0 "1.html#diagram-2 Seen again"; id "Diagram 2";',
        f'{PIN} c0 "1.html#{pin} after 6...Qe7"; id "@pin";',
        f"{PIN} bm Bf4 Qe2; c0 \"1.html#exercise-1 White to move: 'what' now?\"; "
        'id "Exercise 1";',
    ]


def test_pages_of_the_pdf(tmp_path):
    made = tiny(tmp_path, CHAPTER)
    read = epd_text(made.booklet, {"diagram-1": 3, "diagram-2": 4, "exercise-1": 5}).splitlines()
    pages = [chess.Board.from_epd(line)[1].get("c1") for line in read]
    assert pages == ["page 3", "page 4", "page 4", "page 5"]


@pytest.mark.parametrize(
    "moves, fields",
    {
        "en passant as in FEN, after every double step": (
            "1. e4 @here", "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq e3",
        ),
        "no rights left": (
            "1. e4 e5 2. Ke2 Ke7 @here", "rnbq1bnr/ppppkppp/8/4p3/4P3/8/PPPPKPPP/RNBQ1BNR w - -",
        ),
    }.values(),
)  # fmt: skip
def test_fields(tmp_path, moves, fields):
    made = tiny(tmp_path, line_of(moves))
    (line,) = epd_text(made.booklet, {}).splitlines()
    assert line.startswith(fields + " c0 ")


def test_chess_reads_it(tmp_path):
    made = tiny(tmp_path, CHAPTER)
    read = [chess.Board.from_epd(line) for line in epd_text(made.booklet, {}).splitlines()]
    assert [operations["id"] for _, operations in read] == [
        "Diagram 1", "Diagram 2", "@pin", "Exercise 1",
    ]  # fmt: skip
    board, operations = read[-1]
    exercise = made.booklet.exercises[0]
    assert {board.san(move) for move in operations["bm"]} == {"Qe2", "Bf4"}  # 8.Nd2 comes later
    assert board.epd() == exercise.diagram.position.epd
