"""The index of positions: the booklet's diagrams in groups by the moves that lead to them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from builder.model import Diagram, Ply

# A group that would be larger is parted at the next move in which its diagrams differ.
_MOST = 9


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
    """Parts a group until each is small enough, or all its positions are one."""
    waiting = [list(diagrams)]
    while waiting:
        group = waiting.pop(0)
        stem = _common([_path(diagram) for diagram in group])
        parts: dict[object, list[Diagram]] = {}
        for diagram in group:
            path = _path(diagram)
            move = path[len(stem)].move if len(path) > len(stem) else None
            parts.setdefault(move, []).append(diagram)
        if len(group) <= _MOST or len(parts) == 1:
            yield PositionGroup(stem, tuple(group))
        else:
            waiting = list(parts.values()) + waiting


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
