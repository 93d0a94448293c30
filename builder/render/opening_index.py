"""The diagrams by the openings that they belong to, for the index of positions.

A diagram belongs to the last opening that has a name on the way to it. Names are English: in other
languages diagrams stand under the codes alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import chess

from builder.model import Booklet, Diagram, Opening
from builder.openings import Openings
from builder.render.words import english_name


@dataclass(frozen=True, slots=True)
class OpeningEntry:
    code: str
    name: str
    diagrams: tuple[Diagram, ...]


def opening_entries(booklet: Booklet) -> tuple[OpeningEntry, ...]:
    """In the order of the codes, then of the names; the diagrams in the booklet's."""
    openings = Openings.read()
    found: dict[tuple[str, str], list[Diagram]] = {}
    for diagram in booklet.diagrams:
        opening = _opening(diagram, openings) if diagram.number is not None else None
        if opening is not None:
            name = english_name(opening.name, booklet.language)
            found.setdefault((opening.code, name), []).append(diagram)
    return tuple(OpeningEntry(*key, tuple(found[key])) for key in sorted(found))


def _opening(diagram: Diagram, openings: Openings) -> Opening | None:
    path = diagram.ply.path() if diagram.ply else ()
    if not path or path[0].before.fen != chess.STARTING_FEN:
        return openings.at(diagram.position.key)
    named = (openings.at(ply.after.key) for ply in reversed(path))
    return next((opening for opening in named if opening), None)
