"""Moves in the prose to plies: the ones that stand in a line, and new side-lines.

In: a parsed bracket and what is in force there. Out: a `Moves` node, with a side-line where
the moves go past what was written so far.
"""

from __future__ import annotations

from builder import names
from builder.book.explain import moves_after, side_name
from builder.book.play import Beginning, Played, play_line
from builder.book.reading import Scope
from builder.book.search import Answer, At, Known, KnownLine, Wanted, path_places
from builder.faults import Faults, did_you_mean
from builder.model import Line, Moves, Ply
from builder.source.syntax import MovesSource, MoveToken, NagToken, NumberToken, ProseItem


class ProseMoves:
    """Finds and makes the prose moves of the chapter with that slug."""

    def __init__(self, chapter: str) -> None:
        self.chapter = chapter
        self.asides = 0

    def resolve(self, node: MovesSource, scope: Scope, faults: Faults) -> Moves | None:
        """The node's moves, new ones joined to `scope.known`; None after an error."""
        answer = _Look(node, scope, faults).answer()
        if answer is None:
            return None
        # Played from the first move, so that numbers and signs of all of them are checked.
        play_line(node.items, self._beginning(answer.at), faults)
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
            line = scope.known.line_of(start.ply, scope.current)
            scope.known.add_aside(line, list(new))
        return Moves(
            plies=(*known, *new),
            nags=_nags(node.items),
            new=frozenset(ply.anchor for ply in new),
            aside=aside,
            place=node.place,
        )

    def _beginning(self, at: At) -> Beginning:
        anchor = names.line_anchor(self.chapter, f"aside-{self.asides + 1}")
        return Beginning(anchor, self.chapter, at.position, at.ply, depth=1)

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


class _Look:
    """One look for the place that a bracket's moves are played from."""

    def __init__(self, node: MovesSource, scope: Scope, faults: Faults) -> None:
        self.node = node
        self.scope = scope
        self.faults = faults
        self.wanted = Wanted.of(node.items)

    @property
    def known(self) -> Known:
        return self.scope.known

    def answer(self) -> Answer | None:
        """Where the moves stand or go on; None, and told, where that is nowhere or in doubt."""
        if self.node.line is not None:
            return self._in_line(self.node.line)
        if self.scope.inside is not None:
            here = self._in_variation(self.scope.inside)
            if here is not None:
                return here
        return self._in_chapter()

    def _in_line(self, given_id: str) -> Answer | None:
        line = self.known.ids.get(given_id)
        if line is None:
            ids = list(self.known.ids)
            self.faults.error("line-unknown", self.node.place,
                              f"this chapter has no line named {given_id} so far",
                              did_you_mean(given_id, ids)
                              or ("lines: " + ", ".join(ids) if ids else ""))  # fmt: skip
            return None
        return self._chosen([], only=line)

    def _in_variation(self, start: At) -> Answer | None:
        """A comment speaks of the variation it stands in, also with moves that are new."""
        scope, turn = self.scope, self.wanted.turn
        answers = self.known.answers(self.wanted, path_places(scope.force, start, turn))
        if not answers and scope.current is not None:
            onward = self.known.onward(scope.current, scope.force, turn)
            answers = self.known.answers(self.wanted, onward)
        return answers[0] if answers else None

    def _in_chapter(self) -> Answer | None:
        forced = self.known.answers(self.wanted, [self.scope.force])
        found = self._chosen(forced)
        going_on = next((one for one in forced if len(one.known) == len(self.wanted.sans)), None)
        if found and going_on and found.exists and found.end != going_on.end:
            self._tell_two(going_on, found)
            return None
        return found

    def _chosen(self, forced: list[Answer], only: KnownLine | None = None) -> Answer | None:
        """The more of the moves stand there, the better; wholly new ones go on from the position in
        force where they can."""
        known, wanted, current = self.known, self.wanted, self.scope.current
        answers = (
            known.standing(wanted, current, only) or forced or known.possible(wanted, current, only)
        )
        other = next((answer for answer in answers if answer.end != answers[0].end), None)
        if other is not None:
            self._tell_two(answers[0], other)
            return None
        if answers:
            return answers[0]
        self._explain(next(known.places(wanted.turn, current, only), None))
        return None

    def _tell_two(self, one: Answer, other: Answer) -> None:
        first = self.wanted.sans[0]
        self.faults.error(
            "moves-two", self.node.place,
            f"{first} can stand{moves_after(one.at.ply)} and{moves_after(other.at.ply)}",
            "write the move before it too, or name the line: [main: …]",
        )  # fmt: skip

    def _explain(self, at: At | None) -> None:
        """Why the moves can't stand anywhere: illegal where their number fits, or no place."""
        wanted = self.wanted
        if at is not None:
            play_line(self.node.items, Beginning("", "", at.position, at.ply), self.faults)
            return
        if not self.known.whole:
            return  # They may belong behind the move that can't be played, which has been told.
        side = side_name(wanted.white)
        self.faults.error(
            "moves-nowhere", self.node.place,
            f"no line of this chapter comes to {side}'s move {wanted.number} so far",
            "write the moves from a position that a line reaches, or check the number",
        )  # fmt: skip


def _behind(items: tuple[ProseItem, ...], moves: int) -> tuple[ProseItem, ...]:
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


def _nags(items: tuple[ProseItem, ...]) -> tuple[tuple[int, ...], ...]:
    """The signs written behind each move."""
    found: list[tuple[int, ...]] = []
    for item in items:
        if isinstance(item, MoveToken):
            found.append(())
        elif isinstance(item, NagToken) and found:
            found[-1] = (*found[-1], item.value)
    return tuple(found)
