"""The words of the page furniture, in each of the languages.

In: a language code. Out: `Words`, from `words/CODE.toml` beside this file. A key that is
missing or unknown there is a mistake of ours, not of an author: it raises ValueError, and a
test reads every language.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from builder.draw import text
from builder.model import Chapter
from builder.render.reader_words import ReaderWords
from builder.render.typography import signs_kept

FOLDER = Path(__file__).parent / "words"


@dataclass(frozen=True, slots=True)
class Words:
    """Short phrases as they stand on the page; `{…}` in them is filled in by `str.format`.

    `board` is what a board's text alternative is made of (`builder.draw.text.describe`),
    `reader` what the site's scripts say.
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
    notes: str
    note: str  # {number}
    index_of_positions: str
    by_opening: str
    index_of_variations: str
    index_of_names: str
    boards: str
    boards_about: str
    draft: str
    # The front
    by: str  # {author}
    repertoire_white: str
    repertoire_black: str
    colophon: str
    # Diagrams and positions
    diagram: str
    page: str
    white_to_move: str
    black_to_move: str
    start_position: str
    given_position: str
    position_after: str  # {move}
    also_reached_by: str
    # Games and opening tables
    game: str
    index_of_games: str
    players: str
    round: str  # {round}
    as_in: str  # {move} {place}
    as_in_other_order: str  # {move} {place}
    booklet_goes_on: str  # {moves}
    opening_table: str
    column: str  # {number}
    # How often moves are played
    one_game: str
    many_games: str  # {number}
    other_moves: str
    share: str
    white_score: str
    games_from: str  # {files}
    file_until: str  # {file} {date}
    # Getting about
    skip: str
    site_parts: str
    next: str
    previous: str
    back: str
    in_the_text: str
    to_task: str
    to_solution: str
    other_positions: str
    as_pdf: str
    as_pgn: str
    as_epd: str
    as_epub: str
    told_in_words: str  # what an EPUB says of its accessibility
    # Handouts
    at_a_glance: str
    cards: str
    they_play: str
    you_answer: str
    labelled: str  # {label} {text}
    left_out: str  # {count}
    page_short: str  # {page}
    # NAGs without a sign of their own; see `builder.render.nags`
    nags: tuple[str, ...]
    nag_topics: tuple[str, ...]
    degrees: tuple[str, ...]
    qualities: tuple[str, ...]
    months: tuple[str, ...]
    date: str  # {day} {month} {year}
    board: text.Words
    reader: ReaderWords


def read_words(language: str) -> Words:
    """The words of a language (see `builder.settings.LANGUAGES`)."""
    path = FOLDER / f"{language}.toml"
    data = tomllib.loads(signs_kept(path.read_text(encoding="utf-8"), language))
    board = text.Words(**_complete(text.Words, data.pop("board"), path))
    reader = ReaderWords(**_complete(ReaderWords, data.pop("reader"), path))
    data |= {"language": language, "board": board, "reader": reader}
    return Words(**_complete(Words, data, path))


def _complete(kind: type, data: dict[str, Any], path: Path) -> dict[str, Any]:
    known = {field.name for field in fields(kind)}
    if set(data) != known:
        raise ValueError(f"{path}: missing {known - set(data)}, unknown {set(data) - known}")
    return {key: tuple(value) if isinstance(value, list) else value for key, value in data.items()}


def date_words(date: str, words: Words) -> str:
    """An ISO 8601 date as the language writes it; empty for an empty one."""
    if not date:
        return ""
    year, month, day = date.split("-")
    return words.date.format(day=int(day), month=words.months[int(month) - 1], year=int(year))


def opening_words(chapter: Chapter, language: str) -> str:
    """The name of a chapter's opening, where its English suits the booklet; else empty."""
    return english_name(chapter.opening_name, language)


def english_name(name: str, language: str) -> str:
    """A name as it is printed: with the apostrophes of print, and in English booklets only."""
    return name.replace("'", "\u2019") if language == "en" else ""
