"""A chapter's parsed blocks to the model's.

In: a chapter to be read, its lines played out. Out: its blocks with every piece resolved; what they
hold is in `Reading.found`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from builder import model, names
from builder.book.annotated import LineResolver
from builder.book.inlines import InlineResolver
from builder.book.reading import Reading
from builder.book.search import At
from builder.model import Block, Diagram, Line, Ply
from builder.source.syntax import (
    DiagramSource, ExerciseSource, GameSource, LineSource, PlayedSource, TableSource,
)  # fmt: skip


def resolve_chapter(reading: Reading) -> tuple[Block, ...]:
    """Reads the whole chapter, the footnotes too that nothing refers to."""
    resolver = _BlockResolver(reading)
    blocks = resolver.blocks(reading.chapter.blocks)
    for number in range(1, len(reading.chapter.footnotes) + 1):
        resolver.footnote(number)
    return blocks


class _BlockResolver:
    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.inlines = InlineResolver(reading, self.footnote)
        self.lines = LineResolver(reading, self.inlines)
        self.marked: list[tuple[int, At]] = []

    def blocks(self, blocks: Iterable[Any]) -> tuple[Block, ...]:
        return tuple(node for block in blocks if (node := self._block(block)) is not None)

    def footnote(self, number: int) -> None:
        """Reads a note at its mark. One that a note marks waits for that note's end, so that notes
        may lead to each other in chains of any length."""
        scope, notes = self.reading.scope, self.reading.found.footnotes
        self.marked.append((number, scope.force))
        if len(self.marked) > 1:
            return
        force = scope.force
        for number, scope.force in self.marked:  # it grows on the way
            if number not in notes:
                blocks = self.blocks(self.reading.chapter.footnotes[number - 1])
                notes[number] = model.Footnote(number, blocks)
        self.marked.clear()
        scope.force = force

    def _block(self, block: Any) -> Block | None:
        match block:
            case LineSource():
                return self.lines.line(block)
            case DiagramSource():
                return self.inlines.diagram_of(block)
            case ExerciseSource():
                return self._exercise(block)
            case GameSource():
                return self._game(block)
            case TableSource():
                return self._table(block)
            case PlayedSource():
                return self._played(block)
            case model.Paragraph(inlines, place):
                return model.Paragraph(self.inlines.all(inlines), place)
            case model.Heading(level, inlines, anchor, place):
                anchor = names.heading_anchor(self.reading.chapter.slug, anchor)
                return model.Heading(level, self.inlines.all(inlines), anchor, place)
            case model.ItemList(start, tight, items):
                return model.ItemList(start, tight, tuple(self.blocks(item) for item in items))
            case model.Quote(blocks):
                return model.Quote(self.blocks(blocks))
            case model.Table(align, head, rows):
                return model.Table(align, self._row(head), tuple(self._row(row) for row in rows))
        return block  # type: ignore[no-any-return]  # the nodes that are the model's already

    def _row(self, cells: Iterable[Any]) -> tuple[tuple[model.Inline, ...], ...]:
        return tuple(self.inlines.all(cell) for cell in cells)

    # --- exercises ---------------------------------------------------------------------------

    def _exercise(self, block: ExerciseSource) -> model.Exercise | None:
        reading = self.reading
        played = reading.lines.played.get(block)
        if played is None:
            return None
        number = next(reading.numbering.exercises)
        start = At(played.beginning.position, played.beginning.ply)
        diagram = self._board(number, start, block)
        reading.scope.force = start
        task = self.blocks(block.task)
        reading.scope.force = start
        hint = self.blocks(block.hint)
        solution = self.lines.solution(block, played)
        reading.scope.force = start
        exercise = model.Exercise(
            anchor=names.exercise_anchor(number),
            solution_anchor=names.solution_anchor(number),
            chapter=reading.chapter.slug,
            number=number,
            given_id=block.given_id,
            diagram=diagram,
            task=task,
            hint=hint,
            solution=solution,
            answers=_answers(solution),
            place=block.place,
        )
        reading.found.exercises.append(exercise)
        return exercise

    def _board(self, exercise: int, start: At, block: ExerciseSource) -> Diagram:
        """The exercise's own board: it has no number, the exercise has."""
        options = block.options
        return Diagram(
            anchor=f"{names.exercise_anchor(exercise)}-board",
            chapter=self.reading.chapter.slug,
            number=None,
            position=start.position,
            ply=start.ply,
            name=block.start.name,
            caption=self.inlines.all(options.caption),
            flip=options.flip,
            size=options.size,
            marks=options.marks,
            place=block.place,
        )

    # --- games and tables: filled in when all chapters are made (`complete.py`) ---------------

    def _game(self, block: GameSource) -> model.Game:
        reading = self.reading
        played = reading.lines.played[block]
        if block.broken or not played.whole:
            reading.faults.error("game-broken", block.place,
                                 f"this game can't be set: its faults are told in {block.file}",
                                 "mend the file")  # fmt: skip
        line = self.lines.game(block, played)
        number = next(reading.numbering.games)
        game = model.Game(
            anchor=names.game_anchor(number),
            chapter=reading.chapter.slug,
            number=number,
            tags=block.tags,
            line=line,
            begins=_main_move(line, block.begins),
            cut=block.cut,
            parting=None,
            place=block.place,
        )
        reading.found.games.append(game)
        return game

    def _table(self, block: TableSource) -> model.OpeningTable:
        anchor = names.table_anchor(next(self.reading.numbering.tables))
        return model.OpeningTable(anchor, self.reading.chapter.slug, block.of, (), block.place)

    def _played(self, block: PlayedSource) -> model.Played | None:
        at = self.reading.at(block.start)
        if at is None:
            return None
        self.reading.scope.force = at
        anchor = names.played_anchor(next(self.reading.numbering.played))
        played = model.Played(anchor, self.reading.chapter.slug, at.position, at.ply, (), 0, (),
                              block.place)  # fmt: skip
        self.reading.found.played.append(played)
        return played


def _main_move(line: Line, index: int | None) -> Ply | None:
    """The line's main move of that number, from 0; None where there is none."""
    main = [ply for ply in line.plies() if ply.depth == 0]
    return main[index] if index is not None and 0 <= index < len(main) else None


def _answers(solution: Line) -> tuple[Ply, ...]:
    """The moves that count as right: the first one, and the solver's first move of each
    top-level variation, which may replace the first move or a later one."""
    found: list[Ply] = []
    solver = solution.start.white_to_move
    first = True
    for item in solution.items:
        if isinstance(item, model.VariationStart):
            first = True
        elif isinstance(item, Ply):
            if first and item.depth <= 1 and item.by_white == solver:
                found.append(item)
            first = False
    return tuple(found)
