"""The words of the page furniture, in each of the languages.

In: a language code. Out: `Words`, from `words/CODE.toml` beside this file. A key that is
missing or unknown there is a mistake of ours, not of an author: it raises ValueError, and a
test reads every language.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path

FOLDER = Path(__file__).parent / "words"


@dataclass(frozen=True, slots=True)
class Words:
    """Short phrases as they stand on the page; `{…}` in them is filled in by `str.format`.

    Pieces are in the order pawn, knight, bishop, rook, queen, king, as `chess` counts them.
    """

    language: str
    # Parts of the booklet
    contents: str
    chapter: str
    exercises: str
    exercise: str
    solutions: str
    solution: str
    hint: str
    footnotes: str
    footnote: str
    index_of_positions: str
    index_of_variations: str
    index_of_names: str
    boards: str
    boards_note: str
    draft: str
    # The front
    by: str
    edition_of: str
    repertoire_white: str
    repertoire_black: str
    # Diagrams and positions
    diagram: str
    page: str
    white_to_move: str
    black_to_move: str
    start_position: str
    position_after: str
    position: str
    also_reached_by: str
    fen: str
    white: str
    black: str
    pieces: tuple[str, ...]
    piece_plurals: tuple[str, ...]
    empty_board: str
    seen_from_black: str
    # Annotations by meaning: `{squares}` or `{path}`
    plan: str
    threat: str
    guard: str
    key: str
    weak: str
    label: str
    # Getting about
    skip: str
    site_parts: str
    next: str
    previous: str
    back: str
    in_the_text: str
    to_task: str
    to_solution: str
    to_boards: str
    moves: str
    nothing_here: str
    # NAGs without a sign of their own; see `builder.render.nags`
    nags: tuple[str, ...]
    nag_topics: tuple[str, ...]
    degrees: tuple[str, ...]
    qualities: tuple[str, ...]


def read_words(language: str) -> Words:
    """The words of a language (see `builder.settings.LANGUAGES`)."""
    path = FOLDER / f"{language}.toml"
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    known = {field.name for field in fields(Words)} - {"language"}
    if set(data) != known:
        raise ValueError(f"{path.name}: missing {known - set(data)}, unknown {set(data) - known}")
    values = {key: tuple(value) if isinstance(value, list) else value for key, value in data.items()}
    return Words(language=language, **values)
