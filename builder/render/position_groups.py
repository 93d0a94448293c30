"""The index of positions: the booklet's diagrams in groups by the moves that lead to them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from builder.model import Diagram, Ply

# A group that would be larger is parted, if that gives groups of at least `_FEWEST`.
_MOST = 9
_FEWEST = 3


@dataclass(frozen=True, slots=True)
class PositionGroup:
    """Diagrams whose positions begin with the same moves; none where a FEN was given."""

    moves: tuple[Ply, ...]
    diagrams: tuple[Diagram, ...]


def position_groups(diagrams: Iterable[Diagram]) -> tuple[PositionGroup, ...]:
    """The groups in the order in which their first diagrams stand in the booklet."""
    numbered = [diagram for diagram in diagrams if diagram.number is not None]
    rooted: dict[object, list[Diagram]] = {}
    for diagram in numbered:
        path = diagram.ply.path() if diagram.ply else ()
        start = path[0].before.key if path else "start"
        rooted.setdefault(start, []).append(diagram)
    return tuple(group for same in rooted.values() for group in _parted(same))


def _parted(diagrams: Sequence[Diagram]) -> Iterable[PositionGroup]:
    """Parts a group that is too large where its positions part into several large groups.

    What stands on the way there, or leaves it by itself, is gathered in groups in front.
    """
    waiting = [list(diagrams)]
    while waiting:
        group = waiting.pop()
        gathered: list[Diagram] = []
        while len(group) > _MOST:
            parts = _by_next_move(group)
            large = [part for part in parts if len(part) >= _FEWEST]
            if not large:
                break
            small = [one for part in parts if len(part) < _FEWEST for one in part]
            if gathered and len(gathered) + len(small) > _MOST:
                yield _group(gathered)
                gathered = []
            gathered += small
            group = large[0]
            if len(large) > 1:
                waiting.extend(reversed(large))
                group = []
        if gathered:
            yield _group(gathered)
        if group:
            yield _group(group)


def _by_next_move(group: Sequence[Diagram]) -> list[list[Diagram]]:
    """The diagrams by the first move in which they differ; those that end before it first."""
    paths = [_path(diagram) for diagram in group]
    length = len(_common(paths))
    parts: dict[object, list[Diagram]] = {None: []}
    for diagram, path in zip(group, paths, strict=True):
        move = path[length].move if len(path) > length else None
        parts.setdefault(move, []).append(diagram)
    return [part for part in parts.values() if part]


def _group(diagrams: Sequence[Diagram]) -> PositionGroup:
    stem = _common([_path(diagram) for diagram in diagrams])
    return PositionGroup(stem, tuple(sorted(diagrams, key=lambda one: one.number or 0)))


def _path(diagram: Diagram) -> tuple[Ply, ...]:
    return diagram.ply.path() if diagram.ply else ()


def _common(paths: Sequence[tuple[Ply, ...]]) -> tuple[Ply, ...]:
    """The moves that all the paths begin with."""
    first = paths[0]
    length = min(len(path) for path in paths)
    for index in range(length):
        if any(path[index].move != first[index].move for path in paths):
            return first[:index]
    return first[:length]
