"""What was heard, line by line: a table that leads from the moves to the words.

Tab-separated (IANA text/tab-separated-values): a head line, then a line for each event. Fields hold
no tabs and no line ends.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from builder.pgn.words import clean
from builder.speech.claims import HeardClaim
from builder.speech.doubts import Judged, label, path_label
from builder.speech.meanings import Meanings
from builder.speech.hearings import MISSED, PLAYED, UNHEARD
from builder.speech.transcripts import clock
from builder.speech.tree import ROOT, Nodes

HEAD = ("time", "place", "words", "taken for", "move", "confidence", "other readings", "costs", "line")  # fmt: skip


def report_text(meanings: Meanings, nodes: Nodes, events: Sequence[Judged],
                claims: Sequence[HeardClaim]) -> str:  # fmt: skip
    """The whole table."""
    rows = [*_events(meanings, nodes, events), *_claims(meanings, claims)]
    rows.sort(key=lambda row: row[0])
    lines = ["\t".join(HEAD)]
    lines += ["\t".join(clean(field) for field in row) for _, row in rows]
    return "\n".join(lines) + "\n"


_LEAST = 1.5  # what leaving a mention must cost to be told


_Row = tuple[int, tuple[str, ...]]


def _events(meanings: Meanings, nodes: Nodes, events: Sequence[Judged]) -> Iterator[_Row]:
    for judged in events:
        event = judged.event
        if event.kind == MISSED and event.mention.miss < _LEAST:
            continue
        start, end = event.mention.start, event.mention.end
        taken, move, confidence = event.kind, "", ""
        if event.kind == UNHEARD:
            if not event.is_new:
                continue
            taken, move, confidence = "not heard", label(nodes, event.node), f"{judged.confidence:.2f}"
        if event.kind == PLAYED:
            taken = "unsure" if judged.is_unsure else "move" if event.is_new else "known move"
            move = label(nodes, event.node)
            confidence = f"{judged.confidence:.2f}"
        elif event.kind == MISSED:
            taken = "no move"
        others = "; ".join(
            f"{'no move' if one.node is None else path_label(nodes, one.node)} (+{max(0.0, one.margin):.1f})"
            for one in judged.others
        )  # fmt: skip
        costs = ", ".join(f"{name.replace('_', ' ')} {nodes.costs[name] * times:.2f}" for name, times in event.costs)
        line = path_label(nodes, event.node) if event.node != ROOT else ""
        yield start, (*_words(meanings, start, end), taken, move, confidence, others, costs, line)


def _claims(meanings: Meanings, claims: Sequence[HeardClaim]) -> Iterator[_Row]:
    for claim in claims:
        taken = "claim" if not claim.truth else "false claim"
        yield claim.start, (*_words(meanings, claim.start, claim.end), taken, claim.text, "",
                            claim.truth, "", "")  # fmt: skip


def _words(meanings: Meanings, start: int, end: int) -> tuple[str, str, str]:
    words = meanings.words[start:end]
    place = words[0].place
    return clock(words[0].time), f"{place.line}:{place.column}", " ".join(word.raw for word in words)
