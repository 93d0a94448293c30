"""Lines with what stands between their moves resolved: comments, diagrams, claims."""

from __future__ import annotations

from dataclasses import replace

from builder import model, names
from builder.book.inlines import InlineResolver
from builder.book.play import Placed, Played
from builder.book.reading import Reading, Scope
from builder.book.search import At, KnownLine
from builder.model import Line, LineItem, LineKind, Ply
from builder.source.syntax import (
    ClaimToken, CommentToken, DiagramToken, ExerciseSource, GameSource, LineSource,
)  # fmt: skip


class LineResolver:
    """Resolves the lines of one chapter."""

    def __init__(self, reading: Reading, inlines: InlineResolver) -> None:
        self.reading = reading
        self.inlines = inlines

    def line(self, block: LineSource) -> Line | None:
        """A `line` block; None where its start is unknown, which has been told."""
        played = self.reading.lines.played.get(block)
        self._mark_whole(played)
        return None if played is None else self._current(played, block, "line")

    def game(self, block: GameSource, played: Played) -> Line:
        """A game's line; no game starts at a name, so each was played."""
        self._mark_whole(played)
        self.reading.game_lines.add(played.beginning.anchor)
        return self._current(played, block, "game")

    def solution(self, block: ExerciseSource, played: Played) -> Line:
        """A solution is a text by itself: the chapter's own moves aren't looked up in it."""
        reading = self.reading
        outer, reading.scope = reading.scope, Scope()
        line = self._current(played, block, "solution")
        reading.scope = outer
        return line

    def _mark_whole(self, played: Played | None) -> None:
        known = self.reading.scope.known
        known.whole = known.whole and played is not None and played.whole

    def _current(self, played: Played, block: LineSource | ExerciseSource | GameSource,
                 kind: LineKind) -> Line:  # fmt: skip
        """The line, which is the current one from here on; its comments are read."""
        found, scope = self.reading.found, self.reading.scope
        known = _known_line(played, block.given_id)
        scope.begin(known)
        outer, scope.inside = scope.inside, known.start
        scope.force = known.start
        index = len(found.lines)
        items = self._items(played, known)
        if not played.main_whole:
            scope.force = replace(scope.force, is_lost=True)
        scope.inside = outer
        begin = played.beginning
        line = Line(begin.anchor, self.reading.chapter.slug, kind, block.given_id, begin.position,
                    begin.ply, block.start.name, items, block.place)  # fmt: skip
        found.lines.insert(index, line)  # Before the side-lines in its comments.
        return line

    def _items(self, played: Played, known: KnownLine) -> tuple[LineItem, ...]:
        items: list[LineItem] = []
        for item in played.items:
            if isinstance(item, Placed):
                resolved = self._placed(item, known)
                if resolved is not None:
                    items.append(resolved)
            else:
                if isinstance(item, Ply):
                    self.reading.scope.force = At(item.after, item)
                items.append(item)
        return tuple(items)

    def _placed(self, item: Placed, known: KnownLine) -> LineItem | None:
        at = At(item.ply.after, item.ply) if item.ply is not None else known.start
        self.reading.scope.force = at
        match item.token:
            case CommentToken(inlines, place):
                return model.Comment(self.inlines.all(inlines), item.ply, place)
            case DiagramToken(options, place):
                name = item.ply.name if item.ply else self._start_name(known)
                return self.inlines.diagram(at, name, options, place)
            case ClaimToken(claim, text, place):
                return self.inlines.claim(claim, text, place)

    def _start_name(self, known: KnownLine) -> str | None:
        """The name given in front of the line's first move."""
        anchor = names.start_anchor(known.anchor)
        named = self.reading.lines.named.values()
        return next((one.name for one in named if one.anchor == anchor), None)


def _known_line(played: Played, given_id: str | None) -> KnownLine:
    plies = played.plies()
    begin = played.beginning
    return KnownLine(
        begin.anchor, given_id, At(begin.position, begin.ply),
        [ply for ply in plies if ply.depth == 0], [ply for ply in plies if ply.depth > 0],
    )  # fmt: skip
