"""What a proof came to: the findings that are left, those accepted, and the facts beside them."""

from __future__ import annotations

from dataclasses import dataclass

from builder.faults import Severity
from builder.proof.accept import Accepted
from builder.proof.finding import Finding


@dataclass(frozen=True, slots=True)
class EngineFacts:
    """What the engine did: its name, the nodes a position, positions asked now, answers that
    were kept from before, verdicts, and, where it failed, questions left open and why."""

    name: str
    nodes: int
    asked: int = 0
    kept: int = 0
    judged: int = 0
    missing: int = 0
    failure: str = ""


@dataclass(frozen=True, slots=True)
class ClaimCounts:
    """Claims in all; `skipped` are those that only an engine proves and none has."""

    total: int = 0
    false: int = 0
    skipped: int = 0


@dataclass(frozen=True, slots=True)
class ProofReport:
    """`findings` in reading order; `engine` is None where none was asked. `broken` tells that
    the chapters have errors, so that only claims were proved."""

    findings: tuple[Finding, ...]
    accepted: tuple[Accepted, ...] = ()
    claims: ClaimCounts = ClaimCounts()
    engine: EngineFacts | None = None
    broken: bool = False

    def count(self, severity: Severity) -> int:
        return sum(1 for finding in self.findings if finding.severity == severity)
