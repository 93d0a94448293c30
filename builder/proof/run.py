"""The whole proof of a booklet, from claims to the engine, less what the author accepts.

In: the booklet as read and as made. Out: a report; what is found is told to `faults` as well.
How far it goes is a `Depth`: a build proves claims, `plyleaf check` looks for contradictions too,
`plyleaf proof` tells notices as well and asks the engine where it is wanted.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

from builder.faults import Faults, Severity
from builder.model import Booklet, Claim
from builder.proof.accept import read_entries, sift, tell_unused
from builder.proof.claims import prove_claims
from builder.proof.consistency import find_inconsistencies
from builder.proof.engine_answers import EngineFault, Lookup, Progress, Question
from builder.proof.engine_claims import claim_questions, engine_claims, engine_findings
from builder.proof.finding import Finding, ply_where
from builder.proof.judge import CODES as ENGINE_CODES
from builder.proof.judge import judge
from builder.proof.report import ClaimCounts, EngineFacts, ProofReport
from builder.proof.walk import lines_by_anchor
from builder.settings import ENGINE_NODES, SETTINGS_FILE, Settings
from builder.source.booklet import BookletSource
from builder.source.files import BookletFiles

if TYPE_CHECKING:
    from builder.proof.engine_run import Asking


class Depth(IntEnum):
    """How much is proved; each takes in those before it."""

    CLAIMS = 0
    RULES = 1
    SHEET = 2
    ENGINE = 3


@dataclass(frozen=True, slots=True)
class _Judged:
    """What is known from an engine: answers, and when one was asked its findings and facts."""

    lookup: Lookup
    findings: tuple[Finding, ...] = ()
    facts: EngineFacts | None = None

    @property
    def whole(self) -> bool:
        return self.facts is not None and not self.facts.failure


def run_proof(source: BookletSource, booklet: Booklet, faults: Faults, depth: Depth,
              nodes: int = ENGINE_NODES, progress: Progress = lambda words, share: None) -> ProofReport:  # fmt: skip
    """Proves the booklet as far as `depth` says. Raises nothing for an author's mistake, nor
    for an engine's failure, which is an error at the engine's key."""
    settings, files = source.settings, source.files
    entries = read_entries(settings.accept, faults)
    # A line that breaks off at a wrong move would be found to end badly.
    broken = any(fault.severity == Severity.ERROR and fault.place.file != SETTINGS_FILE
                 for fault in faults.sorted())  # fmt: skip
    if broken:
        depth = Depth.CLAIMS
    if depth == Depth.ENGINE:
        judged = _ask(booklet, files, settings, nodes, faults, progress)
    else:
        judged = _Judged(_kept(booklet, files, settings, faults))
    found, counts = _prove_claims(booklet, settings, judged.lookup)
    if depth >= Depth.RULES:
        found += find_inconsistencies(booklet)
    found += judged.findings
    sifted = sift(_in_order(booklet, found), entries)
    if depth >= Depth.RULES:
        tell_unused(entries, sifted, faults, () if judged.whole else ENGINE_CODES)
    for finding in sifted.left:
        if depth >= Depth.SHEET or finding.severity > Severity.NOTICE or finding.code in _TOLD:
            finding.tell(faults)
    return ProofReport(sifted.left, sifted.accepted, counts, judged.facts, broken)


_TOLD = ("claim-unproved",)  # notices that every run tells: nothing is silently true


def _in_order(booklet: Booklet, found: list[Finding]) -> list[Finding]:
    order = {chapter.slug: chapter.number for chapter in booklet.chapters}
    return sorted(found, key=lambda one: (order[one.chapter], one.place, one.code, one.message))


# --- claims -------------------------------------------------------------------------------------


def _prove_claims(booklet: Booklet, settings: Settings,
                  lookup: Lookup) -> tuple[list[Finding], ClaimCounts]:  # fmt: skip
    """The claims by the rules, then those that an engine proves by what it has answered."""
    told = Faults()
    count = prove_claims(booklet, told, engine=True)
    claims = {claim.place: claim for chapter in booklet.chapters for claim in chapter.claims}
    where = _Where(booklet)
    found = [
        Finding(fault.code, fault.severity, claims[fault.place].chapter,
                where.of(claims[fault.place]), fault.place, fault.message, fault.hint,
                claims[fault.place].position)
        for fault in told.sorted()
    ]  # fmt: skip
    by_engine = engine_findings(engine_claims(booklet), lookup, where.of, settings.engine)
    found += by_engine.findings
    total = count.proved + count.unproved + count.false
    return found, ClaimCounts(total, count.false + by_engine.false,
                              count.unproved - by_engine.proved - by_engine.false)  # fmt: skip


class _Where:
    """The stable place of a claim."""

    def __init__(self, booklet: Booklet) -> None:
        self.lines = lines_by_anchor(booklet)

    def of(self, claim: Claim) -> str:
        if claim.ply is None:
            return f"{claim.chapter}/{claim.text}"
        return f"{ply_where(claim.ply, self.lines)}/{claim.text}"


# --- the engine ---------------------------------------------------------------------------------


def _kept(booklet: Booklet, files: BookletFiles, settings: Settings, faults: Faults) -> Lookup:
    """Answers that are kept for claims, read only where there are such claims."""
    claims = engine_claims(booklet)
    if claims and settings.engine:
        from builder.proof.engine_kept import kept_answers

        try:
            return kept_answers(files, settings.engine, claim_questions(claims))
        except EngineFault as fault:
            faults.warning(fault.code, settings.engine_place, fault.message, fault.hint)
    return _nothing


def _nothing(question: Question) -> None:
    """Where nothing is kept."""


def _ask(booklet: Booklet, files: BookletFiles, settings: Settings, nodes: int, faults: Faults,
         progress: Progress) -> _Judged:  # fmt: skip
    """Asks until every question has its answer, or the engine fails: then what was answered
    until then is judged."""
    from builder.proof.engine import Limits
    from builder.proof.engine_run import Asking

    try:
        asking = Asking(files, settings.engine, Limits(nodes))
    except EngineFault as fault:
        faults.error(fault.code, settings.engine_place, fault.message, fault.hint)
        usable = fault.code != "engine-file"
        return _Judged(_kept(booklet, files, settings, faults) if usable else _nothing,
                       facts=EngineFacts(settings.engine, nodes, failure=fault.message))  # fmt: skip
    failure = ""
    with asking:
        try:
            _ask_all(booklet, asking, progress)
        except EngineFault as fault:
            failure = fault.message
            faults.error(fault.code, settings.engine_place, fault.message, fault.hint)
    judgement = judge(booklet, asking.answered)
    facts = EngineFacts(asking.name, nodes, asking.tally.asked, asking.tally.kept,
                        judgement.judged, len(judgement.missing), failure)  # fmt: skip
    return _Judged(asking.answered, judgement.findings, facts)


def _ask_all(booklet: Booklet, asking: Asking, progress: Progress) -> None:
    """Asks in rounds: what a move that isn't the engine's own comes to is known to be wanted
    only when its position has been answered. Raises EngineFault."""
    wanted = (*claim_questions(engine_claims(booklet)), *judge(booklet, asking.lookup).missing)
    while wanted:
        asking.ask(wanted, progress)
        wanted = judge(booklet, asking.lookup).missing
