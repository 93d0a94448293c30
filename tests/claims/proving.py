"""A claim on a board given as FEN: read as in a chapter, and proved."""

from __future__ import annotations

import chess

from builder.faults import Fault, Faults
from builder.model import Claim, ClaimTerm, Position
from builder.place import Source
from builder.proof.claims import Verdict, prove
from builder.source.claims import ParsedClaim, parse_claim

START = chess.STARTING_FEN


def parsed(text: str) -> tuple[ParsedClaim | None, tuple[Fault, ...]]:
    """The claim in braces, as it stands in a file."""
    source = Source("a.md", "x {" + text + "} y")
    faults = Faults()
    faults.add_source(source)
    return parse_claim(text, source, 3, faults), faults.sorted()


def term(text: str) -> ClaimTerm:
    claim, faults = parsed(text)
    assert claim is not None, faults[0].as_text()
    return claim.term


def claimed(fen: str, text: str) -> Claim:
    """The claim about the position; nothing was played before it."""
    place = Source("a.md", text).place(0, len(text))
    return Claim(term(text), text, Position(chess.Board(fen)), None, "a", place)


def proved(fen: str, text: str) -> Verdict:
    return prove(claimed(fen, text))
