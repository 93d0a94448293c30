"""A piece of a tree to the blocks of a chapter: which moves stand in which line.

The main way comes first, in lines of about 25 moves that go on from one another; then the
branches that are too big to stand in brackets, each as a line from a named position. Alternatives
keep their order: behind one that becomes a line of its own, all later ones do too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import chess

from builder.intake.split import Piece
from builder.intake.tree import Node
from builder.intake.words import sentences
from builder.source.movetext import SIGN_NAGS

LINE_PLIES = 50  # of a line's main moves
LINE_WEIGHT = 150  # of a line with its variations
LEVELS = 3  # of brackets in one another
INLINE_PLIES = 16  # of a variation in brackets
INLINE_LETTERS = 240  # of the words in it
_TAIL = 8  # plies that are not worth a line of their own
_DIAGRAM_GAP = 6  # plies between two diagrams of a line
_BRANCH_PLIES = 6  # of alternatives in brackets that make a branch worth a diagram
_EARLY = 30  # plies after which a quiet line gets a diagram anyway
_ASSESSMENTS = frozenset(SIGN_NAGS.values())


@dataclass(slots=True)
class Block:
    """A line: the moves behind `at`, on the way `path`; `inline` are the alternatives to a move
    that stand in brackets behind it. `lead` is the move that the way begins with, also where
    lines before it hold that.

    `heading` is the level of a heading, 0 for none. `prose` stands in front: it is what stands
    before the first move where `opening_told`, or the comment of a node in `told`. A diagram
    stands at each node in `diagrams`; `opens` tells that one stands at the start. Sets hold `id`s.
    """

    at: Node
    lead: Node
    main: bool = False
    heading: int = 0
    prose: str = ""
    opening_told: bool = False
    opens: bool = False
    path: list[Node] = field(default_factory=list)
    inline: dict[int, list[Node]] = field(default_factory=dict)
    told: set[int] = field(default_factory=set)
    diagrams: set[int] = field(default_factory=set)
    result: str = ""


@dataclass(frozen=True, slots=True)
class _Measure:
    """What is in a subtree: plies, levels of brackets, letters of words, a long comment."""

    plies: int
    levels: int
    letters: int
    has_long: bool


@dataclass(frozen=True, slots=True)
class _Task:
    at: Node
    first: list[Node]
    depth: int


Kids = Callable[[Node], list[Node]]


def lay_out(piece: Piece, kids: Kids, cut: Callable[[Node], bool]) -> list[Block]:
    """The blocks of a piece in reading order. `cut` tells where another piece goes on."""
    return _Layout(piece, kids, cut).blocks()


class _Layout:
    def __init__(self, piece: Piece, kids: Kids, cut: Callable[[Node], bool]) -> None:
        self.piece = piece
        self.kids = kids
        self.cut = cut
        self.measures = _measured(piece, kids)
        self.done: list[Block] = []
        self.deferred: list[_Task] = []
        self.block_of: dict[int, Block] = {}
        # Where a diagram may stand: at branches that become lines, at assessments, at the others.
        self.proposed: tuple[list[Node], list[Node], list[Node]] = ([], [], [])

    def blocks(self) -> list[Block]:
        tasks = [_Task(self.piece.at, list(self.piece.first), 0)]
        while tasks:
            task = tasks.pop()
            self.deferred = []
            self._way(task)
            tasks += reversed(self.deferred)
        self._diagrams()
        return self.done

    def _way(self, task: _Task) -> None:
        """The lines of one way on, to its end."""
        block = self._begin(task)
        at, following, weight = task.at, task.first, 0
        while following:
            node, others = following[0], following[1:]
            inline, later = self._parted(others)
            block.path.append(node)
            self.block_of[id(node)] = block
            block.inline[id(node)] = inline
            beside = sum(self.measures[id(other)].plies for other in inline)
            weight += 1 + beside
            if later:
                # Alternatives to the way itself stand beside it, others one level deeper.
                depth = max(1, task.depth) if at is task.at else task.depth + 1
                self.deferred.append(_Task(at, later, depth))
                self.proposed[0].append(at)
            elif beside >= _BRANCH_PLIES:
                self.proposed[2].append(at)
            at, following = node, self.kids(node)
            if self.cut(at):
                block.diagrams.add(id(at))
            if following and self._is_full(block, weight, at):
                block = self._go_on(block, at)
                weight = 0
        self._assessed(block)

    def _begin(self, task: _Task) -> Block:
        """The first block of a way, with what stands in front of it."""
        block = Block(task.at, task.first[0], main=task.depth == 0)
        block.heading = min(task.depth + 1, 4) if task.depth else 0
        self.done.append(block)
        words = task.first[0].opening
        root = self.piece.tree.root
        if task.first[0] in root.children[:1]:
            block.prose = root.comment
        elif is_long(words):
            block.prose, block.opening_told = words, True
        return block

    def _go_on(self, block: Block, at: Node) -> Block:
        """A new block that continues the last one, with a long comment between them."""
        self._assessed(block)
        following = Block(at, block.lead, main=block.main)
        if is_long(at.comment):
            following.prose = at.comment
            block.told.add(id(at))
        self.done.append(following)
        return following

    def _is_full(self, block: Block, weight: int, at: Node) -> bool:
        if is_long(at.comment):
            return True
        full = len(block.path) >= LINE_PLIES or weight >= LINE_WEIGHT
        return full and self._main_left(at) > _TAIL

    def _main_left(self, node: Node) -> int:
        """The main moves behind a node, up to a few."""
        count = 0
        while count <= _TAIL and (following := self.kids(node)):
            node = following[0]
            count += 1
        return count

    def _parted(self, others: list[Node]) -> tuple[list[Node], list[Node]]:
        """The alternatives that stand in brackets, and those that become lines."""
        for index, node in enumerate(others):
            found = self.measures[id(node)]
            if (found.plies > INLINE_PLIES or found.levels >= LEVELS or found.has_long
                    or found.letters > INLINE_LETTERS):  # fmt: skip
                return others[:index], others[index:]
        return others, []

    # --- diagrams ----------------------------------------------------------------------------

    def _diagrams(self) -> None:
        given = self.piece.tree.start.fen != chess.STARTING_FEN
        self.done[0].opens = given or self.piece.at.move is not None
        for nodes in self.proposed:
            for node in nodes:
                if id(node) in self.block_of:
                    self._propose(self.block_of[id(node)], node)
        self._last_resort()

    def _propose(self, block: Block, node: Node) -> None:
        """A diagram at a node, unless one stands close by."""
        index = next(i for i, one in enumerate(block.path) if one is node)
        near = block.path[max(0, index - _DIAGRAM_GAP + 1) : index + _DIAGRAM_GAP]
        if not any(id(one) in block.diagrams for one in near):
            block.diagrams.add(id(node))

    def _assessed(self, block: Block) -> None:
        """Assessments on the main moves of a line; the last one first."""
        self.proposed[1].extend(
            node for node in reversed(block.path) if _ASSESSMENTS & set(node.nags)
        )

    def _last_resort(self) -> None:
        """No chapter is without a diagram."""
        if any(block.diagrams or block.opens for block in self.done):
            return
        path = [(block, node) for block in self.done if block.main for node in block.path]
        if path:
            block, node = path[-1] if len(path) <= _EARLY else path[_EARLY * 2 // 3 - 1]
            block.diagrams.add(id(node))


def is_long(text: str) -> bool:
    """Whether a comment is better set as a paragraph between lines."""
    return len(text) > 240 or (len(text) > 120 and len(sentences(text)) > 2)


def _measured(piece: Piece, kids: Kids) -> dict[int, _Measure]:
    """Every node of a piece with what is in it and behind it."""
    order: list[Node] = []
    stack = list(piece.first)
    while stack:
        node = stack.pop()
        order.append(node)
        stack += kids(node)
    found: dict[int, _Measure] = {}
    for node in reversed(order):
        inner = [found[id(child)] for child in kids(node)]
        levels = max([one.levels + (index > 0) for index, one in enumerate(inner)], default=0)
        letters = len(node.comment) + len(node.opening)
        found[id(node)] = _Measure(
            1 + sum(one.plies for one in inner), levels,
            letters + sum(one.letters for one in inner),
            is_long(node.comment) or is_long(node.opening) or any(one.has_long for one in inner),
        )  # fmt: skip
    return found
