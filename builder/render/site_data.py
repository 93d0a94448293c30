"""What the site's scripts know of the booklet.

In: the booklet. Out: the text of script files that assign plain data to `Plyleaf.data` and do
nothing else; a page opened from a folder can load those, where it could fetch nothing. A page
works without them; with them its board follows the text.

Moves are rows that refer to each other by number, so that a chapter of a thousand moves takes a
few kilobytes. A reference to a position is the number of the row that reaches it, or -1 - n for
the chapter's start position n. Rows come after what they refer to.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from builder import names
from builder.draw import board as drawn
from builder.draw.figures_svg import figures_svg
from builder.draw.marks import figures
from builder.model import NO_GAMES, Booklet, Chapter, Diagram, Exercise, Ply, Position
from builder.render.moves import titled_text
from builder.render.notation import PIECE_LETTERS, Notation
from builder.render.site_text import blocks_words, site_text
from builder.render.whereabouts import Whereabouts, whereabouts
from builder.render.words import Words, read_words

BOOKLET_DATA = "assets/booklet.js"
POSITIONS_DATA = "assets/positions.js"
TEXT_DATA = "assets/text.js"


@dataclass(frozen=True, slots=True)
class DataFile:
    """A file of the site and its text."""

    file: str
    text: str


def moves_file(chapter: str) -> str:
    """The file of a chapter's moves; `chapter` is its slug."""
    return f"assets/moves/{chapter}.js"


def data_files(booklet: Booklet, page_of: Mapping[str, int]) -> Iterator[DataFile]:
    """Every data file of the site. `page_of` gives the PDF's printed page of every anchor, if there is
    a PDF."""
    places = whereabouts(booklet)
    words = read_words(booklet.language)
    yield DataFile(BOOKLET_DATA, _assigned("booklet", _booklet(booklet, words)))
    games = _games(booklet)
    counts = booklet.counts or NO_GAMES
    keys = _Keys()
    pages: dict[str, list[int]] = {}
    played: dict[str, list[int]] = {}
    for chapter in booklet.chapters:
        rows = _Rows(chapter.slug, places, games)
        data = _moves(chapter, rows)
        keys.add(rows)
        pages[chapter.slug] = [page_of.get(ply.anchor, 0) for ply in rows.plies]
        played[chapter.slug] = [counts.played(ply).games for ply in rows.plies]
        name = f"moves[{json.dumps(chapter.slug)}]"
        yield DataFile(moves_file(chapter.slug), _assigned(name, data))
    known: dict[str, Any] = {"keys": list(keys.known), "of": keys.of}
    if page_of:
        known["pages"] = pages
    if any(any(row) for row in played.values()):
        known["played"] = played
    yield DataFile(POSITIONS_DATA, _assigned("positions", known))
    yield DataFile(TEXT_DATA, _assigned("text", site_text(booklet, places, words)))


def alone_data(booklet: Booklet, slug: str) -> str:
    """What the scripts of one chapter that is sent by itself know."""
    words = read_words(booklet.language)
    games = _games(booklet)
    data = _moves(booklet.chapter(slug), _Rows(slug, whereabouts(booklet), games))
    told = _booklet(booklet, words) | {"alone": True}
    return _assigned("booklet", told) + _assigned(f"moves[{json.dumps(slug)}]", data)


def _games(booklet: Booklet) -> frozenset[str]:
    return frozenset(line.anchor for chapter in booklet.chapters for line in chapter.lines
                     if line.kind == "game")  # fmt: skip


def _assigned(name: str, data: Mapping[str, Any]) -> str:
    """`Plyleaf.data.NAME = …;` in ASCII, with nothing in it that could end a script."""
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"), sort_keys=True)
    text = text.replace("<", "\\u003c")
    return f"Plyleaf.data.{name}={text};\n"


def _booklet(booklet: Booklet, words: Words) -> dict[str, Any]:
    """`id` names the reader's own record; a new edition goes on with the old one's."""
    notation = Notation(booklet.language, booklet.figurines)
    return {
        "id": names.slug(booklet.title),
        "title": booklet.title,
        "language": booklet.language,
        "figurines": booklet.figurines,
        "letters": PIECE_LETTERS[booklet.language],
        "alphabets": list(dict.fromkeys(
            (PIECE_LETTERS[booklet.language], PIECE_LETTERS["en"], *PIECE_LETTERS.values())
        )),
        "side": booklet.side,
        "chapters": [
            {"slug": one.slug, "page": names.chapter_page(one.slug), "number": one.number,
             "title": titled_text(one.title, notation), "side": one.side, "eco": one.code,
             "opening": one.opening_name, "exercises": len(one.exercises)}
            for one in booklet.chapters
        ],
        "words": asdict(words.reader) | {
            key: getattr(words, key)
            for key in ("diagram", "page", "exercise", "exercises", "hint", "solution", "position_after",
                        "chapter", "next", "start_position", "given_position", "white_to_move",
                        "black_to_move")
        },
        "board": asdict(words.board),
    }  # fmt: skip


# --- a chapter's moves ----------------------------------------------------------------------


def _moves(chapter: Chapter, rows: _Rows) -> dict[str, Any]:
    """The chapter's moves with those of other chapters that lead to them, its diagrams with
    their marks drawn, and its exercises."""
    for line in chapter.lines:
        for ply in line.plies():
            rows.ply(ply)
    diagrams = [_diagram(one, rows) for one in chapter.diagrams]
    exercises = [_exercise(one, rows) for one in chapter.exercises]
    return {
        "lines": rows.lines,
        "starts": rows.starts,
        "rows": rows.rows,
        "diagrams": diagrams,
        "exercises": exercises,
    }


@dataclass(slots=True)
class _Rows:
    """The rows of one chapter while they are gathered.

    A line is [anchor, page, whether it is another chapter's, whether it is a game's], without what
    is 0 at its end; `games` holds the anchors of the booklet's games. A row is [line, number in the
    line, what it follows, move in UCI, SAN, depth, NAGs], without the last where there are none.
    """

    chapter: str
    places: Whereabouts
    games: frozenset[str]
    plies: list[Ply] = field(default_factory=list)
    begun: list[Position] = field(default_factory=list)
    lines: list[list[Any]] = field(default_factory=list)
    starts: list[str] = field(default_factory=list)
    rows: list[list[Any]] = field(default_factory=list)
    _line_of: dict[str, int] = field(default_factory=dict)
    _start_of: dict[str, int] = field(default_factory=dict)
    _row_of: dict[str, int] = field(default_factory=dict)

    def position(self, ply: Ply | None, position: Position) -> int:
        return self.start(position) if ply is None else self.ply(ply)

    def start(self, position: Position) -> int:
        fen = position.fen
        if fen not in self._start_of:
            self._start_of[fen] = len(self.starts)
            self.starts.append(fen)
            self.begun.append(position)
        return -1 - self._start_of[fen]

    def ply(self, ply: Ply) -> int:
        """The row of a ply; those that lead to it are added as far as they are missing."""
        missing: list[Ply] = []
        step: Ply | None = ply
        while step is not None and step.anchor not in self._row_of:
            missing.append(step)
            step = step.parent
        for step in reversed(missing):
            self._add(step)
        return self._row_of[ply.anchor]

    def _add(self, ply: Ply) -> None:
        line, _, number = ply.anchor.rpartition(".")
        after = self._row_of[ply.parent.anchor] if ply.parent else self.start(ply.before)
        row = [self._line(line, ply), int(number), after, ply.move.uci(), ply.san, ply.depth]
        self._row_of[ply.anchor] = len(self.rows)
        self.plies.append(ply)
        self.rows.append(row + [list(ply.nags)] if ply.nags else row)

    def _line(self, anchor: str, ply: Ply) -> int:
        if anchor not in self._line_of:
            page = self.places.page(ply.chapter, ply.anchor)
            self._line_of[anchor] = len(self.lines)
            other, game = int(ply.chapter != self.chapter), int(anchor in self.games)
            self.lines.append([anchor, page, other, game][: 4 if game else 2 + other])
        return self._line_of[anchor]


@dataclass(slots=True)
class _Keys:
    """What makes positions the same, as the scripts compute it: the first four fields of a FEN,
    with the en-passant square only where the capture is legal. `known` numbers them; `of` holds
    these numbers for the rows and the starts of each chapter."""

    known: dict[str, int] = field(default_factory=dict)
    of: dict[str, dict[str, list[int]]] = field(default_factory=dict)

    def add(self, rows: _Rows) -> None:
        self.of[rows.chapter] = {
            "rows": [self._number(ply.after) for ply in rows.plies],
            "starts": [self._number(position) for position in rows.begun],
        }

    def _number(self, position: Position) -> int:
        return self.known.setdefault(position.epd, len(self.known))


def _diagram(diagram: Diagram, rows: _Rows) -> list[Any]:
    """[anchor, position, flipped], and its marks in SVG as seen from the other side, if it has
    any; as the diagram itself is seen the page has them drawn."""
    row = [diagram.anchor, rows.position(diagram.ply, diagram.position), int(diagram.flip)]
    if not diagram.marks:
        return row
    marks = tuple(drawn.Mark(mark.kind, mark.squares, mark.text) for mark in diagram.marks)
    view = drawn.BoardView(diagram.position.placement, flip=not diagram.flip, marks=marks)
    return [*row, figures_svg(figures(view))]


def _exercise(exercise: Exercise, rows: _Rows) -> dict[str, Any]:
    """`id` is what the reader's record knows it by."""
    asked = exercise.diagram
    return {
        "id": f"{exercise.chapter}:{exercise.given_id}",
        "anchor": exercise.anchor,
        "number": exercise.number,
        "solution": exercise.solution_anchor,
        "board": asked.anchor,
        "at": rows.position(asked.ply, asked.position),
        "flip": int(asked.flip),
        "answers": [rows.ply(ply) for ply in exercise.answers],
        "task": blocks_words(exercise.task),
        "hint": blocks_words(exercise.hint),
    }
