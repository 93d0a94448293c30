"""Lines to opening tables.

In: lines. Out: columns, each a way through their tree of moves, and notes for the side-lines
that get no column. A column goes on with each move's first answer; another answer begins a column
of its own where it is a line's main move or, at the next level, long enough. The columns stand so
that neighbours have as many moves in common as can be: that branch first which leaves last.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import chess

from builder.book.tree import Node, Tree, move_trees
from builder.model import (
    Chapter, Line, NoteItem, PositionKey, RunsInto, TableColumn, TableNote, VariationEnd,
    VariationStart, position_key,
)  # fmt: skip

LEAST_COLUMN = 4  # plies of a variation that gets a column
MOST_NOTE = 12  # plies of a note outside its own variations
MOST_INNER = 6  # plies of a variation inside a note
_ASSESSMENTS = range(10, 20)  # NAGs that judge the position


def line_columns(line: Line, chapters: tuple[Chapter, ...]) -> tuple[TableColumn, ...]:
    """The columns of a line, and of the lines that go on from its positions."""
    lines = [
        one for one in _lines(chapters)
        if one is line or (one.start_ply is not None and one.start_ply.line == line.anchor)
    ]  # fmt: skip
    first = next(iter(line.plies()), None)
    for tree in move_trees(lines):
        if first is not None and any(
            ply.anchor == first.anchor for node, _ in tree.walk() for ply in node.plies
        ):
            return _columns(tree, 1, chapters)
    return ()


def booklet_columns(chapters: tuple[Chapter, ...]) -> tuple[TableColumn, ...]:
    """The columns of what begins with the game's first move: the main moves of each chapter's
    first line, or where that gives only one column, all lines with their variations."""
    every = [line for line in _lines(chapters) if _begins_the_game(line)]
    firsts = {line.chapter: line for line in reversed(every)}
    for level, lines in ((0, [line for line in every if line is firsts[line.chapter]]), (1, every)):
        columns = tuple(
            column for tree in move_trees(lines) for column in _columns(tree, level, chapters)
        )
        if len(columns) > 1:
            break
    return columns


def _lines(chapters: tuple[Chapter, ...]) -> Iterator[Line]:
    return (line for chapter in chapters for line in chapter.lines if line.kind == "line")


def _begins_the_game(line: Line) -> bool:
    first = next(iter(line.plies()), None)
    if first is None:
        return False
    start = first.path()[0].before
    return start.ply_number == 0 and start.key == position_key(chess.Board())


@dataclass(slots=True)
class _Way:
    """A column while it grows: the nodes that it shares, its own, and its side-lines, each with
    the node that it replaces."""

    shared: tuple[Node, ...]
    first: Node
    nodes: list[Node] = field(default_factory=list)
    asides: list[tuple[Node, Node]] = field(default_factory=list)


def _columns(tree: Tree, level: int, chapters: tuple[Chapter, ...]) -> tuple[TableColumn, ...]:
    """`level` is the nesting up to which branches get columns: 0 for the lines' main moves."""
    ways: list[_Way] = []
    todo = [_Way((), node) for node in reversed(tree.children)]
    while todo:
        way = todo.pop()
        ways.append(way)
        way.nodes = list(way.shared)
        node: Node | None = way.first
        while node is not None:
            way.nodes.append(node)
            branches: list[_Way] = []
            for other in node.children[1:]:
                if _level(other) <= level and (_level(other) == 0 or _height(other) >= LEAST_COLUMN):
                    branches.append(_Way(tuple(way.nodes), other))
                else:
                    way.asides.append((node.children[0], other))
            todo += reversed(branches)
            node = node.children[0] if node.children else None
    return tuple(_frozen(ways, {chapter.slug: chapter.number for chapter in chapters}))


def _frozen(ways: list[_Way], numbers: Mapping[str, int]) -> Iterator[TableColumn]:
    places = _places(ways)
    count = 0
    for index, way in enumerate(ways):
        notes: list[TableNote] = []
        for replaced, node in way.asides:
            count += 1
            items, cut = _note(node)
            notes.append(TableNote(count, replaced.ply, items, cut))
        last = way.nodes[-1]
        yield TableColumn(
            number=index + 1,
            plies=tuple(node.ply for node in way.nodes),
            own=len(way.shared),
            chapter=numbers[way.first.ply.chapter],
            notes=tuple(notes),
            sign=next((nag for ply in last.plies for nag in ply.nags if nag in _ASSESSMENTS), None),
            runs_into=next((one for one in places.get(last.ply.after.key, ())
                            if one.column != index + 1), None),
        )  # fmt: skip


def _places(ways: list[_Way]) -> Mapping[PositionKey, list[RunsInto]]:
    """For a position's key the columns that have it, each by its own moves."""
    found: dict[PositionKey, list[RunsInto]] = {}
    for index, way in enumerate(ways):
        for node in way.nodes[len(way.shared) :]:
            found.setdefault(node.ply.after.key, []).append(RunsInto(index + 1, node.ply))
    return found


def _level(node: Node) -> int:
    return min(ply.depth for ply in node.plies)


def _height(node: Node) -> int:
    """How many plies the longest way from here has, this one counted, up to `LEAST_COLUMN`."""
    height, level = 0, [node]
    while level and height < LEAST_COLUMN:
        height += 1
        level = [child for one in level for child in one.children]
    return height


def _note(first: Node) -> tuple[tuple[NoteItem, ...], bool]:
    """The side-line's own moves with the variations of them, which are cut where they are long."""
    items: list[NoteItem] = []
    run, cut = _run(first, MOST_NOTE)
    others: tuple[Node, ...] = ()
    for node in run:
        items.append(node.ply)
        for other in others:
            inner, inner_cut = _run(other, MOST_INNER)
            items.append(VariationStart(node.ply, other.ply.place))
            items += [one.ply for one in inner]
            items.append(VariationEnd(other.ply.place))
            cut = cut or inner_cut or any(len(one.children) > 1 for one in inner)
        others = node.children[1:]
    return tuple(items), cut


def _run(first: Node, most: int) -> tuple[list[Node], bool]:
    """A node and the first answers behind it, at most so many; whether more would follow."""
    run = [first]
    while run[-1].children and len(run) < most:
        run.append(run[-1].children[0])
    return run, bool(run[-1].children)

