"""A chapter's parsed blocks to the model's.

In: a parsed chapter and the lines played out. Out: its blocks with every piece resolved, in
reading order, because a claim and a bracket speak of the position in force where they stand.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import chess

from builder import model, names
from builder.book.lines import PlayedLines, unknown_name
from builder.book.play import Placed, Played
from builder.book.prose_moves import ProseMoves, Scope
from builder.book.search import At, Known, KnownLine
from builder.faults import Faults
from builder.model import Block, Diagram, Inline, Line, Ply, Position
from builder.place import Place
from builder.source.claims import ParsedClaim
from builder.source.syntax import (
    ChapterLink, ChapterSource, ClaimSource, ClaimToken, CommentToken, DiagramOptions,
    DiagramSource, DiagramToken, ExerciseSource, GameSource, LineSource, MovesSource,
    PlayedSource, PositionSource, Start, TableSource,
)  # fmt: skip


@dataclass(slots=True)
class Numbering:
    """The numbers that run through the booklet."""

    diagrams: int = 0
    exercises: int = 0
    games: int = 0
    tables: int = 0
    played: int = 0


@dataclass(slots=True)
class Found:
    """What a chapter turned out to hold, in reading order."""

    lines: list[Line] = field(default_factory=list)
    diagrams: list[Diagram] = field(default_factory=list)
    exercises: list[model.Exercise] = field(default_factory=list)
    games: list[model.Game] = field(default_factory=list)
    claims: list[model.Claim] = field(default_factory=list)


class ChapterResolver:
    """Resolves one chapter. `chapter_of` gives the slug of a chapter's file."""

    def __init__(self, chapter: ChapterSource, played: PlayedLines, numbering: Numbering,
                 chapter_of: dict[str, str], faults: Faults) -> None:  # fmt: skip
        self.chapter = chapter
        self.played = played
        self.numbering = numbering
        self.chapter_of = chapter_of
        self.faults = faults
        self.found = Found()
        self.known = Known()
        self.moves = ProseMoves(chapter.slug, self.known, faults)
        self.current: KnownLine | None = None
        self.inside: At | None = None
        self.force = At(Position(chess.Board()), None)
        self.footnotes: dict[int, model.Footnote] = {}
        self.waiting: list[tuple[int, At]] = []
        self.game_lines: set[str] = set()

    def resolve(self) -> tuple[tuple[Block, ...], tuple[model.Footnote, ...]]:
        """The chapter's blocks and its footnotes in order."""
        blocks = self._blocks(self.chapter.blocks)
        for number in range(1, len(self.chapter.footnotes) + 1):
            self._footnote(number)  # Those that nothing refers to.
        return blocks, tuple(self.footnotes[number] for number in sorted(self.footnotes))

    # --- blocks ------------------------------------------------------------------------------

    def _blocks(self, blocks: tuple[Any, ...]) -> tuple[Block, ...]:
        return tuple(node for block in blocks if (node := self._block(block)) is not None)

    def _block(self, block: Any) -> Block | None:
        match block:
            case LineSource():
                return self._line(block)
            case DiagramSource():
                return self._diagram_of(block)
            case ExerciseSource():
                return self._exercise(block)
            case GameSource():
                return self._game(block)
            case TableSource():
                return self._table(block)
            case PlayedSource():
                return self._played(block)
            case model.Paragraph():
                return model.Paragraph(self._inlines(block.inlines), block.place)
            case model.Heading():
                anchor = names.heading_anchor(self.chapter.slug, block.anchor)
                return model.Heading(block.level, self._inlines(block.inlines), anchor,
                                     block.place)  # fmt: skip
            case model.ItemList():
                items = tuple(self._blocks(item) for item in block.items)
                return model.ItemList(block.start, block.tight, items)
            case model.Quote():
                return model.Quote(self._blocks(block.blocks))
            case model.Table():
                head = tuple(self._inlines(cell) for cell in block.head)
                rows = tuple(tuple(self._inlines(cell) for cell in row) for row in block.rows)
                return model.Table(block.align, head, rows)
        return block

    def _footnote(self, number: int) -> None:
        """Reads a note at its mark. One that a note marks waits for that note's end, so that notes
        may lead to each other in chains of any length."""
        self.waiting.append((number, self.force))
        if len(self.waiting) > 1:
            return
        force = self.force
        for number, self.force in self.waiting:  # it grows on the way
            if number not in self.footnotes:
                blocks = self._blocks(self.chapter.footnotes[number - 1])
                self.footnotes[number] = model.Footnote(number, blocks)
        self.waiting.clear()
        self.force = force

    # --- lines -------------------------------------------------------------------------------

    def _line(self, block: LineSource) -> Line | None:
        played = self.played.played.get(block)
        self.known.whole = self.known.whole and played is not None and played.whole
        if played is None:
            return None
        known = self._known_line(played, block.given_id)
        self.known.add(known)
        self.current = known
        return self._finish_line(played, known, "line", block.given_id, block.start, block.place)

    def _known_line(self, played: Played, given_id: str | None) -> KnownLine:
        plies = played.plies()
        begin = played.beginning
        return KnownLine(
            begin.anchor, given_id, At(begin.position, begin.ply),
            [ply for ply in plies if ply.depth == 0], [ply for ply in plies if ply.depth > 0],
        )  # fmt: skip

    def _finish_line(self, played: Played, known: KnownLine, kind: Any, given_id: str | None,
                     start: Start, place: Place) -> Line:  # fmt: skip
        """The line with what stands between its moves resolved."""
        index = len(self.found.lines)
        begin = played.beginning
        outer, self.inside = self.inside, known.start
        self.force = known.start
        items: list[model.LineItem] = []
        for item in played.items:
            if isinstance(item, Placed):
                resolved = self._placed(item, known)
                if resolved is not None:
                    items.append(resolved)
            else:
                if isinstance(item, Ply):
                    self.force = At(item.after, item)
                items.append(item)
        self.inside = outer
        line = Line(begin.anchor, self.chapter.slug, kind, given_id, begin.position, begin.ply,
                    start.name, tuple(items), place)  # fmt: skip
        self.found.lines.insert(index, line)  # Before the side-lines in its comments.
        return line

    def _placed(self, item: Placed, known: KnownLine) -> model.LineItem | None:
        at = At(item.ply.after, item.ply) if item.ply is not None else known.start
        self.force = at
        match item.token:
            case CommentToken(inlines, place):
                return model.Comment(self._inlines(inlines), item.ply, place)
            case DiagramToken(options, place):
                name = item.ply.name if item.ply else self._start_name(known)
                return self._diagram(at, name, options, place)
            case ClaimToken(claim, text, place):
                return self._claim(claim, text, place)

    def _start_name(self, known: KnownLine) -> str | None:
        anchor = names.start_anchor(known.anchor)
        for named in self.played.named.values():
            if named.anchor == anchor:
                return named.name
        return None

    # --- exercises ---------------------------------------------------------------------------

    def _exercise(self, block: ExerciseSource) -> model.Exercise | None:
        played = self.played.played.get(block)
        if played is None:
            return None
        self.numbering.exercises += 1
        number = self.numbering.exercises
        start = At(played.beginning.position, played.beginning.ply)
        diagram = self._board(start, block)
        self.force = start
        task = self._blocks(block.task)
        self.force = start
        hint = self._blocks(block.hint)
        solution = self._solution(played, block)
        self.force = start
        exercise = model.Exercise(
            anchor=names.exercise_anchor(number),
            solution_anchor=names.solution_anchor(number),
            chapter=self.chapter.slug,
            number=number,
            given_id=block.given_id,
            diagram=diagram,
            task=task,
            hint=hint,
            solution=solution,
            answers=_answers(solution),
            place=block.place,
        )
        self.found.exercises.append(exercise)
        return exercise

    def _solution(self, played: Played, block: ExerciseSource) -> Line:
        """A solution is a line by itself: the chapter's own moves aren't looked up in it."""
        outer = self.current, self.known, self.moves
        asides = self.moves.asides
        self.known = Known()
        self.moves = ProseMoves(self.chapter.slug, self.known, self.faults)
        self.moves.asides = asides
        known = self._known_line(played, block.given_id)
        self.known.add(known)
        self.current = known
        solution = self._finish_line(played, known, "solution", block.given_id, block.start,
                                     block.place)  # fmt: skip
        asides = self.moves.asides
        self.current, self.known, self.moves = outer
        self.moves.asides = asides
        return solution

    def _board(self, start: At, block: ExerciseSource) -> Diagram:
        """The exercise's own board: it has no number, the exercise has."""
        options = block.options
        return Diagram(
            anchor=f"{names.exercise_anchor(self.numbering.exercises)}-board",
            chapter=self.chapter.slug,
            number=None,
            position=start.position,
            ply=start.ply,
            name=block.start.name,
            caption=self._inlines(options.caption),
            flip=options.flip,
            size=options.size,
            marks=options.marks,
            place=block.place,
        )

    # --- games and tables --------------------------------------------------------------------

    def _game(self, block: GameSource) -> model.Game | None:
        """The game's own line; where it leaves the booklet is found when all chapters are made."""
        played = self.played.played[block]
        self.known.whole = self.known.whole and played.whole
        if block.broken or not played.whole:
            self.faults.error("game-broken", block.place,
                              f"this game can't be set: its faults are told in {block.file}",
                              "mend the file")  # fmt: skip
        known = self._known_line(played, None)
        self.known.add(known)
        self.current = known
        self.game_lines.add(known.anchor)
        line = self._finish_line(played, known, "game", None, block.start, block.place)
        self.numbering.games += 1
        begins = known.main[block.begins : block.begins + 1] if block.begins is not None else []
        game = model.Game(
            anchor=names.game_anchor(self.numbering.games),
            chapter=self.chapter.slug,
            number=self.numbering.games,
            tags=block.tags,
            line=line,
            begins=begins[0] if begins else None,
            cut=block.cut,
            parting=None,
            place=block.place,
        )
        self.found.games.append(game)
        return game

    def _table(self, block: TableSource) -> model.OpeningTable:
        """Its columns come when all chapters are made."""
        self.numbering.tables += 1
        anchor = names.table_anchor(self.numbering.tables)
        return model.OpeningTable(anchor, self.chapter.slug, block.of, (), block.place)

    def _played(self, block: PlayedSource) -> model.Played | None:
        """Its numbers come when all chapters are made."""
        at = self._at(block.start)
        if at is None:
            return None
        self.force = at
        self.numbering.played += 1
        anchor = names.played_anchor(self.numbering.played)
        return model.Played(anchor, self.chapter.slug, at.position, at.ply, (), 0, (), block.place)

    # --- diagrams, names, claims -------------------------------------------------------------

    def _diagram_of(self, block: DiagramSource) -> Diagram | None:
        at = self._at(block.start)
        if at is None:
            return None
        self.force = at
        return self._diagram(at, block.start.name, block.options, block.place, standalone=True)

    def _diagram(self, at: At, name: str | None, options: DiagramOptions, place: Place,
                 standalone: bool = False) -> Diagram:  # fmt: skip
        self.numbering.diagrams += 1
        number = self.numbering.diagrams
        diagram = Diagram(
            anchor=names.diagram_anchor(number),
            chapter=self.chapter.slug,
            number=number,
            position=at.position,
            ply=at.ply,
            name=name,
            caption=self._inlines(options.caption),
            flip=options.flip,
            size=options.size,
            marks=options.marks,
            place=place,
            standalone=standalone,
        )
        self._check_marks(diagram)
        self.found.diagrams.append(diagram)
        return diagram

    def _check_marks(self, diagram: Diagram) -> None:
        """A threat or a guard starts at a piece; a plan too. An empty square is a slip."""
        board = diagram.position.board()
        for mark in diagram.marks:
            if mark.kind in ("plan", "threat", "guard") and not board.piece_at(mark.squares[0]):
                square = chess.square_name(mark.squares[0])
                self.faults.warning("mark-start", diagram.place,
                                    f"{mark.kind} starts at {square}, which is empty",
                                    "check the squares")  # fmt: skip

    def _at(self, start: Start) -> At | None:
        if start.name is not None:
            return self._named(start.name, start.place)
        return At(start.position, None) if start.position else None

    def _named(self, name: str, place: Place | None) -> At | None:
        named = self.played.named.get(name)
        if named is None:
            unknown_name(name, place or self.chapter.source.place(0), self.played, self.faults)
            return None
        return At(named.position, named.ply)

    def _claim(self, parsed: ParsedClaim, text: str, place: Place) -> model.Claim | None:
        at: At | None = self.force
        if parsed.at is not None:
            at = self._named(parsed.at, parsed.at_place)
        if parsed.term.name and parsed.term.name not in self.played.named:
            unknown_name(parsed.term.name, place, self.played, self.faults)
            return None
        if at is None:
            return None
        claim = model.Claim(parsed.term, text, at.position, at.ply, self.chapter.slug, place,
                            parsed.at)  # fmt: skip
        self.found.claims.append(claim)
        return claim

    # --- inlines -----------------------------------------------------------------------------

    def _inlines(self, inlines: tuple[Any, ...]) -> tuple[Inline, ...]:
        return tuple(node for item in inlines if (node := self._inline(item)) is not None)

    def _inline(self, node: Any) -> Inline | None:
        match node:
            case MovesSource():
                return self._moves(node)
            case PositionSource():
                return self._position(node)
            case ClaimSource():
                words = self._inlines(node.words)
                claim = self._claim(node.claim, node.text, node.place) if node.claim else None
                return model.ClaimedWords(words, claim)
            case DiagramSource():
                return self._diagram_of(node)
            case ChapterLink():
                return self._chapter_link(node)
            case model.FootnoteRef():
                self._footnote(node.number)
                return node
            case model.Emphasis() | model.Strong() | model.Strike():
                return type(node)(self._inlines(node.children))
            case model.Link():
                return replace(node, children=self._inlines(node.children))
            case LineSource() | ExerciseSource() | GameSource() | TableSource() | PlayedSource():
                self.faults.error("block-place", node.place, "a block can't stand in a paragraph",
                                  "put blank lines round it")  # fmt: skip
                return None
        return node

    def _moves(self, node: MovesSource) -> Inline:
        scope = Scope(self.chapter.slug, self.force, self.current, self.inside)
        resolved = self._looked_up(node, scope)
        if isinstance(resolved, model.Moves):
            last = resolved.plies[-1]
            self.force = At(last.after, last)
            if resolved.aside is not None:
                resolved = self._with_kind(resolved, resolved.aside)
                self.found.lines.append(resolved.aside)
        return resolved

    def _looked_up(self, node: MovesSource, scope: Scope) -> model.Moves | model.Text:
        if node.maybe:  # Words of a game's comment: no fault of the author's.
            told, self.moves.faults = self.moves.faults, Faults()
            resolved = self.moves.resolve(node, scope, node.maybe)
            self.moves.faults = told
            return resolved
        source = self.chapter.source
        line_start = source.line_starts[node.place.line - 1]
        text = source.text[line_start + node.place.column - 2 : line_start + node.place.end_column]
        return self.moves.resolve(node, scope, text)

    def _with_kind(self, moves: model.Moves, aside: Line) -> model.Moves:
        """A side-line that leaves a game, or stands in its comments, is part of the game, and
        nothing that the booklet teaches."""
        in_comment = self.inside is not None and self.current is not None
        at = aside.start_ply.line if aside.start_ply is not None else ""
        if at not in self.game_lines and not (
            in_comment and self.current.anchor in self.game_lines
        ):
            return moves
        self.game_lines.add(aside.anchor)
        return replace(moves, aside=replace(aside, kind="game"))

    def _position(self, node: PositionSource) -> Inline:
        at = self._named(node.name, node.place)
        words = self._inlines(node.words) if node.words is not None else None
        if at is None:
            return model.Emphasis(words) if words else model.Text(node.name)
        self.force = at
        return model.PositionLink(node.name, words, node.place)

    def _chapter_link(self, node: ChapterLink) -> Inline:
        children = self._inlines(node.children)
        folder = self.chapter.source.file.rsplit("/", 1)[0]
        for file in (f"{folder}/{node.file}", node.file):
            if file in self.chapter_of:
                return model.Link("", self.chapter_of[file], node.title, children, node.place)
        from builder.faults import did_you_mean

        short = [file.rsplit("/", 1)[-1] for file in self.chapter_of]
        self.faults.error("link", node.place, f"the booklet has no chapter {node.file}",
                          did_you_mean(node.file, short))  # fmt: skip
        return model.Emphasis(children)


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
