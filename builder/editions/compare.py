"""What changed between two editions, in chess terms.

In: two models. Out: changes, in the new edition's order, those of dropped places after it.
Positions are compared, not texts: a line that moved to another chapter is no change, a
recommendation that turned is one wherever it stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Literal

import chess

from builder.model import Booklet, Chapter, Diagram, Exercise, Ply, Position, PositionKey
from builder.place import Place
from builder.proof.signs import ASSESSMENT_SIGNS, ASSESSMENTS
from builder.proof.walk import Step, steps


class Kind(Enum):
    """In the order in which they are told: what a reader has to unlearn comes first."""

    RECOMMENDATION = "Recommendations"
    ASSESSMENT = "Assessments"
    SOLUTION = "Solutions"
    DROPPED = "Lines dropped"
    ADDED = "Lines added"
    DIAGRAM = "Diagrams"
    CHAPTER = "Chapters"
    PAGE = "Pages"


@dataclass(frozen=True, slots=True)
class Subject:
    """Something that a change speaks of, so that each output can say it in its own words.

    `text` is a move with its number (after), a number (diagram, exercise, page), or moves or a
    title (text), in standard letters; `detail` is a chapter's title where one is needed.
    """

    kind: Literal["after", "start", "diagram", "exercise", "page", "text"]
    text: str = ""
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """`old` and `new` are what stood and what stands there, either None.

    `where` tells the place in chess terms; `position` is the one that it is about; `old_place`
    and `new_place` where it stood and stands in the files.
    """

    kind: Kind
    chapter: str
    where: Subject | None
    old: Subject | None
    new: Subject | None
    position: Position | None = field(default=None, repr=False)
    old_place: Place | None = None
    new_place: Place | None = None


def compare(old: Booklet, new: Booklet) -> list[Change]:
    """All changes from one edition to the next, by kind, then in reading order."""
    return [
        *_recommendations(old, new),
        *_assessments(old, new),
        *_solutions(old, new),
        *_lines(old, new, Kind.DROPPED),
        *_lines(new, old, Kind.ADDED),
        *_diagrams(old, new),
        *_chapters(old, new),
    ]


def page_changes(old: Booklet, new: Booklet, old_pages: Mapping[str, int],
                 new_pages: Mapping[str, int]) -> list[Change]:  # fmt: skip
    """Diagrams that stand on another page; the pages are by the diagrams' anchors."""
    before = _by_position(old)
    found = []
    for key, diagram in _by_position(new).items():
        other = before.get(key)
        if other is None:
            continue
        was, now = old_pages.get(other.anchor), new_pages.get(diagram.anchor)
        if was is not None and now is not None and was != now:
            found.append(Change(
                Kind.PAGE, _title(new, diagram.chapter), _shown(diagram),
                Subject("page", str(was)), Subject("page", str(now)), diagram.position, other.place, diagram.place,
            ))  # fmt: skip
    return found


def _after(ply: Ply | None) -> Subject:
    return Subject("after", ply.label) if ply is not None else Subject("start")


def _text(words: str) -> Subject | None:
    return Subject("text", words) if words else None


def _shown(diagram: Diagram, title: str = "") -> Subject:
    return Subject("diagram", str(diagram.number), title)


def _title(booklet: Booklet, slug: str) -> str:
    return booklet.chapter(slug).title


# --- moves -----------------------------------------------------------------------------------


def _recommended(booklet: Booklet) -> dict[PositionKey, Step]:
    """For each position where the booklet's side moves, the move that it first gives."""
    found: dict[PositionKey, Step] = {}
    for step in steps(booklet):
        own = step.chapter.side == ("white" if step.ply.by_white else "black")
        if own and step.recommends():
            found.setdefault(step.ply.before.key, step)
    return found


def _recommendations(old: Booklet, new: Booklet) -> Iterator[Change]:
    before = _recommended(old)
    for key, step in _recommended(new).items():
        was = before.get(key)
        if was is not None and was.ply.move != step.ply.move:
            yield Change(
                Kind.RECOMMENDATION, step.chapter.title, _after(step.ply.parent),
                _text(was.ply.label), _text(step.ply.label), step.ply.before, was.ply.place, step.ply.place,
            )  # fmt: skip


def _signs(booklet: Booklet) -> dict[PositionKey, tuple[Step, int]]:
    found: dict[PositionKey, tuple[Step, int]] = {}
    for step in steps(booklet):
        for nag in step.ply.nags:
            if nag in ASSESSMENTS:
                found.setdefault(step.ply.after.key, (step, ASSESSMENTS[nag]))
    return found


def _assessments(old: Booklet, new: Booklet) -> Iterator[Change]:
    before = _signs(old)
    for key, (step, sign) in _signs(new).items():
        if key in before and before[key][1] != sign:
            was, was_sign = before[key]
            yield Change(
                Kind.ASSESSMENT, step.chapter.title, _after(step.ply),
                _text(ASSESSMENT_SIGNS[was_sign]), _text(ASSESSMENT_SIGNS[sign]), step.ply.after, was.ply.place, step.ply.place,
            )  # fmt: skip


def _lines(one: Booklet, other: Booklet, kind: Kind) -> Iterator[Change]:
    """The branches that `one` has and `other` has not, each by its first move."""
    known = _moves(step.ply for step in steps(other))
    told: set[tuple[PositionKey, chess.Move]] = set()
    branches: dict[str, list[Ply]] = {}
    first_of: dict[str, Ply] = {}
    for step in steps(one):
        ply = step.ply
        key = (ply.before.key, ply.move)
        if key in known or key in told:
            continue
        told.add(key)
        parent = ply.parent
        first = first_of.get(parent.anchor, ply) if parent is not None else ply
        first_of[ply.anchor] = first
        branches.setdefault(first.anchor, []).append(ply)
    for plies in branches.values():
        first = plies[0]
        text = " ".join(_running(plies))
        dropped = kind is Kind.DROPPED
        yield Change(
            kind, _title(one, first.chapter), _after(first.parent),
            _text(text) if dropped else None, None if dropped else _text(text), first.before, first.place if dropped else None,
            None if dropped else first.place,
        )  # fmt: skip


def _moves(plies: Iterable[Ply]) -> set[tuple[PositionKey, chess.Move]]:
    return {(ply.before.key, ply.move) for ply in plies}


def _running(plies: list[Ply], most: int = 8) -> Iterator[str]:
    """The first moves of a branch, its main one only; then how many more there are."""
    last: Ply | None = None
    shown = 0
    for ply in plies:
        if shown == most:
            break
        if last is None or ply.parent is last:
            yield ply.label if last is None or ply.by_white else ply.san
            last = ply
            shown += 1
    if len(plies) > shown:
        yield f"… (+{len(plies) - shown})"


# --- exercises, diagrams, chapters -----------------------------------------------------------


def _solutions(old: Booklet, new: Booklet) -> Iterator[Change]:
    before: dict[PositionKey, Exercise] = {
        exercise.diagram.position.key: exercise for exercise in old.exercises
    }
    for exercise in new.exercises:
        was = before.get(exercise.diagram.position.key)
        if was is None:
            continue
        old_moves = [ply.label for ply in was.answers]
        new_moves = [ply.label for ply in exercise.answers]
        if set(old_moves) != set(new_moves):
            yield Change(
                Kind.SOLUTION, _title(new, exercise.chapter),
                Subject("exercise", str(exercise.number)), _text(", ".join(old_moves)),
                _text(", ".join(new_moves)), exercise.diagram.position,
                was.place, exercise.place,
            )  # fmt: skip


def _by_position(booklet: Booklet) -> dict[PositionKey, Diagram]:
    found: dict[PositionKey, Diagram] = {}
    for diagram in booklet.diagrams:
        found.setdefault(diagram.position.key, diagram)
    return found


def _diagrams(old: Booklet, new: Booklet) -> Iterator[Change]:
    """Diagrams added, dropped, or moved to another chapter; a new number alone is no change."""
    before, now = _by_position(old), _by_position(new)
    for key, diagram in now.items():
        was = before.get(key)
        title = _title(new, diagram.chapter)
        where = _after(diagram.ply)
        if was is None:
            yield Change(Kind.DIAGRAM, title, where, None, _shown(diagram), diagram.position, None,
                         diagram.place)  # fmt: skip
        elif was.chapter != diagram.chapter:
            yield Change(
                Kind.DIAGRAM, title, where, _shown(was, _title(old, was.chapter)),
                _shown(diagram, title), diagram.position, was.place, diagram.place,
            )  # fmt: skip
    for key, diagram in before.items():
        if key not in now:
            yield Change(Kind.DIAGRAM, _title(old, diagram.chapter), _after(diagram.ply),
                         _shown(diagram), None, diagram.position, diagram.place)  # fmt: skip


def _chapters(old: Booklet, new: Booklet) -> Iterator[Change]:
    before: dict[str, Chapter] = {chapter.slug: chapter for chapter in old.chapters}
    now: dict[str, Chapter] = {chapter.slug: chapter for chapter in new.chapters}
    for slug, chapter in now.items():
        was = before.get(slug)
        if was is None:
            yield Change(Kind.CHAPTER, "", None, None, _text(chapter.title))
        elif was.title != chapter.title:
            yield Change(Kind.CHAPTER, "", None, _text(was.title), _text(chapter.title))
    for slug, chapter in before.items():
        if slug not in now:
            yield Change(Kind.CHAPTER, "", None, _text(chapter.title), None)
