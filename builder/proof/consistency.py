"""Whether a booklet contradicts itself, or leaves something hanging.

In: the model. Out: findings. Each check is a function of its own; `find_inconsistencies` runs
them in order. What an engine has to say is another room's.
"""

from __future__ import annotations

from collections.abc import Iterator

import chess

from builder.book.meetings import meetings
from builder.faults import Severity
from builder.model import Booklet, Diagram, Line, Ply, PositionKey
from builder.place import Place
from builder.proof.at_moves import AtMoves
from builder.proof.finding import Finding
from builder.proof.line_ends import line_ends
from builder.proof.prose import position_links
from builder.proof.signs import ASSESSMENT_SIGNS, ASSESSMENTS
from builder.proof.walk import (
    BLAME, PRAISE, Step, signed_moves, steps,
)  # fmt: skip

CODES = (
    "two-moves", "praise-and-blame", "assessment-differs", "end-mate", "end-hanging",
    "transposition", "line-duplicate", "name-unused", "diagram-far",
)  # fmt: skip
DUPLICATE_PLIES = 6
# How far behind the first meeting of two lines the author's `same as` may stand.
MARKED_PLIES = 6
FAR_LINES = 60


def find_inconsistencies(booklet: Booklet) -> list[Finding]:
    """Every finding, by chapter in reading order."""
    finder = _Finder(booklet)
    found = [
        *finder.two_moves(),
        *finder.praise_and_blame(),
        *finder.assessments(),
        *line_ends(finder.steps, booklet, finder.findings),
        *finder.unmarked_transpositions(),
        *finder.duplicates(),
        *finder.unused_names(),
        *finder.far_diagrams(),
    ]
    order = {chapter.slug: chapter.number for chapter in booklet.chapters}
    return sorted(found, key=lambda finding: (order[finding.chapter], finding.place, finding.code))


class _Finder:
    """The checks, and what several of them need."""

    def __init__(self, booklet: Booklet) -> None:
        self.booklet = booklet
        self.findings = AtMoves.of(booklet)
        self.steps = list(steps(booklet))
        self.signed = list(signed_moves(booklet))
        self.plies = {step.ply.anchor: step.ply for step in self.steps}

    # --- contradictions ----------------------------------------------------------------------

    def two_moves(self) -> Iterator[Finding]:
        """The booklet's side is given two different moves in the same position."""
        first: dict[PositionKey, Step] = {}
        for step in self.steps:
            if not self._own(step) or not step.recommends():
                continue
            other = first.setdefault(step.ply.before.key, step)
            if other.ply.move != step.ply.move:
                yield self.findings.before(
                    "two-moves", Severity.WARNING, step.ply,
                    f"{step.ply.label} is recommended here, and {other.ply.label} in the same "
                    f"position at {other.ply.place}",
                    "recommend one, or give the other as a variation",
                )  # fmt: skip

    def praise_and_blame(self) -> Iterator[Finding]:
        """A move is praised in one place and criticised in another."""
        seen: dict[tuple[PositionKey, chess.Move], tuple[Place, bool]] = {}
        for signed in self.signed:
            ply, nags = signed.ply, set(signed.nags)
            if not nags & (PRAISE | BLAME):
                continue
            good = bool(nags & PRAISE)
            other, other_good = seen.setdefault((ply.before.key, ply.move), (signed.place, good))
            if other_good != good:
                word, other_word = ("praised", "criticised") if good else ("criticised", "praised")
                yield self.findings.before(
                    "praise-and-blame", Severity.WARNING, signed,
                    f"{ply.label} is {word} here and {other_word} at {other}",
                )  # fmt: skip

    def assessments(self) -> Iterator[Finding]:
        """The same position has two different assessments."""
        seen: dict[PositionKey, tuple[Place, int]] = {}
        for signed in self.signed:
            signs = [ASSESSMENTS[nag] for nag in signed.nags if nag in ASSESSMENTS]
            if not signs:
                continue
            other, sign = seen.setdefault(signed.ply.after.key, (signed.place, signs[-1]))
            if sign != signs[-1]:
                yield self.findings.after(
                    "assessment-differs", Severity.WARNING, signed,
                    f"the position after {signed.ply.label} is judged "
                    f"{ASSESSMENT_SIGNS[signs[-1]]} here and {ASSESSMENT_SIGNS[sign]} at {other}",
                )  # fmt: skip

    # --- transpositions, duplicates ----------------------------------------------------------

    def unmarked_transpositions(self) -> Iterator[Finding]:
        """Two ways lead to a position, and the author says so nowhere."""
        marked = self._marked()
        order = {anchor: number for number, anchor in enumerate(self.plies)}
        for anchor, found in meetings(self.booklet).items():
            ply = self.plies.get(anchor)
            earlier = [other for other in found if order[other.ply.anchor] < order[anchor]]
            # Each meeting is told once, where the reader comes to the position again.
            if ply is None or not earlier or ply.after.key in marked:
                continue
            yield self.findings.after(
                "transposition", Severity.NOTICE, ply,
                f"the position after {ply.label} is also reached by {_way(earlier[0].moves)} at "
                f"{earlier[0].ply.place}",
                "name the position and claim {% same as @NAME %}, or link to it",
            )  # fmt: skip

    def _marked(self) -> set[PositionKey]:
        """The positions that the author says are reached by another way, or links to.

        A claim marks what leads to it as well: two lines may have met some moves before the
        author says so.
        """
        found = {self.booklet.names[name].position.key for name in self._linked_names()}
        for chapter in self.booklet.chapters:
            for claim in chapter.claims:
                if claim.term.kind == "same as":
                    way = claim.ply.path() if claim.ply is not None else ()
                    found.add(claim.position.key)
                    found |= {ply.after.key for ply in way[-MARKED_PLIES:]}
        return found

    def duplicates(self) -> Iterator[Finding]:
        """A line that says nothing but what another line says."""
        earlier: list[tuple[Line, set[tuple[PositionKey, chess.Move]]]] = []
        for line in self.findings.lines.values():
            if line.kind != "line":
                continue
            moves = {(ply.before.key, ply.move) for ply in line.plies()}
            same = (other for other, others in earlier if moves <= others)
            other = next(same, None) if len(moves) >= DUPLICATE_PLIES else None
            if other is not None:
                yield Finding(
                    "line-duplicate", Severity.WARNING, line.chapter,
                    f"{line.chapter}/{line.given_id or line.anchor.rsplit('.', 1)[-1]}",
                    line.place, f"all of this line stands at {other.place} already",
                    "leave it out, or start it from a named position", line.start,
                )  # fmt: skip
            earlier.append((line, moves))

    # --- names and diagrams ------------------------------------------------------------------

    def unused_names(self) -> Iterator[Finding]:
        """A name that nothing asks for."""
        used = self._linked_names()
        for chapter in self.booklet.chapters:
            used |= {line.start_name for line in chapter.lines if line.start_name}
            used |= {diagram.name for diagram in chapter.diagrams if diagram.standalone}
            used |= {exercise.diagram.name for exercise in chapter.exercises}
            for claim in chapter.claims:
                used |= {claim.at, claim.term.name}
        for named in self.booklet.names.values():
            if named.name not in used:
                yield Finding(
                    "name-unused", Severity.NOTICE, named.chapter, f"{named.chapter}/@{named.name}",
                    named.place, f"nothing refers to the position {named.name}",
                    "take the name away, or link to it", named.position,
                )  # fmt: skip

    def far_diagrams(self) -> Iterator[Finding]:
        """A diagram that stands far from the move it shows, in another chapter or pages away."""
        for chapter in self.booklet.chapters:
            for diagram in chapter.diagrams:
                ply = diagram.ply
                if not diagram.standalone or ply is None:
                    continue
                other = self._nearest(diagram)
                if other.chapter != diagram.chapter:
                    distance = f"in another chapter, at {other.place}"
                elif abs(other.place.line - diagram.place.line) > FAR_LINES:
                    distance = f"far away, at {other.place}"
                else:
                    continue
                yield Finding(
                    "diagram-far", Severity.NOTICE, chapter.slug,
                    f"{chapter.slug}/@{diagram.name}", diagram.place,
                    f"the move that this diagram shows, {ply.label}, stands {distance}",
                    "repeat the moves beside it, or link to the diagram there", diagram.position,
                )  # fmt: skip

    def _nearest(self, diagram: Diagram) -> Ply:
        """The ply that reaches the diagram's position nearest to it."""
        plies = self.booklet.reached.get(diagram.position.key, ())
        near = [ply for ply in plies if ply.chapter == diagram.chapter] or list(plies)
        assert diagram.ply is not None
        return min(near or [diagram.ply],
                   key=lambda ply: abs(ply.place.line - diagram.place.line))  # fmt: skip

    # --- helpers -----------------------------------------------------------------------------

    def _own(self, step: Step) -> bool:
        """Whether the booklet recommends moves for the side that moves here."""
        return step.chapter.side == ("white" if step.ply.by_white else "black")

    def _linked_names(self) -> set[str | None]:
        """The names that the prose links to."""
        return {link.name for chapter in self.booklet.chapters for link in position_links(chapter)}


def _way(plies: tuple[Ply, ...], most: int = 4) -> str:
    """The last moves of a way, as `9...Bxd6 10.Qxd6 Qxd6 11.Rxd6`."""
    words = [ply.label if ply.by_white else ply.san for ply in plies[-most:]]
    return " ".join([plies[-most:][0].label, *words[1:]])
