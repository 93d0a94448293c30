"""An errata sheet: what changed since an earlier edition, for readers who have that one.

In: the changes, the new booklet, and a theme's templates. Out: HTML for the press. Moves are set
in the new booklet's notation and language.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.resources import files

from markupsafe import Markup

from builder.draw import print_board
from builder.draw.board import BoardView
from builder.draw.text import describe
from builder.editions.compare import Change, Kind, Subject
from builder.model import Booklet, Position
from builder.render.handouts.paper import Paper
from builder.render.moves import titled
from builder.render.typeset import typeset
from builder.render.typography import signs_kept
from builder.render.words import Words

TEMPLATE = "errata.html"
# A board helps where a reader has to learn another move or another opinion.
WITH_BOARD = (Kind.RECOMMENDATION, Kind.ASSESSMENT, Kind.SOLUTION)


@dataclass(frozen=True, slots=True)
class ErrataWords:
    """`kinds` are the titles of the kinds of change, in their order."""

    title: str
    nothing: str
    since: str
    kinds: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    where: Markup
    old: Markup
    new: Markup
    board: Markup | None


@dataclass(frozen=True, slots=True)
class Section:
    title: str
    entries: tuple[Entry, ...]


def read_errata_words(language: str) -> ErrataWords:
    """Raises KeyError for a language that has no words."""
    text = (files("builder.render.errata") / "words.toml").read_text(encoding="utf-8")
    found = tomllib.loads(signs_kept(text, language))[language]
    return ErrataWords(found["title"], found["nothing"], found["since"], tuple(found["kinds"]))


def errata_html(paper: Paper, old: Booklet, changes: Sequence[Change]) -> str:
    """The sheet. Raises what `Paper.text` raises."""
    words = read_errata_words(paper.booklet.language)
    return paper.text(TEMPLATE, words.title, sections=tuple(_sections(paper, words, changes)),
                      nothing=words.nothing, editions=_editions(words, old, paper.booklet))  # fmt: skip


def _editions(words: ErrataWords, old: Booklet, new: Booklet) -> str:
    """Which editions; empty when the booklets don't tell."""
    was, now = (one.edition or one.date for one in (typeset(old), typeset(new)))
    return words.since.format(old=was, new=now) if was and now and was != now else ""


def _sections(paper: Paper, words: ErrataWords, changes: Sequence[Change]) -> Iterator[Section]:
    for kind, title in zip(Kind, words.kinds, strict=True):
        chosen = tuple(_entry(paper, change) for change in changes if change.kind is kind)
        if chosen:
            yield Section(title, chosen)


def _entry(paper: Paper, change: Change) -> Entry:
    def shown(*parts: str) -> Markup:
        return titled(", ".join(part for part in parts if part), paper.medium.notation)

    board = None
    if change.kind in WITH_BOARD and change.position is not None:
        board = _board(change.position, paper.medium.words)
    where = shown(change.chapter, _words(change.where, paper.medium.words))
    old, new = (_words(subject, paper.medium.words) for subject in (change.old, change.new))
    return Entry(where, shown(old), shown(new), board)


def _words(subject: Subject | None, words: Words) -> str:
    """What a change speaks of, in the booklet's language."""
    if subject is None:
        return ""
    said = {
        "after": words.position_after.format(move=subject.text),
        "start": words.start_position,
        "diagram": f"{words.diagram} {subject.text}",
        "exercise": f"{words.exercise} {subject.text}",
        "page": f"{words.page} {subject.text}",
        "text": subject.text,
    }[subject.kind]
    return f"{said}, {subject.detail}" if subject.detail else said


def _board(position: Position, words: Words) -> Markup:
    view = BoardView(position.placement, position.white_to_move, coordinates=False)
    return Markup(print_board.board_html(view, alt=describe(view, words.board)))
