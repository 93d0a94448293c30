"""The repertoire as branches: their move, the booklet's answer, and how it goes on from there.

In: a booklet and one of its sides. Out: for each position that its lines start from, the
branches in reading order, each knowing the one that it grows from. Walked with loops: a line
may be as long and as nested as its author likes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import chess

from builder.book.tree import Node, Tree, move_trees
from builder.model import Booklet, Diagram, Ply, Position, PositionKey, position_key
from builder.proof.walk import steps


@dataclass(frozen=True, slots=True)
class Branch:
    """One answer.

    `reply` is the other side's move that it answers, None at a start. `run` is how it goes on,
    up to where the ways part. `above` is the index of the branch that it grows from, None for
    a first one, and `depth` counts those above. `diagram` is the last numbered one on it.
    `borrowed` tells that the answer stands where another order of moves comes to the position,
    `cut` that branches that grow from it were left out.
    """

    reply: Ply | None
    answer: Ply
    run: tuple[Ply, ...]
    above: int | None
    depth: int
    diagram: Diagram | None
    borrowed: bool = False
    cut: bool = False

    @property
    def moves(self) -> tuple[Ply, ...]:
        return (*((self.reply,) if self.reply else ()), self.answer, *self.run)


@dataclass(frozen=True, slots=True)
class Repertoire:
    """What one side plays from one position on; `diagram` is a numbered one of that position."""

    white: bool
    start: Position
    diagram: Diagram | None
    branches: tuple[Branch, ...] = field(repr=False)

    @property
    def from_the_beginning(self) -> bool:
        """Whether it is the game's own start."""
        return self.start.ply_number == 0 and self.start.key == position_key(chess.Board())


def repertoires(booklet: Booklet) -> tuple[Repertoire, ...]:
    """White's first, then Black's; for each, the starts in reading order."""
    return tuple(found for white in (True, False) for found in _side(booklet, white))


def _side(booklet: Booklet, white: bool) -> Iterator[Repertoire]:
    chapters = {chapter.slug: chapter for chapter in booklet.chapters
                if chapter.side in ("both", "white" if white else "black")}  # fmt: skip
    reached = {ply.anchor for plies in booklet.reached.values() for ply in plies}
    recommended = frozenset(
        step.ply.anchor for step in steps(booklet)
        if step.chapter.slug in chapters and step.ply.by_white == white
        and step.recommends() and step.ply.anchor in reached
    )  # fmt: skip
    trees = move_trees(line for chapter in chapters.values() for line in chapter.lines
                       if line.is_taught)  # fmt: skip
    starts = {diagram.position.key: diagram for diagram in reversed(booklet.diagrams)
              if diagram.ply is None and diagram.number is not None}  # fmt: skip
    grower = _Grower(white, recommended, _diagrams(booklet), _known(trees, recommended))
    for tree in trees:
        branches = tuple(grower.branches(tree))
        if branches:
            yield Repertoire(white, tree.start, starts.get(tree.start.key), branches)


def _diagrams(booklet: Booklet) -> Mapping[str, Diagram]:
    """The numbered diagrams by the plies that they show."""
    found: dict[str, Diagram] = {}
    for diagram in booklet.diagrams:
        if diagram.ply is not None and diagram.number is not None:
            found.setdefault(diagram.ply.anchor, diagram)
    return found


def _known(trees: Iterable[Tree], recommended: Collection[str]) -> Mapping[PositionKey, list[Node]]:
    """The recommended answers in each position."""
    found: dict[PositionKey, list[Node]] = {}
    for tree in trees:
        for node, _ in tree.walk():
            if any(ply.anchor in recommended for ply in node.plies):
                found.setdefault(node.ply.before.key, []).append(node)
    return found


@dataclass(frozen=True, slots=True)
class _Step:
    """A reply with an answer to it. `borrowed` tells that another order of moves answers."""

    reply: Node | None
    answer: Node
    borrowed: bool


@dataclass(frozen=True, slots=True)
class _Grower:
    white: bool
    recommended: Collection[str]
    diagrams: Mapping[str, Diagram]
    known: Mapping[PositionKey, list[Node]]

    def branches(self, tree: Tree) -> Iterator[Branch]:
        first = (
            [_Step(None, node, False) for node in tree.children if self._is_recommended(node)]
            if tree.start.white_to_move == self.white else self._steps(tree.children)
        )  # fmt: skip
        waiting: list[tuple[_Step, int | None, int]] = [(step, None, 0) for step in reversed(first)]
        index = 0
        while waiting:
            step, above, depth = waiting.pop()
            run, parts, borrowed = self._run(step)
            nodes = [node for node in (step.reply, step.answer, *run) if node]
            yield Branch(
                reply=step.reply.ply if step.reply else None,
                answer=step.answer.ply,
                run=tuple(node.ply for node in run),
                above=above,
                depth=depth,
                diagram=self._diagram(nodes),
                borrowed=borrowed,
            )
            waiting.extend((part, index, depth + 1) for part in reversed(parts))
            index += 1

    def _run(self, step: _Step) -> tuple[list[Node], list[_Step], bool]:
        """How it goes on as long as there is one way, the ways after that, and whether another
        order of moves tells what comes then. What begins a game stands by itself."""
        run: list[Node] = []
        while not step.borrowed:
            steps_on = self._steps(step.answer.children)
            if len(steps_on) != 1 or (step.reply is None and not run):
                return run, steps_on, False
            step = steps_on[0]
            run += [node for node in (step.reply, step.answer) if node]
        return run, [], True

    def _steps(self, replies: Iterable[Node]) -> list[_Step]:
        return [step for reply in replies if not reply.ply.is_pass for step in self._answers(reply)]

    def _answers(self, reply: Node) -> list[_Step]:
        here = [node for node in reply.children if self._is_recommended(node)]
        if here:
            return [_Step(reply, node, False) for node in here]
        elsewhere = self.known.get(reply.ply.after.key, ())
        return [_Step(reply, node, True) for node in _by_move(elsewhere)]

    def _is_recommended(self, node: Node) -> bool:
        return any(ply.anchor in self.recommended for ply in node.plies)

    def _diagram(self, nodes: Sequence[Node]) -> Diagram | None:
        return next((self.diagrams[ply.anchor] for node in reversed(nodes) for ply in node.plies
                     if ply.anchor in self.diagrams), None)  # fmt: skip


def _by_move(nodes: Iterable[Node]) -> list[Node]:
    """One node for each move."""
    return list({node.ply.move: node for node in nodes}.values())


# --- leaving out ------------------------------------------------------------------------------


def family_count(found: Iterable[Repertoire]) -> int:
    """Branches that grow from the same one, or from the same start, are a family."""
    return len(_families(tuple(found)))


def thinned(found: Sequence[Repertoire], families: int) -> tuple[Repertoire, ...]:
    """The repertoires with so many families, the deepest ones being left out first, and of
    equally deep ones the last."""
    kept = frozenset(_families(found)[:families])
    thin: list[Repertoire] = []
    for number, repertoire in enumerate(found):
        index: dict[int, int] = {}
        branches: list[Branch] = []
        for old, branch in enumerate(repertoire.branches):
            if (number, branch.above) not in kept:
                continue
            index[old] = len(branches)
            above = None if branch.above is None else index[branch.above]
            branches.append(replace(branch, above=above))
        parents = {branch.above for branch in repertoire.branches}
        cut = {index[old] for old in parents
               if old in index and (number, old) not in kept}  # fmt: skip
        if branches:
            thin.append(replace(repertoire, branches=tuple(
                replace(branch, cut=place in cut) for place, branch in enumerate(branches)
            )))  # fmt: skip
    return tuple(thin)


def _families(found: Sequence[Repertoire]) -> list[tuple[int, int | None]]:
    """The families, each by its repertoire and the branch that it grows from, least deep first."""
    depths = {
        (number, branch.above): branch.depth
        for number, repertoire in enumerate(found) for branch in repertoire.branches
    }  # fmt: skip
    return sorted(depths, key=lambda family: (depths[family], family[0], family[1] or 0))


def branch_count(found: Iterable[Repertoire]) -> int:
    return sum(len(repertoire.branches) for repertoire in found)
