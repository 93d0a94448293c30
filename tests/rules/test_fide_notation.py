"""Notation as FIDE's Laws of Chess, Appendix C, and the PGN standard, section 8.2.3, have it.

The articles are cited from memory. The examples of C.10 are the kinds of case that the article
tells apart, on boards of our own.
"""

from __future__ import annotations

import pytest
from tiny import line_of, tiny

START = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"

# name, FEN, what is written, what it is in standard form
READ = (
    ("pawn by its square (C.3)", START, "e4", "e4"),
    ("piece by its letter (C.2)", START, "Nf3", "Nf3"),
    ("capture (C.8)", "4k3/8/8/3p4/8/4N3/8/4K3 w - - 0 1", "Nxd5", "Nxd5"),
    ("capture sign left out (C.8)", "4k3/8/8/3p4/8/4N3/8/4K3 w - - 0 1", "Nd5", "Nxd5"),
    ("pawn capture by its file (C.8)", "4k3/8/8/3p4/4P3/8/8/4K3 w - - 0 1", "exd5", "exd5"),
    ("two knights on one rank: file (C.10.1)", "4k3/8/8/8/8/8/4K3/1N3N2 w - - 0 1", "Nbd2", "Nbd2"),
    ("two rooks on one file: rank (C.10.2)", "R7/7k/8/8/8/8/8/R3K3 w - - 0 1", "R1a4", "R1a4"),
    ("neither rank nor file: file (C.10.3)", "4k3/8/8/8/8/5N2/8/1N2K3 w - - 0 1", "Nbd2", "Nbd2"),
    ("three queens: square", "8/8/8/8/4Q2Q/k7/8/K6Q w - - 0 1", "Qh4e1", "Qh4e1"),
    ("one of the two is pinned: no need", "4r1k1/8/8/8/8/8/4N3/1N2K3 w - - 0 1", "Nc3", "Nc3"),
    ("more than is needed", START, "Ng1f3", "Nf3"),
    ("castling kingside (C.13)", "4k3/8/8/8/8/8/8/R3K2R w KQ - 0 1", "O-O", "O-O"),
    ("castling queenside (C.13)", "4k3/8/8/8/8/8/8/R3K2R w KQ - 0 1", "O-O-O", "O-O-O"),
    ("castling with noughts (C.13)", "4k3/8/8/8/8/8/8/R3K2R w KQ - 0 1", "0-0", "O-O"),
    ("castling with check", "5k2/8/8/8/8/8/8/4K2R w K - 0 1", "O-O+", "O-O+"),
    ("en passant (C.12)", "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1", "exd6", "exd6"),
    ("en passant, said so (C.12)", "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1", "exd6 e.p.", "exd6"),
    ("promotion (C.11)", "8/P3k3/8/8/8/8/8/4K3 w - - 0 1", "a8Q", "a8=Q"),
    ("promotion, PGN's form", "8/P3k3/8/8/8/8/8/4K3 w - - 0 1", "a8=N", "a8=N"),
    ("promotion with capture and check", "1r3k2/P7/8/8/8/8/8/4K3 w - - 0 1", "axb8=Q+", "axb8=Q+"),
    ("check (C.13)", "4k3/8/8/8/8/8/8/R3K3 w - - 0 1", "Ra8+", "Ra8+"),
    ("check sign left out", "4k3/8/8/8/8/8/8/R3K3 w - - 0 1", "Ra8", "Ra8+"),
    ("mate (C.13)", "6k1/5ppp/8/8/8/8/8/R3K3 w - - 0 1", "Ra8#", "Ra8#"),
    ("colon for a capture (C.8, older habit)", "4k3/8/8/3p4/8/4N3/8/4K3 w - - 0 1", "N:d5", "Nxd5"),
)  # fmt: skip

# name, FEN, what is written, the fault
REFUSED = (
    ("two pieces can go", "4k3/8/8/8/8/8/4K3/1N3N2 w - - 0 1", "Nd2", "move-ambiguous"),
    ("castling through check (3.8.2.2)", "4kr2/8/8/8/8/8/8/4K2R w K - 0 1", "O-O", "move-illegal"),
    ("castling out of check (3.8.2.2)", "4k3/4r3/8/8/8/8/8/4K2R w K - 0 1", "O-O", "move-illegal"),
    ("castling without the right (3.8.2.1)", "4k3/8/8/8/8/8/8/4K2R w - - 0 1", "O-O", "move-illegal"),
    ("en passant too late (3.7.3.2)", "4k3/8/8/3pP3/8/8/8/4K3 w - - 0 1", "exd6", "move-illegal"),
    ("promotion to nothing (3.7.3.3)", "8/P3k3/8/8/8/8/8/4K3 w - - 0 1", "a8", "move-illegal"),
    ("promotion to a king", "8/P3k3/8/8/8/8/8/4K3 w - - 0 1", "a8=K", "move-syntax"),
    ("leaving the king in check (3.9.2)", "4k3/4r3/8/8/8/8/4N3/4K3 w - - 0 1", "Nd4", "move-illegal"),
)  # fmt: skip


def written(fen: str, move: str) -> str:
    return line_of(f"1. {move}", f'line main from "{fen}"')


@pytest.mark.parametrize(("fen", "move", "form"), [row[1:] for row in READ], ids=[row[0] for row in READ])
def test_read_and_set_in_standard_form(fen, move, form, tmp_path):
    made = tiny(tmp_path, written(fen, move))
    errors = [fault.as_text() for fault in made.faults]
    assert errors == []
    san = next(made.chapter.lines[0].plies()).san
    assert san == form


@pytest.mark.parametrize(("fen", "move", "code"), [row[1:] for row in REFUSED], ids=[row[0] for row in REFUSED])
def test_refused(fen, move, code, tmp_path):
    made = tiny(tmp_path, written(fen, move))
    assert made.codes() == [code], made.told()
