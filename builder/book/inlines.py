"""Running words of the source to the model's: moves, positions, claims, diagrams and links in
them are resolved against the position in force."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import chess

from builder import model, names
from builder.book.lines import unknown_name
from builder.book.prose_moves import ProseMoves
from builder.book.reading import Reading
from builder.book.search import At
from builder.faults import Faults, did_you_mean
from builder.model import Diagram, Inline
from builder.place import Place
from builder.source.claims import ParsedClaim
from builder.source.syntax import (
    ChapterLink, ClaimSource, DiagramOptions, DiagramSource, ExerciseSource, GameSource,
    LineSource, MovesSource, PlayedSource, PositionSource, TableSource,
)  # fmt: skip


class InlineResolver:
    """Resolves the words of one chapter. `at_note` is told the number of each footnote at its
    mark: the note is read there."""

    def __init__(self, reading: Reading, at_note: Callable[[int], None]) -> None:
        self.reading = reading
        self.at_note = at_note
        self.prose_moves = ProseMoves(reading.chapter.slug)

    def all(self, inlines: Iterable[Any]) -> tuple[Inline, ...]:
        return tuple(node for item in inlines if (node := self._inline(item)) is not None)

    def _inline(self, node: Any) -> Inline | None:
        match node:
            case MovesSource():
                return self._moves(node)
            case PositionSource():
                return self._position(node)
            case ClaimSource():
                words = self.all(node.words)
                claim = self.claim(node.claim, node.text, node.place) if node.claim else None
                return model.ClaimedWords(words, claim)
            case DiagramSource():
                return self.diagram_of(node)
            case ChapterLink():
                return self._chapter_link(node)
            case model.FootnoteRef():
                self.at_note(node.number)
            case model.Emphasis(children) | model.Strong(children) | model.Strike(children):
                return type(node)(self.all(children))
            case model.Link():
                return replace(node, children=self.all(node.children))
            case LineSource() | ExerciseSource() | GameSource() | TableSource() | PlayedSource():
                self.reading.faults.error("block-place", node.place,
                                          "a block can't stand in a paragraph",
                                          "put blank lines round it")  # fmt: skip
                return None
        return node  # type: ignore[no-any-return]  # the nodes that are the model's already

    # --- diagrams and claims -----------------------------------------------------------------

    def diagram_of(self, source: DiagramSource) -> Diagram | None:
        """A diagram of a position given by name or by FEN, which is in force from there on."""
        at = self.reading.at(source.start)
        if at is None:
            return None
        self.reading.scope.force = at
        return self.diagram(at, source.start.name, source.options, source.place, standalone=True)

    def diagram(self, at: At, name: str | None, options: DiagramOptions, place: Place,
                standalone: bool = False) -> Diagram:  # fmt: skip
        """The booklet's next diagram, of the position at `at`."""
        number = next(self.reading.numbering.diagrams)
        diagram = Diagram(
            anchor=names.diagram_anchor(number),
            chapter=self.reading.chapter.slug,
            number=number,
            position=at.position,
            ply=at.ply,
            name=name,
            caption=self.all(options.caption),
            flip=options.flip,
            size=options.size,
            marks=options.marks,
            place=place,
            standalone=standalone,
        )
        _check_marks(diagram, self.reading.faults)
        self.reading.found.diagrams.append(diagram)
        return diagram

    def claim(self, parsed: ParsedClaim, text: str, place: Place) -> model.Claim | None:
        """A claim about the position in force, or about the named one that it gives in front."""
        reading = self.reading
        at: At | None = reading.scope.force
        if parsed.at is not None:
            at = reading.named(parsed.at, parsed.at_place)
        if parsed.term.name and parsed.term.name not in reading.lines.named:
            unknown_name(parsed.term.name, place, reading.lines, reading.faults)
            return None
        if at is None or at.is_lost:
            return None
        claim = model.Claim(parsed.term, text, at.position, at.ply, reading.chapter.slug, place,
                            parsed.at)  # fmt: skip
        reading.found.claims.append(claim)
        return claim

    # --- moves -------------------------------------------------------------------------------

    def _moves(self, node: MovesSource) -> Inline:
        """The moves, and the position behind them in force; the words as written after an error."""
        reading = self.reading
        # Words of a game's comment that only look like moves are no fault of the author's.
        faults = Faults() if node.maybe else reading.faults
        moves = self.prose_moves.resolve(node, reading.scope, faults)
        if moves is None:
            return model.Text(node.maybe or self._as_written(node.place))
        last = moves.plies[-1]
        reading.scope.force = At(last.after, last)
        if moves.aside is None:
            return moves
        aside = moves.aside
        if self._belongs_to_a_game(aside):
            reading.game_lines.add(aside.anchor)
            aside = replace(aside, kind="game")
        reading.found.lines.append(aside)
        return replace(moves, aside=aside)

    def _as_written(self, place: Place) -> str:
        """The piece with its brackets."""
        source = self.reading.chapter.source
        line_start = source.line_starts[place.line - 1]
        return source.text[line_start + place.column - 2 : line_start + place.end_column]

    def _belongs_to_a_game(self, aside: model.Line) -> bool:
        """Whether a side-line leaves a game, or stands in a game's comments."""
        scope, games = self.reading.scope, self.reading.game_lines
        if aside.start_ply is not None and aside.start_ply.line in games:
            return True
        line = scope.current if scope.inside is not None else None
        return line is not None and line.anchor in games

    # --- links -------------------------------------------------------------------------------

    def _position(self, node: PositionSource) -> Inline:
        at = self.reading.named(node.name, node.place)
        words = self.all(node.words) if node.words is not None else None
        if at is None:
            return model.Emphasis(words) if words else model.Text(node.name)
        self.reading.scope.force = at
        return model.PositionLink(node.name, words, node.place)

    def _chapter_link(self, node: ChapterLink) -> Inline:
        reading = self.reading
        children = self.all(node.children)
        folder = reading.chapter.source.file.rsplit("/", 1)[0]
        for file in (f"{folder}/{node.file}", node.file):
            if file in reading.chapter_of:
                return model.Link("", reading.chapter_of[file], node.title, children, node.place)
        short = [file.rsplit("/", 1)[-1] for file in reading.chapter_of]
        reading.faults.error("link", node.place, f"the booklet has no chapter {node.file}",
                             did_you_mean(node.file, short)
                             or "its chapters: " + ", ".join(short[:8]))  # fmt: skip
        return model.Emphasis(children)


def _check_marks(diagram: Diagram, faults: Faults) -> None:
    """A plan, a threat or a guard starts at a piece. An empty square is a slip."""
    board = diagram.position.board()
    for mark in diagram.marks:
        if mark.kind in ("plan", "threat", "guard") and not board.piece_at(mark.squares[0]):
            square = chess.square_name(mark.squares[0])
            faults.warning("mark-start", diagram.place,
                           f"{mark.kind} starts at {square}, which is empty",
                           "check the squares")  # fmt: skip
