"""What a way to hear the words costs: causes by their names, each so many times its weight.

The weights stand with the words of the language (`[costs]`, and each group of moves).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeAlias

Costs: TypeAlias = tuple[tuple[str, float], ...]


def total(costs: Iterable[tuple[str, float]], weights: Mapping[str, float]) -> float:
    return sum(weights[name] * times for name, times in costs)


def times(costs: Costs, share: float) -> Costs:
    return tuple((name, count * share) for name, count in costs)
