"""All lines of a booklet played out, and the positions named in them.

A line may start at a position that a later chapter names, so lines are played in rounds: each
round plays those whose start is known by now. What is left starts at a name that nobody gives,
or in a circle.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TypeAlias

import chess

from builder import model, names
from builder.book.play import Beginning, Played, play_line
from builder.faults import Faults, did_you_mean
from builder.model import Ply, Position
from builder.place import Place
from builder.source.syntax import (
    Block, ChapterSource, ExerciseSource, GameSource, LineSource, MoveItem, NameToken, Start,
)  # fmt: skip

Playable: TypeAlias = LineSource | ExerciseSource | GameSource


@dataclass(frozen=True, slots=True)
class Named:
    """A name, where it was given."""

    name: str
    anchor: str
    chapter: str
    position: Position
    ply: Ply | None
    place: Place


@dataclass(frozen=True, slots=True)
class PlayedLines:
    """What was played, by the parsed block; the names in the order of the booklet.

    A block whose start is unknown is missing from `played`. `lost` holds the names that stand
    where nothing could be played: a fault has told why, so that nobody is told again.
    """

    played: dict[Playable, Played] = field(default_factory=dict)
    named: dict[str, Named] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class _Task:
    block: Playable
    chapter: str
    anchor: str

    @property
    def start(self) -> Start:
        return self.block.start


def play_lines(chapters: tuple[ChapterSource, ...], faults: Faults) -> PlayedLines:
    """Plays every line and solution of the chapters."""
    result = PlayedLines()
    tasks = [
        task for chapter in chapters for task in _tasks(chapter, faults)
        if not task.start.broken
    ]  # fmt: skip
    found: dict[Playable, Played] = {}
    while tasks:
        ready = [task for task in tasks if _known(task.start, result.named)]
        if not ready:
            break
        for task in ready:
            beginning = _beginning(task, result.named)
            played = play_line(_items(task.block), beginning, faults)
            found[task.block] = played
            result.lost.update(played.lost)
            for name in played.names:
                _add_name(name.token, name.ply, played, result.named, faults)
        tasks = [task for task in tasks if task.block not in found]
    _tell_unknown(tasks, result, faults)
    result.played.update(found)
    return result


def walk_playables(blocks: tuple[Block, ...]) -> Iterator[Playable]:
    """The lines, exercises and games in blocks, in reading order, also in lists and quotations."""
    for block in blocks:
        if isinstance(block, Playable):
            yield block
        elif isinstance(block, model.Quote):
            yield from walk_playables(block.blocks)
        elif isinstance(block, model.ItemList):
            for item in block.items:
                yield from walk_playables(item)


def _tasks(chapter: ChapterSource, faults: Faults) -> Iterator[_Task]:
    """The chapter's lines with their anchors; ids given twice are told."""
    given: dict[tuple[type, str], Place] = {}
    count = 0
    blocks = (*chapter.blocks, *(block for note in chapter.footnotes for block in note))
    for block in walk_playables(blocks):
        count += 1
        label = f"{count}-game" if isinstance(block, GameSource) else f"{count}"
        if block.given_id is not None:
            key = (type(block), block.given_id)
            if key in given:
                word = "line" if isinstance(block, LineSource) else "exercise"
                code = f"{word}-twice"
                faults.error(code, block.place,
                             f"this chapter has two {word}s named {block.given_id}",
                             f"the first is in line {given[key].line}")  # fmt: skip
            else:
                given[key] = block.place
                kind = "" if isinstance(block, LineSource) else "solution-"
                label = f"{count}-{kind}{names.slug(block.given_id)}"
        yield _Task(block, chapter.slug, names.line_anchor(chapter.slug, label))


def _known(start: Start, named: dict[str, Named]) -> bool:
    return start.name is None or start.name in named


def _beginning(task: _Task, named: dict[str, Named]) -> Beginning:
    start = task.start
    if start.name is not None:
        at = named[start.name]
        return Beginning(task.anchor, task.chapter, at.position, at.ply)
    position = start.position or Position(chess.Board())
    return Beginning(task.anchor, task.chapter, position)


def _add_name(token: NameToken, ply: Ply | None, played: Played, named: dict[str, Named],
              faults: Faults) -> None:  # fmt: skip
    if token.name in named:
        faults.error("name-twice", token.place, f"the name {token.name} is given twice",
                     f"the first is at {named[token.name].place}")  # fmt: skip
        return
    begin = played.beginning
    own = ply is not None and ply.line == begin.anchor
    anchor = ply.anchor if ply is not None and own else names.start_anchor(begin.anchor)
    position = ply.after if ply is not None else begin.position
    named[token.name] = Named(token.name, anchor, begin.chapter, position, ply, token.place)


def _tell_unknown(tasks: list[_Task], result: PlayedLines, faults: Faults) -> None:
    """Lines that could not start: their name is nowhere, or waits for another of them."""
    # What stands behind a line that could not start is lost with it.
    behind_lost = True
    while behind_lost:
        behind_lost = False
        for task in tasks:
            given = {item.name for item in _items(task.block) if isinstance(item, NameToken)}
            if task.start.name in result.lost and not given <= result.lost:
                result.lost.update(given)
                behind_lost = True
    tasks = [task for task in tasks if task.start.name not in result.lost]
    promised = {
        item.name
        for task in tasks
        for item in _items(task.block)
        if isinstance(item, NameToken)
    }
    for task in tasks:
        name, place = task.start.name or "", task.start.place or task.block.place
        if name in promised:
            faults.error("name-circle", place,
                         f"the position {name} is named in a line that can't start itself",
                         "let one of the lines start from the first move")  # fmt: skip
        else:
            unknown_name(name, place, result, faults)
            result.lost.update(
                item.name for item in _items(task.block) if isinstance(item, NameToken)
            )


def unknown_name(name: str, place: Place, lines: PlayedLines, faults: Faults) -> None:
    """Tells that no position has that name, unless a fault has told why it was lost."""
    if name not in lines.lost:
        hint = did_you_mean(name, lines.named) or "a position is named by @NAME behind a move"
        faults.error("name-unknown", place, f"no position is named {name}", hint)


def _items(block: Playable) -> tuple[MoveItem, ...]:
    return block.solution if isinstance(block, ExerciseSource) else block.items
