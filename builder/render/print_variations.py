"""The index of variations: the booklet's moves as a tree, each branch with its page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup, escape

from builder.book.tree import Node, Tree, move_trees
from builder.model import Booklet
from builder.render import moves
from builder.render.medium import Medium
from builder.render.notation import position_signs

# A branch that runs on alone is told by its first moves and its last.
_MOST_MOVES = 6
# Branchings deeper than this stand no further to the right.
_DEEPEST = 8


@dataclass(frozen=True, slots=True)
class VariationRow:
    """A branch: its moves up to the next branching, and where the first of them stands.

    `depth` counts the branchings before it, from 0. `start` names the position of a tree that
    doesn't begin with the game, at its first row.
    """

    depth: int
    anchor: str
    words: Markup
    start: Markup


def variation_rows(booklet: Booklet, medium: Medium) -> tuple[VariationRow, ...]:
    """All branches in the order of the tree; solutions and nothing else are left out."""
    lines = (
        line for chapter in booklet.chapters for line in chapter.lines if line.is_taught
    )
    return tuple(row for tree in move_trees(lines) for row in _rows(tree, medium))


def _rows(tree: Tree, medium: Medium) -> Iterator[VariationRow]:
    start = Markup("") if tree.start.ply_number == 0 else escape(medium.words.given_position)
    waiting = [(node, 0) for node in reversed(tree.children)]
    while waiting:
        node, depth = waiting.pop()
        run = _run(node)
        yield VariationRow(min(depth, _DEEPEST), node.ply.anchor, _words(run, medium), start)
        start = Markup("")
        waiting.extend((child, depth + 1) for child in reversed(run[-1].children))


def _run(node: Node) -> list[Node]:
    """From a node to the next one that branches or ends."""
    run = [node]
    while len(run[-1].children) == 1:
        run.append(run[-1].children[0])
    return run


def _words(run: list[Node], medium: Medium) -> Markup:
    plies = [node.ply for node in run]
    shown = plies if len(plies) <= _MOST_MOVES else plies[: _MOST_MOVES - 1]
    text = moves.row(shown, medium)
    if len(shown) < len(plies):
        text += Markup("\u00a0\u2026 ") + moves.row(plies[-1:], medium)
    judged = position_signs(plies[-1].nags)
    return text + Markup('<span class="move">{}</span>').format(judged) if judged else text
