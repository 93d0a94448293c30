"""Branches in groups: each by the moves that lead there, so that none is indented far.

In: a repertoire. Out: groups of rows. A branch that much grows from begins a group of its own,
and its row says which.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from builder.model import Ply
from builder.render.handouts.branches import Branch, Repertoire

# A group that would have more rows is parted, at branches that so many grow from.
_MOST = 12
_FEWEST = 4


@dataclass(frozen=True, slots=True)
class GroupRow:
    """`group` is the number of the group where the branch goes on, None where it does so here."""

    branch: Branch
    indent: int
    group: int | None


@dataclass(frozen=True, slots=True)
class Group:
    """Rows that begin where `stem` ends, which is on the branch `last`, None at a start.

    `size` counts the branches here and in the groups that grow from it.
    """

    number: int
    stem: tuple[Ply, ...]
    last: Branch | None = field(repr=False)
    rows: tuple[GroupRow, ...]
    size: int


def groups(repertoire: Repertoire, first: int = 0) -> tuple[Group, ...]:
    """The groups in reading order, those that grow from one right behind it; `first` is the
    number of the first of them."""
    return tuple(_groups(_Branches(repertoire.branches), first))


def _groups(tree: _Branches, first: int) -> Iterator[Group]:
    """The number of a group is known when it is opened: the row that leads there is told it by
    its branch, since every group but the first begins at one."""
    plans = list(_plans(tree))
    number_at = {plan.origin: first + index for index, plan in enumerate(plans)}
    for plan in plans:
        rows = tuple(GroupRow(tree.branches[index], indent, number_at.get(index))
                     for index, indent in tree.rows(plan.tops, plan.parted))  # fmt: skip
        last = tree.branches[plan.start] if plan.start is not None else None
        yield Group(number_at[plan.origin], plan.stem, last, rows, tree.size_of(plan.tops))


@dataclass(frozen=True, slots=True)
class _Plan:
    """A group before it has a number: the branch that it begins at, the branch that its stem
    ends on, its first rows, and those of them that go on elsewhere."""

    origin: int | None
    start: int | None
    stem: tuple[Ply, ...]
    tops: Sequence[int]
    parted: Collection[int]


def _plans(tree: _Branches) -> Iterator[_Plan]:
    waiting: list[tuple[int | None, tuple[Ply, ...]]] = [(None, ())]
    while waiting:
        origin, stem = waiting.pop()
        start, tops = origin, tree.children.get(origin, [])
        while len(tops) == 1 and tops[0] in tree.children:
            start = tops[0]
            stem += tree.branches[start].moves
            tops = tree.children[start]
        crowded = tree.size_of(tops) > _MOST
        parted = [top for top in tops if crowded and tree.sizes[top] > _FEWEST]
        yield _Plan(origin, start, stem, tops, parted)
        waiting.extend((top, stem + tree.branches[top].moves) for top in reversed(parted))


class _Branches:
    """Branches with what grows from them, by index; `sizes` count that, and the branch."""

    def __init__(self, branches: Sequence[Branch]) -> None:
        self.branches = branches
        self.children: Mapping[int | None, list[int]] = _children(branches)
        self.sizes = [1] * len(branches)
        for index in reversed(range(len(branches))):
            above = branches[index].above
            if above is not None:
                self.sizes[above] += self.sizes[index]

    def size_of(self, tops: Sequence[int]) -> int:
        return sum(self.sizes[top] for top in tops)

    def rows(self, tops: Sequence[int], parted: Collection[int]) -> Iterator[tuple[int, int]]:
        """Each branch with its indent, those behind the `parted` ones left out."""
        stack = [(top, 0) for top in reversed(tops)]
        while stack:
            index, indent = stack.pop()
            yield index, indent
            if index not in parted:
                below = self.children.get(index, [])
                stack.extend((child, indent + 1) for child in reversed(below))


def _children(branches: Sequence[Branch]) -> dict[int | None, list[int]]:
    found: dict[int | None, list[int]] = {}
    for index, branch in enumerate(branches):
        found.setdefault(branch.above, []).append(index)
    return found
