"""How much of a talk is heard rightly: moves in their right place.

    .venv/bin/python tests/speech/score.py tests/speech/scripts/dev

A move is right where the truth (a PGN file beside the transcript, written with it) has the same move
after the same moves from the start: a transposition is no excuse, and neither is a right move behind
a wrong one. Moves that the draft marks with TODO are counted apart: `precision` is that of the moves
that it gives out as sure; `recall` counts every right move of the draft, `sure recall` only the sure.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import chess.pgn

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))

from builder.faults import Faults  # noqa: E402
from builder.pgn.tell import Teller  # noqa: E402
from builder.speech.run import Heard, Talk, hear, read_words  # noqa: E402
from builder.speech.tree import ROOT  # noqa: E402

KINDS = (".vtt", ".srt", ".txt")
Line = tuple[str, ...]


@dataclass(frozen=True)
class Score:
    """Counts of moves: `truth` all there are, `sure` and `marked` those of the draft, and how many
    of each are right."""

    name: str
    truth: int
    sure: int
    sure_right: int
    marked: int
    marked_right: int

    @property
    def recall(self) -> float:
        return (self.sure_right + self.marked_right) / max(1, self.truth)

    @property
    def sure_recall(self) -> float:
        return self.sure_right / max(1, self.truth)

    @property
    def precision(self) -> float:
        return self.sure_right / max(1, self.sure)

    def as_text(self) -> str:
        return (
            f"{self.name:28} recall {self.recall:6.1%}  sure recall {self.sure_recall:6.1%}  "
            f"precision {self.precision:6.1%}  ({self.truth} moves; {self.sure_right} of {self.sure} "
            f"sure, {self.marked_right} of {self.marked} marked right)"
        )


def transcripts(folder: Path) -> list[Path]:
    """The transcripts that have their truth beside them."""
    return sorted(path for path in folder.iterdir()
                  if path.suffix in KINDS and not path.stem.endswith(".notes") and path.with_suffix(".pgn").is_file())  # fmt: skip


def score(path: Path) -> Score:
    heard, truth = listen(path), true_lines(path.with_suffix(".pgn"))
    lines = drafted_lines(heard)
    marked = {lines[node] for node in heard.doubted() if node in lines}
    sure = set(lines.values()) - marked
    return Score(path.stem, len(truth), len(sure), len(sure & truth), len(marked),
                 len(marked & truth))  # fmt: skip


def listen(path: Path) -> Heard:
    talk = Talk(io.BytesIO(path.read_bytes()), path.name, Path("."))
    return hear(read_words(talk, Teller(path.name, Faults())), talk, lambda words, share: None)


def drafted_lines(heard: Heard) -> dict[int, Line]:
    """Each move of the draft as the moves up to it, in UCI."""
    nodes = heard.nodes
    return {
        node: tuple(nodes.known[one].move.uci() for one in reversed(nodes.path(node)) if one != ROOT)
        for node in heard.best.tree.children if node != ROOT
    }  # fmt: skip


def true_lines(path: Path) -> set[Line]:
    return set(_lines(path.read_text(encoding="utf-8")))


def _lines(text: str) -> Iterator[Line]:
    game = chess.pgn.read_game(io.StringIO(text))
    assert game is not None and not game.errors
    todo: list[tuple[chess.pgn.GameNode, Line]] = [(game, ())]
    while todo:
        node, line = todo.pop()
        for child in node.variations:
            longer = (*line, child.move.uci())
            yield longer
            todo.append((child, longer))


def total(scores: list[Score]) -> Score:
    sums = (sum(getattr(one, name) for one in scores)
            for name in ("truth", "sure", "sure_right", "marked", "marked_right"))  # fmt: skip
    return Score("all", *sums)


if __name__ == "__main__":
    found = [score(path) for folder in sys.argv[1:] for path in transcripts(Path(folder))]
    for one in [*found, total(found)]:
        print(one.as_text())
