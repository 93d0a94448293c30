"""Moves in the prose to plies: the ones that stand in a line, and new side-lines.

In: a parsed bracket and what is in force there. Out: a `Moves` node, with a side-line where
the moves go past what was written so far.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import chess

from builder import names
from builder.book.explain import moves_after, side_name
from builder.book.play import Beginning, Played, play_line
from builder.book.search import (
    Answer, At, Known, KnownLine, Wanted, all_places, main_places, onward_places, path_places,
)  # fmt: skip
from builder.faults import Faults, did_you_mean
from builder.model import Line, Moves, Ply, Position, Text
from builder.source.syntax import MovesSource, MoveToken, NagToken, NumberToken


@dataclass(frozen=True, slots=True)
class Scope:
    """What moves in the prose are read against.

    `force` is the position in force; `inside` is the start of the line whose comment this is,
    None in a chapter's own text.
    """

    chapter: str
    force: At
    current: KnownLine | None
    inside: At | None


class ProseMoves:
    """Finds and makes the prose moves of one chapter."""

    def __init__(self, chapter: str, known: Known, faults: Faults) -> None:
        self.chapter = chapter
        self.known = known
        self.faults = faults
        self.asides = 0

    def resolve(self, node: MovesSource, scope: Scope, text: str) -> Moves | Text:
        """The node's moves; its text as it stands after an error."""
        wanted = Wanted.of(node.items)
        if node.line is not None:
            line = self.known.named(node.line)
            if line is None:
                ids = [known.given_id for known in self.known.lines if known.given_id]
                self.faults.error("line-unknown", node.place,
                                  f"this chapter has no line named {node.line} so far",
                                  did_you_mean(node.line, ids)
                                  or ("lines: " + ", ".join(ids) if ids else ""))  # fmt: skip
                return Text(text)
            tiers = [main_places(line), all_places(line)]
            answer = self._look(node, wanted, tiers)
        else:
            answer = self._look_from(node, wanted, scope)
        if answer is None:
            return Text(text)
        return self._make(node, answer, scope)

    # --- looking -----------------------------------------------------------------------------

    def _look_from(self, node: MovesSource, wanted: Wanted, scope: Scope) -> Answer | None:
        tiers = list(self._tiers(scope))
        forced = self.known.answers(wanted, [scope.force])
        if scope.inside is not None:
            # A comment speaks of the variation it stands in, also with moves that are new.
            own = [list(path_places(scope.force, scope.inside))]
            if scope.current is not None:
                own.append(list(onward_places(scope.current, scope.force)))
            for places in own:
                answers = self.known.answers(wanted, places)
                if answers:
                    return answers[0]
        going_on = [answer for answer in forced if len(answer.known) == len(wanted.sans)]
        found = self._look(node, wanted, tiers, forced)
        if found and going_on and found.exists and found.end != going_on[0].end:
            self._tell_two(node, going_on[0], found)
            return None
        return found

    def _tiers(self, scope: Scope) -> Iterator[Iterable[At]]:
        """Where to look, in order."""
        if scope.current is not None:
            yield main_places(scope.current)
            yield all_places(scope.current)
        for line in reversed(self.known.lines):
            if line is not scope.current:
                yield main_places(line)
                yield all_places(line)
        yield [At(Position(chess.Board()), None)]

    def _look(self, node: MovesSource, wanted: Wanted, tiers: list[Iterable[At]],
              forced: list[Answer] | None = None) -> Answer | None:  # fmt: skip
        places = [list(tier) for tier in tiers]
        answers = _first(self.known, wanted, places, forced or [])
        ends = {answer.end for answer in answers}
        if len(ends) > 1:
            other = next(answer for answer in answers if answer.end != answers[0].end)
            self._tell_two(node, answers[0], other)
            return None
        if answers:
            return answers[0]
        self._explain(node, wanted, [at for tier in places for at in tier])
        return None

    def _tell_two(self, node: MovesSource, one: Answer, other: Answer) -> None:
        first = next(item.text for item in node.items if isinstance(item, MoveToken))
        self.faults.error(
            "moves-two", node.place,
            f"{first} can stand{moves_after(one.at.ply)} and{moves_after(other.at.ply)}",
            "write the move before it too, or name the line: [main: …]",
        )  # fmt: skip

    def _explain(self, node: MovesSource, wanted: Wanted, places: list[At]) -> None:
        """Why the moves can't stand anywhere: illegal where their number fits, or no place."""
        for at in places:
            position = at.position
            if (position.move_number, position.white_to_move) == (wanted.number, wanted.white):
                play_line(node.items, self._beginning(at), self.faults)
                return
        if not self.known.whole:
            return  # They may belong behind the move that can't be played, which has been told.
        side = side_name(wanted.white)
        self.faults.error(
            "moves-nowhere", node.place,
            f"no line of this chapter comes to {side}'s move {wanted.number} so far",
            "write the moves from a position that a line reaches, or check the number",
        )  # fmt: skip

    # --- making ------------------------------------------------------------------------------

    def _beginning(self, at: At) -> Beginning:
        anchor = names.line_anchor(self.chapter, f"aside-{self.asides + 1}")
        return Beginning(anchor, self.chapter, at.position, at.ply, depth=1)

    def _make(self, node: MovesSource, answer: Answer, scope: Scope) -> Moves:
        # Played from the first move, so that numbers and signs of all of them are checked.
        play_line(node.items, self._beginning(answer.at), self.faults)
        known = answer.known
        rest = _behind(node.items, len(known))
        start = At(known[-1].after, known[-1]) if known else answer.at
        new: tuple[Ply, ...] = ()
        aside: Line | None = None
        if any(isinstance(item, MoveToken) for item in rest):
            played = play_line(rest, self._beginning(start), Faults())
            new = played.plies()
            aside = self._aside(node, start, played)
            self.asides += 1
            line = self.known.line_of(start.ply, scope.current)
            self.known.add_aside(line, list(new))
        return Moves(
            plies=(*known, *new),
            nags=_nags(node.items),
            new=frozenset(ply.anchor for ply in new),
            aside=aside,
            place=node.place,
        )

    def _aside(self, node: MovesSource, start: At, played: Played) -> Line:
        return Line(
            anchor=played.beginning.anchor,
            chapter=self.chapter,
            kind="aside",
            given_id=None,
            start=start.position,
            start_ply=start.ply,
            start_name=start.ply.name if start.ply else None,
            items=played.plies(),
            place=node.place,
        )


def _first(known: Known, wanted: Wanted, tiers: list[list[At]],
           forced: list[Answer] | None = None) -> list[Answer]:  # fmt: skip
    """The answers of the first place to look that has any.

    The more of the moves stand there, the better; wholly new ones go on from the position in
    force where they can.
    """
    by_tier = [known.answers(wanted, tier) for tier in tiers]
    count = len(wanted.sans)
    for known_moves in range(count, 0, -1):
        for answers in by_tier:
            chosen = [answer for answer in answers if len(answer.known) == known_moves]
            if chosen:
                return chosen
    if forced:
        return forced
    return next((answers for answers in by_tier if answers), [])


def _behind(items: tuple[NumberToken | MoveToken | NagToken, ...], moves: int) -> tuple:
    """The tokens behind the first `moves` moves and their signs."""
    count = 0
    for index, item in enumerate(items):
        if isinstance(item, MoveToken):
            if count == moves:
                # Its number, if one was written, belongs to it.
                before = items[index - 1] if index else None
                return items[index - 1 :] if isinstance(before, NumberToken) else items[index:]
            count += 1
    return ()


def _nags(items: tuple[NumberToken | MoveToken | NagToken, ...]) -> tuple[tuple[int, ...], ...]:
    """The signs written behind each move."""
    found: list[tuple[int, ...]] = []
    for item in items:
        if isinstance(item, MoveToken):
            found.append(())
        elif isinstance(item, NagToken) and found:
            found[-1] = (*found[-1], item.value)
    return tuple(found)
