"""Flash cards: a position in front, what the booklet plays there behind.

In: a booklet. Out: one card for each position in which the booklet's side moves and the booklet
recommends a move, and for each exercise; positions that are the same share a card.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import chess

from builder.book.tree import Node, move_trees
from builder.model import (
    Booklet, Chapter, Comment, Diagram, Exercise, Inline, Line, Ply, Position, PositionKey,
)  # fmt: skip
from builder.proof.walk import BLAME, steps

# Half-moves that are shown behind an answer.
_MOST_AFTER = 5


@dataclass(frozen=True, slots=True)
class Answer:
    """A move to play: `after` is how the booklet goes on, `comment` what it says of it."""

    ply: Ply
    after: tuple[Ply, ...]
    comment: tuple[Inline, ...] = field(repr=False)


@dataclass(frozen=True, slots=True)
class Card:
    """`ply` is the move that led to the position, None at a start. `diagram` is the numbered
    one that shows it in the booklet; `exercise` the exercise that asks for the answer."""

    number: int
    chapter: Chapter = field(repr=False)
    position: Position
    flip: bool
    ply: Ply | None
    answers: tuple[Answer, ...]
    diagram: Diagram | None
    exercise: Exercise | None

    @property
    def moves(self) -> tuple[str, ...]:
        """The right moves in SAN."""
        return tuple(answer.ply.san for answer in self.answers)


def deck(booklet: Booklet, slugs: Iterable[str]) -> tuple[Card, ...]:
    """The cards of these chapters in reading order, a chapter's exercises behind its lines."""
    wanted = frozenset(slugs)
    cards = _Cards(booklet)
    plies = _recommended(booklet)
    for chapter in booklet.chapters:
        if chapter.slug in wanted:
            for ply in plies.get(chapter.slug, ()):
                cards.add_move(chapter, ply)
            for exercise in chapter.exercises:
                cards.add_exercise(chapter, exercise)
    return cards.freeze()


def _recommended(booklet: Booklet) -> dict[str, list[Ply]]:
    """By chapter, the moves that it recommends to its side. A position after a pass is none
    that anybody comes to."""
    reached = {ply.anchor for plies in booklet.reached.values() for ply in plies}
    found: dict[str, list[Ply]] = {}
    for step in steps(booklet):
        side = "white" if step.ply.by_white else "black"
        own = step.chapter.side in ("both", side)
        if own and step.recommends() and step.ply.anchor in reached:
            found.setdefault(step.chapter.slug, []).append(step.ply)
    return found


@dataclass(slots=True)
class _Draft:
    """A card while answers are gathered: the plies that play each of them."""

    chapter: Chapter
    position: Position
    ply: Ply | None
    flip: bool
    answers: dict[chess.Move, list[Ply]] = field(default_factory=dict)
    exercise: Exercise | None = None


class _Cards:
    def __init__(self, booklet: Booklet) -> None:
        lines = [line for chapter in booklet.chapters for line in chapter.lines]
        self._comments = _comments(lines)
        self._nodes = _nodes(line for line in lines if line.is_taught)
        self._solved: dict[str, Node] = {}
        self._recommended = {ply.anchor for plies in _recommended(booklet).values()
                             for ply in plies}  # fmt: skip
        self._diagrams = _diagrams(booklet)
        self._drafts: dict[PositionKey, _Draft] = {}

    def add_move(self, chapter: Chapter, ply: Ply) -> None:
        draft = self._drafts.setdefault(
            ply.before.key, _Draft(chapter, ply.before, ply.parent, flip=not ply.by_white)
        )
        draft.answers.setdefault(ply.move, []).append(ply)

    def add_exercise(self, chapter: Chapter, exercise: Exercise) -> None:
        """Answers that stand later in the solution are to positions of their own: left out."""
        shown = exercise.diagram
        draft = self._drafts.setdefault(
            shown.position.key, _Draft(chapter, shown.position, shown.ply, shown.flip)
        )
        draft.exercise = draft.exercise or exercise
        solution = exercise.solution
        self._solved |= {anchor: node for anchor, node in _nodes((solution,)).items()
                         if node.ply.line == solution.anchor}  # fmt: skip
        for ply in exercise.answers:
            if ply.before.key == shown.position.key and not ply.is_pass:
                draft.answers.setdefault(ply.move, []).append(ply)

    def freeze(self) -> tuple[Card, ...]:
        drafts = (draft for draft in self._drafts.values() if draft.answers)
        return tuple(
            Card(number, draft.chapter, draft.position, draft.flip, draft.ply,
                 tuple(self._answer(plies) for plies in draft.answers.values()),
                 self._diagrams.get(draft.position.key), draft.exercise)
            for number, draft in enumerate(drafts, start=1)
        )  # fmt: skip

    def _answer(self, plies: Sequence[Ply]) -> Answer:
        """Of several plies that play the move, the first that the author speaks of."""
        ply = next((ply for ply in plies if ply.anchor in self._comments), plies[0])
        return Answer(ply, tuple(self._after(plies[0])), self._comments.get(ply.anchor, ()))

    def _after(self, ply: Ply) -> Iterator[Ply]:
        """The next moves: of its own side the booklet's recommendations, of the other side the
        first that the author doesn't criticise, where there is one."""
        solved = self._solved.get(ply.anchor)
        node = solved or self._nodes[ply.anchor]
        for _ in range(_MOST_AFTER):
            found = [child for child in node.children if not child.ply.is_pass]
            if solved is None and node.ply.by_white != ply.by_white:
                found = [child for child in found if self._is_recommended(child)]
            if not found:
                return
            node = next((child for child in found if not BLAME & set(child.ply.nags)), found[0])
            yield node.ply

    def _is_recommended(self, node: Node) -> bool:
        return any(ply.anchor in self._recommended for ply in node.plies)


def _nodes(lines: Iterable[Line]) -> dict[str, Node]:
    """The node of each ply of the lines' trees."""
    return {ply.anchor: node for tree in move_trees(lines) for node, _ in tree.walk()
            for ply in node.plies}  # fmt: skip


def _comments(lines: Iterable[Line]) -> Mapping[str, tuple[Inline, ...]]:
    """The first comment behind each ply."""
    found: dict[str, tuple[Inline, ...]] = {}
    for line in lines:
        for item in line.items:
            if isinstance(item, Comment) and item.after is not None and item.inlines:
                found.setdefault(item.after.anchor, item.inlines)
    return found


def _diagrams(booklet: Booklet) -> Mapping[PositionKey, Diagram]:
    found: dict[PositionKey, Diagram] = {}
    for diagram in booklet.diagrams:
        if diagram.number is not None:
            found.setdefault(diagram.position.key, diagram)
    return found
