"""Short talks for tests: a line of speech in, moves out."""

from __future__ import annotations

import io
from pathlib import Path

from builder.faults import Faults
from builder.pgn.tell import Teller
from builder.model import Position
from builder.speech.doubts import path_label
from builder.speech.run import Heard, Talk, hear, read_words
from builder.speech.tree import ROOT


def heard(speech: str, start: Position | None = None, name: str = "talk.txt") -> Heard:
    """What is heard of a speech without times, each line of it said at another second."""
    lines = [f"[00:{at:02}] {line}" for at, line in enumerate(speech.strip().split("\n"), start=1)]
    talk = Talk(io.BytesIO("\n".join(lines).encode()), name, Path("."), start=start)
    return hear(read_words(talk, Teller(name, Faults())), talk, lambda words, share: None)


def lines(found: Heard) -> list[str]:
    """The lines of the tree, each to its last move, in the order in which they came."""
    tree = found.best.tree.children
    return [path_label(found.nodes, node) for node in tree if node != ROOT and not tree[node]]
