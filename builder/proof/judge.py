"""What the engine makes of a booklet: recommended moves, assessment signs, exercises, claims.

In: the model and a lookup of answers. Out: findings, and the questions whose answers were missing.
Nothing is asked here: whoever has an engine asks the missing questions and judges again, until
none is missing; whoever has none makes do with what is kept.

The tolerances are common practice, no source: engines of one strength differ by a few tenths of
a pawn, and books are right to prefer a move that is a little worse and easier to play.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess

from builder.faults import Severity
from builder.model import Booklet, Exercise, Ply, Position, PositionKey
from builder.proof.at_moves import AtMoves
from builder.proof.engine_answers import (
    Answer, FoundLine, Lookup, Question, Score, line_text, score_over,
)  # fmt: skip
from builder.proof.finding import Finding
from builder.proof.signs import ASSESSMENT_SIGNS, ASSESSMENTS
from builder.proof.walk import Signed, Step, signed_moves, steps

# Pawns that a recommended move may lose against the engine's best move; more is weak, and more
# than the second is a mistake.
WEAK_LOSS = 0.5
BAD_LOSS = 1.5
# Beyond this many pawns a win is a win: the loss of a move is counted up to here only.
DECIDED = 5.0
# The score, in pawns from White's side, that a sign may stand for. The bands overlap, as practice
# does. NAG 13 (unclear) may stand for any.
BANDS = {
    10: (-0.5, 0.5),
    14: (0.1, 1.1), 15: (-1.1, -0.1),
    16: (0.6, 2.2), 17: (-2.2, -0.6),
    18: (1.4, None), 19: (None, -1.4),
}  # fmt: skip
# An exercise's answer should be better than every other move by this many pawns.
CLEARLY_BEST = 0.5

MOVE_WEAK, ASSESSMENT_OFF = "move-weak", "assessment-off"
ANSWER_WEAK, ANSWER_SECOND = "answer-weak", "answer-second"
CODES = (MOVE_WEAK, ASSESSMENT_OFF, ANSWER_WEAK, ANSWER_SECOND)


@dataclass(frozen=True, slots=True)
class Judgement:
    """The findings in reading order; `missing` are the questions that nobody has answered."""

    findings: tuple[Finding, ...]
    missing: tuple[Question, ...]
    judged: int


def judge(booklet: Booklet, lookup: Lookup) -> Judgement:
    """Judges what can be judged by the answers that are there."""
    judge = _Judge(booklet, lookup)
    found = [*judge.moves(), *judge.assessments(), *judge.exercises()]
    order = {chapter.slug: chapter.number for chapter in booklet.chapters}
    found.sort(key=lambda finding: (order[finding.chapter], finding.place, finding.code))
    return Judgement(tuple(found), tuple(judge.missing), judge.judged)


class _Judge:
    """The checks; `missing` collects what they would have liked to know."""

    def __init__(self, booklet: Booklet, lookup: Lookup) -> None:
        self.booklet = booklet
        self.lookup = lookup
        self.findings = AtMoves.of(booklet)
        self.missing: dict[Question, None] = {}
        self.judged = 0

    # --- moves -------------------------------------------------------------------------------

    def moves(self) -> Iterator[Finding]:
        """Recommended moves that lose too much; each move of a position once."""
        seen: set[tuple[PositionKey, chess.Move]] = set()
        for step in steps(self.booklet):
            key = (step.ply.before.key, step.ply.move)
            if step.recommends() and _of_own_side(step) and key not in seen:
                seen.add(key)
                yield from self._move(step.ply)

    def _move(self, ply: Ply) -> Iterator[Finding]:
        weighed = self._weigh(ply)
        if weighed is None:
            return
        self.judged += 1
        best, after, loss = weighed
        if loss <= WEAK_LOSS:
            return
        verb = "is a mistake: it loses" if loss > BAD_LOSS else "loses"
        yield self.findings.before(
            MOVE_WEAK, Severity.WARNING, ply,
            f"{ply.label}, which is recommended, {verb} {loss:.1f} pawns: {after} instead of "
            f"{best.score}",
            _engine_plays(ply.before, best),
        )  # fmt: skip

    def _weigh(self, ply: Ply) -> tuple[FoundLine, Score, float] | None:
        """The engine's best line, the score after the move, and what it loses in pawns."""
        answer = self._ask(ply.before)
        if answer is None:
            return None
        best = answer.best
        if best.move == ply.move:
            return best, best.score, 0.0
        after = self._score(ply.after)
        if after is None:
            return None
        wanted, got = (_decided(score.pawns(ply.by_white)) for score in (best.score, after))
        return best, after, wanted - got

    # --- signs -------------------------------------------------------------------------------

    def assessments(self) -> Iterator[Finding]:
        """Signs that the engine's score doesn't bear out; each sign of a position once."""
        seen: set[tuple[PositionKey, int]] = set()
        for signed in signed_moves(self.booklet, solutions=True):
            for nag in filter(None, map(ASSESSMENTS.get, signed.nags)):
                key = (signed.ply.after.key, nag)
                if nag in BANDS and key not in seen and not signed.ply.is_pass:
                    seen.add(key)
                    yield from self._assessment(signed, nag)

    def _assessment(self, signed: Signed, nag: int) -> Iterator[Finding]:
        ply = signed.ply
        score = self._score(ply.after)
        if score is None:
            return
        self.judged += 1
        low, high = BANDS[nag]
        pawns = score.pawns(white=True)
        if (low is None or pawns >= low) and (high is None or pawns <= high):
            return
        yield self.findings.after(
            ASSESSMENT_OFF, Severity.WARNING, signed,
            f"the position after {ply.label} is judged {ASSESSMENT_SIGNS[nag]}, which stands for "
            f"{_band(low, high)}; the engine says {score}",
            _engine_goes_on(ply.after, self._ask(ply.after)),
        )  # fmt: skip

    # --- exercises ---------------------------------------------------------------------------

    def exercises(self) -> Iterator[Finding]:
        for exercise in self.booklet.exercises:
            yield from self._weak_answers(exercise)
            yield from self._second_answers(exercise)

    def _weak_answers(self, exercise: Exercise) -> Iterator[Finding]:
        """The solver's moves in the solution that lose too much."""
        solver = exercise.solution.start.white_to_move
        plies = [ply for ply in exercise.solution.main_plies() if ply.by_white == solver]
        for ply in dict.fromkeys((*exercise.answers, *plies)):
            weighed = self._weigh(ply) if not ply.is_pass else None
            if weighed is None:
                continue
            self.judged += 1
            best, after, loss = weighed
            if loss > WEAK_LOSS:
                yield self.findings.before(
                    ANSWER_WEAK, Severity.WARNING, ply,
                    f"{ply.label}, which counts as right, loses {loss:.1f} pawns: {after} instead "
                    f"of {best.score}",
                    _engine_plays(ply.before, best),
                )  # fmt: skip

    def _second_answers(self, exercise: Exercise) -> Iterator[Finding]:
        """Other moves at the exercise's start that are as good as its answers."""
        start = exercise.solution.start
        right = {ply.move for ply in exercise.answers if ply.before.key == start.key}
        answer = self._ask(start, len(right) + 1)
        if answer is None or not right:
            return
        self.judged += 1
        listed = [line for line in answer.lines if line.move in right]
        other = next((line for line in answer.lines if line.move not in right), None)
        # Where no listed move is among the best, that has been told as a weak answer.
        if other is None or not listed or not _as_good(other, listed[0], start.white_to_move):
            return
        first = next(ply for ply in exercise.answers if ply.move in right)
        san = start.board().san(other.move)
        yield Finding(
            ANSWER_SECOND, Severity.WARNING, exercise.chapter,
            f"{exercise.chapter}/{exercise.given_id}", exercise.place,
            f"{san} ({other.score}) is as good an answer as {first.san} ({listed[0].score})",
            "count it as right by a variation, or ask for more; "
            + _engine_plays(start, other), start,
        )  # fmt: skip

    # --- helpers -----------------------------------------------------------------------------

    def _ask(self, position: Position, lines: int = 1) -> Answer | None:
        """The answer about a position; None, and a note of it, where there is none."""
        if score_over(position.board()) is not None:
            return None
        question = Question.of(position, lines)
        answer = self.lookup(question)
        if answer is None:
            self.missing[question] = None
        return answer

    def _score(self, position: Position) -> Score | None:
        """The score of a position: by the rules where the game is over, else the engine's."""
        over = score_over(position.board())
        if over is not None:
            return over
        answer = self._ask(position)
        return answer.best.score if answer else None


def _of_own_side(step: Step) -> bool:
    """Whether the chapter speaks for the side that moves; a chapter for both speaks for each."""
    return step.chapter.side in ("both", "white" if step.ply.by_white else "black")


def _decided(pawns: float) -> float:
    return max(-DECIDED, min(DECIDED, pawns))


def _as_good(other: FoundLine, listed: FoundLine, white: bool) -> bool:
    """Whether an unlisted move does as well: it mates as soon, or loses little against it."""
    mate = listed.score.mate_in is not None and listed.score.pawns(white) > 0
    if mate:
        return other.score.pawns(white) >= listed.score.pawns(white)
    return other.score.pawns(white) > listed.score.pawns(white) - CLEARLY_BEST


def _engine_plays(position: Position, line: FoundLine) -> str:
    return f"the engine plays {line_text(position.board(), line.moves)} ({line.score})"


def _engine_goes_on(position: Position, answer: Answer | None) -> str:
    return _engine_plays(position, answer.best) if answer else ""


def _band(low: float | None, high: float | None) -> str:
    if high is None:
        return f"{low:+.1f} and more"
    if low is None:
        return f"{high:+.1f} and less"
    return f"{low:+.1f} to {high:+.1f}"
