"""Every claim of a booklet proved by the rules.

In: the booklet. Out: a fault for every claim that isn't so, with the true value. What each claim
means is in its fact function, and for authors in `guide/claims.md`. Claims about an engine's
judgement are left unproved here, and a notice says how many.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from builder.faults import Faults
from builder.model import Booklet, Claim, NamedPosition
from builder.proof import attack, exchange, material, mate, rules, structure
from builder.proof.fact import Case, Fact, Senseless, played
from builder.source.claim_forms import ENGINE_KINDS

PROOFS: Mapping[str, Callable[[Case], Fact]] = {
    "material": material.material,
    "pieces": material.pieces,
    "bishop pair": material.bishop_pair,
    "opposite-coloured bishops": material.opposite_bishops,
    "attackers": attack.attackers,
    "undefended": attack.undefended,
    "loses": exchange.loses,
    "safe": exchange.safe,
    "trapped": exchange.trapped,
    "moves": attack.moves,
    "pinned": attack.pinned,
    "fork": attack.fork,
    "skewer": attack.skewer,
    "battery": attack.battery,
    "discovered check": attack.discovered_check,
    "discovered attack": attack.discovered_attack,
    "check": rules.check,
    "double check": rules.double_check,
    "mate": rules.mate,
    "mate in": mate.mate_in,
    "stalemate": rules.stalemate,
    "to move": rules.to_move,
    "legal": rules.legal,
    "illegal": rules.illegal,
    "only move": rules.only_move,
    "threat": rules.threat,
    "castling": rules.castling,
    "repetition": rules.repetition,
    "same as": rules.same_as,
    "isolated": structure.isolated,
    "doubled": structure.doubled,
    "passed": structure.passed,
    "protected passed": structure.protected_passed,
    "backward": structure.backward,
    "open": structure.open_file,
    "half-open": structure.half_open,
    "islands": structure.islands,
    "majority": structure.majority,
    "outpost": structure.outpost,
    "hole": structure.hole,
    "shelter": structure.shelter,
    "back rank weak": structure.back_rank_weak,
    "developed": material.developed,
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a claim turned out to be.

    `finding` is the truth and what makes it so; `remedy` how to write it, where that is known.
    `code` is the fault's when the outcome is not `true`.
    """

    outcome: Literal["true", "false", "unproved"]
    finding: str
    remedy: str = ""
    code: str = "claim-false"


@dataclass(frozen=True, slots=True)
class ProofCount:
    """How many claims were proved, left to an engine or undecided, and found false."""

    proved: int
    unproved: int
    false: int


def prove(claim: Claim, names: Mapping[str, NamedPosition] | None = None) -> Verdict:
    """Whether the claim is so. `names` are the booklet's named positions, for `same as`.

    An engine's judgement is `unproved`; raises nothing.
    """
    case = Case(claim, claim.position.board(), names or {})
    try:
        if claim.term.kind in ENGINE_KINDS:
            return _for_the_engine(case)
        fact = PROOFS[claim.term.kind](case)
    except Senseless as error:
        return Verdict("false", error.finding, error.remedy, error.code)
    except mate.Undecided:
        return Verdict("unproved", f"not settled within {mate.MOST_POSITIONS} positions",
                       code="claim-limit")  # fmt: skip
    if fact.holds != claim.term.denied:
        return Verdict("true", fact.finding)
    return Verdict("false", fact.finding, "" if claim.term.denied else fact.remedy)


def _for_the_engine(case: Case) -> Verdict:
    """A best move must be legal at least. Raises `Senseless` when it isn't."""
    if case.term.move:
        played(case.board, case.term.move)
    return Verdict("unproved", "an engine must judge this", code="claim-unproved")


def prove_claims(booklet: Booklet, faults: Faults, engine: bool = False) -> ProofCount:
    """Proves every claim; one error for each that is false.

    One notice tells how many claims an engine must judge, unless `engine` says that one will.
    """
    outcomes: list[str] = []
    unproved: list[Claim] = []
    for chapter in booklet.chapters:
        for claim in chapter.claims:
            verdict = prove(claim, booklet.names)
            outcomes.append(verdict.outcome)
            if verdict.outcome == "false":
                faults.error(verdict.code, claim.place, verdict.finding, verdict.remedy)
            elif verdict.code == "claim-limit" and verdict.outcome == "unproved":
                faults.warning("claim-limit", claim.place, f"this claim is {verdict.finding}",
                               "claim a shorter mate at a later move")  # fmt: skip
            elif verdict.outcome == "unproved":
                unproved.append(claim)
    if unproved and not engine:
        count = len(unproved)
        faults.notice("claim-unproved", unproved[0].place,
                      f"{count} claim{'s' if count > 1 else ''} about an engine's judgement "
                      f"{'were' if count > 1 else 'was'} not proved",
                      "name an engine in booklet.toml: [proof] engine = …")  # fmt: skip
    return ProofCount(*(outcomes.count(outcome) for outcome in ("true", "unproved", "false")))
