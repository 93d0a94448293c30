"""Files imported, built and read back, and what makes their trees the same."""

from __future__ import annotations

import io
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from tiny import read_and_make

from builder.faults import Fault, Faults
from builder.intake.gather import Split
from builder.intake.play import Budget
from builder.intake.reading import Game, read_trees
from builder.intake.run import Order, Report, import_games
from builder.pgn.games import read_games
from builder.pgn.lines import LineReader
from builder.pgn.tell import Teller
from builder.intake.tree import (
    MoveTree, Node, join_transpositions, merge, spell, walk,
)  # fmt: skip
from builder.model import Booklet
from builder.write.pgn import pgn_text
from builder.write.pgn_remarks import PgnForm


@dataclass(frozen=True)
class Read:
    """The games of a text, and what was told of it."""

    games: list[Game]
    faults: tuple[Fault, ...]

    def codes(self) -> list[str]:
        return [fault.code for fault in self.faults]

    def told(self) -> str:
        return "\n".join(fault.as_text() for fault in self.faults)


def read(text: str | bytes, budget: Budget | None = None) -> Read:
    data = text.encode() if isinstance(text, str) else text
    faults = Faults()
    tell = Teller("x.pgn", faults)
    lines = LineReader(io.BytesIO(data), tell).lines()
    games = list(read_trees(read_games(lines, tell), tell, budget or Budget()))
    tell.finish()
    return Read(games, faults.sorted())


def shown(tree: MoveTree) -> str:
    """A small tree as movetext without numbers."""
    spell(tree)

    def way(nodes: list[Node]) -> list[str]:
        words: list[str] = []
        while nodes:
            node, *others = nodes
            words += [f"{{{node.opening}}}"] * bool(node.before)
            words += [node.san, *(f"${nag}" for nag in node.nags)]
            words += [f"{{{node.comment}}}"] * bool(node.after)
            words += [f"({' '.join(way([other]))})" for other in others]
            nodes = node.children
        return words

    root = tree.root
    return " ".join([f"{{{root.comment}}}"] * bool(root.after) + way(root.children))


_ROUND = str.maketrans("{}", "()")


def canonical(tree: MoveTree) -> tuple[tuple[int, str, tuple[int, ...], str, str], ...]:
    """What makes two trees the same: the start, moves, NAGs and comments, in order.

    Flat, so that trees of any depth can be compared: each node with the plies above it. Braces are
    round in a booklet's PGN.
    """
    return tuple(
        (
            visit.node.ply - tree.root.ply,
            visit.node.move.uci() if visit.node.move is not None else tree.start.fen,
            visit.node.nags, visit.node.opening.translate(_ROUND), visit.node.comment.translate(_ROUND),
        )
        for visit in walk(tree.root)
    )  # fmt: skip


def trees(text: str | bytes, split: Split):
    """The trees of a file in canonical form, one for each start. Transpositions are joined as an
    import does it: in each game, or in all games together."""
    starts: dict[str, MoveTree] = {}
    apart = split.by in ("auto", "game")
    for game in read(text).games:
        if split.join and apart:
            join_transpositions(game.tree)
        there = starts.setdefault(game.tree.start.fen, game.tree)
        if there is not game.tree:
            merge(there.root, game.tree.root)
    if split.join and not apart:
        for tree in starts.values():
            join_transpositions(tree)
    return {fen: canonical(tree) for fen, tree in starts.items() if tree.root.children}


@dataclass(frozen=True)
class Imported:
    """What became of an imported text."""

    folder: Path
    report: Report | None
    faults: tuple[Fault, ...]

    def told(self) -> str:
        return "\n".join(fault.as_text() for fault in self.faults)

    def chapters(self) -> list[str]:
        files = sorted((self.folder / "chapters").glob("*.md"))
        return [path.read_text(encoding="utf-8") for path in files]


def bring_in(text: str | bytes, into: Path, **options) -> Imported:
    """Imports a text as `plyleaf import` does."""
    data = text.encode() if isinstance(text, str) else text
    options.setdefault("split", Split())
    order = Order(io.BytesIO(data), "sample.pgn", len(data), into, **options)
    faults = Faults()
    report = import_games(order, faults, lambda words, done: None)
    return Imported(into, report, faults.sorted())


def booklet_of(folder: Path, of: str = "error") -> Booklet:
    """The booklet, which must be free of errors, or of warnings too."""
    _, booklet, faults = read_and_make(folder)
    wrong = [fault.as_text() for fault in faults.sorted() if fault.severity.word in ("error", of)]
    assert not wrong, "\n".join(wrong)
    return booklet


FORMS = (PgnForm(passes=True), PgnForm(passes=True, marks=False))


def check_round_trip(text: str | bytes, into: Path, split: Split = Split()) -> Imported:
    """Import, build, export and import again is the same tree, in both forms of export."""
    made = bring_in(text, into, split=split)
    expected = trees(text, split)
    booklet = booklet_of(into, "warning")
    for form in FORMS:
        exported = pgn_text(booklet, form)
        found = read(exported)
        assert not found.faults, found.told()
        told = difference(expected, trees(exported, split))
        assert not told, told
    return made


def difference(expected, found) -> str:
    """The first node that differs, empty where none does."""
    if list(expected) != list(found):
        return f"starts: {list(expected)} but {list(found)}"
    for fen, nodes in expected.items():
        for index, (wanted, got) in enumerate(zip_longest(nodes, found[fen])):
            if wanted != got:
                return f"{fen}, node {index}:\n  {wanted}\n  {got}"
    return ""
