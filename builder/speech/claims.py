"""Claims that were heard: 'three attackers on d4' is a claim of the language, and can be proved."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import chess

from builder.faults import Faults
from builder.model import Claim, Position
from builder.place import Place, Source
from builder.proof.claims import Verdict, prove
from builder.source.claims import parse_claim
from builder.speech.meanings import Meanings
from builder.speech.patterns import Way, compiled

_REMEDY = "write "  # what a remedy begins with that is a claim
_FIELD = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class HeardClaim:
    """The words `start` to `end` as a claim. `truth` is empty where it is so, and tells how it is
    where it isn't."""

    start: int
    end: int
    text: str
    truth: str


def claims_in(meanings: Meanings, start: int, end: int, board: chess.Board) -> Iterator[HeardClaim]:
    """The claims between two words, of a position."""
    at = start
    patterns = [(compiled(say), claim) for say, claim in meanings.lexicon.claims]
    while at < end:
        found = None
        for elements, claim in patterns:
            for way in meanings.hearing.ways(elements, at):
                text = _filled(claim, way, board)
                if text and way.end <= end and way.cost < 0.8 and (found is None or way.end > found.end):  # fmt: skip
                    found = HeardClaim(at, way.end, text, "")
        if found is None:
            at += 1
            continue
        verdict = _verdict(found.text, board)
        if verdict is not None and verdict.outcome == "false":
            # A pin to a piece that is not the king is written otherwise; people say it the same way.
            other = verdict.remedy.removeprefix(_REMEDY)
            better = _verdict(other, board) if other.startswith(f"{found.text} ") else None
            if better is not None and better.outcome == "true":
                found, verdict = HeardClaim(found.start, found.end, other, ""), better
        if verdict is not None and verdict.outcome != "unproved":
            truth = "" if verdict.outcome == "true" else verdict.finding
            yield HeardClaim(found.start, found.end, found.text, truth)
        at = found.end


def _filled(claim: str, way: Way, board: chess.Board) -> str:
    """The claim with what was heard; empty where something is missing."""
    slots = dict(way.slots)
    values: dict[str, str] = {}
    if "square" in slots:
        values["square"] = chess.square_name(slots["square"])
        piece = board.piece_at(slots["square"])
        if "piece" in slots and (piece is None or piece.piece_type != slots["piece"]):
            return ""
        if piece is not None:
            values["enemy"] = _side(not piece.color)
    if "number" in slots:
        values["number"] = str(slots["number"])
    if "file" in slots:
        values["file"] = chess.FILE_NAMES[slots["file"]]
    if "side" in slots:
        values["side"], values["other"] = _side(bool(slots["side"])), _side(not slots["side"])
    if any(name not in values for name in _FIELD.findall(claim)):
        return ""
    return _FIELD.sub(lambda match: values[match.group(1)], claim)


def _side(side: bool) -> str:
    return "white" if side else "black"


def _verdict(text: str, board: chess.Board) -> Verdict | None:
    """What the claim turns out to be; None where it can't be read."""
    faults = Faults()
    source = Source("", text)
    parsed = parse_claim(text, source, 0, faults)
    if parsed is None or faults.has_errors:
        return None
    place = Place("", 1, 1, 2)
    claim = Claim(parsed.term, text, Position(board), None, "", place)
    return prove(claim)
