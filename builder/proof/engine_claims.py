"""The claims that only an engine proves: `eval` and `best`.

In: the claims and the answers that there are. Out: findings; never is a claim silently true.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from builder.faults import Severity
from builder.model import Booklet, Claim
from builder.proof.engine_answers import Lookup, Question, Score, line_text, score_over
from builder.proof.fact import Fact, Senseless, played, side_name
from builder.proof.finding import Finding
from builder.source.claim_forms import ENGINE_KINDS

# A score is claimed to a tenth of a pawn: `eval white = 0.3` is what rounds to that.
EQUAL = 0.05


@dataclass(frozen=True, slots=True)
class ByEngine:
    """What became of the claims: findings, and how many hold and how many don't."""

    findings: tuple[Finding, ...]
    proved: int
    false: int


def engine_claims(booklet: Booklet) -> tuple[Claim, ...]:
    return tuple(claim for chapter in booklet.chapters for claim in chapter.claims
                 if claim.term.kind in ENGINE_KINDS)  # fmt: skip


def claim_questions(claims: Iterable[Claim]) -> tuple[Question, ...]:
    """What has to be asked to prove the claims, each question once."""
    return tuple(dict.fromkeys(
        Question.of(claim.position) for claim in claims
        if score_over(claim.position.board()) is None
    ))  # fmt: skip


def engine_findings(claims: Iterable[Claim], lookup: Lookup, where: Callable[[Claim], str],
                    command: str) -> ByEngine:  # fmt: skip
    """An error for each claim that the engine denies, and one notice for those that have no
    answer. Claims that the rules refuse have been told by those who know the rules."""
    found: list[Finding] = []
    open_claims: list[Claim] = []
    proved = 0
    for claim in claims:
        try:
            fact = engine_fact(claim, lookup)
        except Senseless:
            continue
        if fact is None:
            open_claims.append(claim)
        elif fact.holds != claim.term.denied:
            proved += 1
        else:
            remedy = "" if claim.term.denied else fact.remedy
            found.append(_at(claim, "claim-false", Severity.ERROR, where, fact.finding, remedy))
    false = len(found)
    if open_claims:
        count = len(open_claims)
        one = count == 1
        message = (f"{count} claim{'' if one else 's'} about an engine's judgement "
                   f"{'was' if one else 'were'} not proved")  # fmt: skip
        hint = ("plyleaf proof --engine asks it" if command
                else "name an engine in booklet.toml: [proof] engine = …")  # fmt: skip
        found.append(_at(open_claims[0], "claim-unproved", Severity.NOTICE, where, message, hint))
    return ByEngine(tuple(found), proved, false)


def _at(claim: Claim, code: str, severity: Severity, where: Callable[[Claim], str], message: str,
        hint: str) -> Finding:  # fmt: skip
    return Finding(code, severity, claim.chapter, where(claim), claim.place, message, hint,
                   claim.position)  # fmt: skip


def engine_fact(claim: Claim, lookup: Lookup) -> Fact | None:
    """Whether the claim holds; None where there is no answer. Raises `Senseless`."""
    return _eval(claim, lookup) if claim.term.kind == "eval" else _best(claim, lookup)


def _eval(claim: Claim, lookup: Lookup) -> Fact | None:
    score = score_over(claim.position.board())
    if score is None:
        answer = lookup(Question.of(claim.position))
        if answer is None:
            return None
        score = answer.best.score
    term = claim.term
    if term.side is None:
        low, high = sorted(term.numbers)
        holds = low <= score.pawns(white=True) <= high
        return Fact(holds, f"the engine says {score}", "" if holds else "mend the claim")
    pawns = score.pawns(term.side)
    wanted = term.numbers[0]
    holds = {
        "=": abs(pawns - wanted) < EQUAL + 1e-9, ">=": pawns >= wanted, "<=": pawns <= wanted,
    }[term.comparison]  # fmt: skip
    side = "white" if term.side else "black"
    remedy = "" if holds or score.mate_in is not None else f"write eval {side} = {pawns:.1f}"
    return Fact(holds, f"the engine says {_told(score, term.side)}", remedy)


def _told(score: Score, white: bool) -> str:
    """The score from the claim's side, and from White's where that is another."""
    if white or score.mate_in is not None:
        return str(score)
    return f"{score.pawns(white):+.2f} for {side_name(white)}"


def _best(claim: Claim, lookup: Lookup) -> Fact | None:
    board = claim.position.board()
    move = played(board, claim.term.move)
    if score_over(board) is not None:
        raise Senseless("the game is over here")
    answer = lookup(Question.of(claim.position))
    if answer is None:
        return None
    best = answer.best
    finding = f"the engine plays {line_text(board, best.moves)} ({best.score})"
    holds = best.move == move
    return Fact(holds, finding, "" if holds else f"write best {board.san(best.move)}")
