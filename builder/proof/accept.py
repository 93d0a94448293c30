"""Findings that the author accepts, each with a reason.

In: the `accept` entries of booklet.toml and the findings. Out: the findings that are left, and
those that were accepted. An entry is `CODE@WHERE: REASON`; WHERE is a finding's stable place
(`10-main/main/6.e5`) or the line that it is told at (`chapters/10-main.md:14`).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from builder.faults import Faults, Severity, did_you_mean
from builder.place import Place
from builder.proof.finding import Finding

_ENTRY = re.compile(r"\s*(?P<code>[a-z][a-z-]*)@(?P<where>\S.*?)\s*:(?:\s+(?P<reason>.*?))?\s*")


@dataclass(frozen=True, slots=True)
class Entry:
    code: str
    where: str
    reason: str
    place: Place

    @property
    def key(self) -> str:
        return f"{self.code}@{self.where}"

    def fits(self, finding: Finding) -> bool:
        line = f"{finding.place.file}:{finding.place.line}"
        return self.code == finding.code and self.where in (finding.where, line)


@dataclass(frozen=True, slots=True)
class Accepted:
    """A finding that the author knows of, and why he leaves it."""

    finding: Finding
    reason: str


@dataclass(frozen=True, slots=True)
class Sifted:
    """Findings that are left, and accepted ones; `refused` are the keys of entries that would
    have accepted an error."""

    left: tuple[Finding, ...]
    accepted: tuple[Accepted, ...]
    refused: frozenset[str] = frozenset()


def read_entries(texts: Iterable[tuple[str, Place]], faults: Faults) -> tuple[Entry, ...]:
    """The entries that can be read; the others are errors at their own places."""
    found: dict[str, Entry] = {}
    for text, place in texts:
        match = _ENTRY.fullmatch(text)
        if match is None:
            faults.error("accept-syntax", place, f"{text or 'an empty text'} accepts nothing",
                         "write code@where: reason, as a finding tells it")  # fmt: skip
            continue
        entry = Entry(match["code"], match["where"], match["reason"] or "", place)
        if not entry.reason:
            faults.error("accept-syntax", place, f"{entry.key} is accepted without a reason",
                         f"write {entry.key}: and why it may stand")  # fmt: skip
        elif entry.key in found:
            faults.error("accept-syntax", place, f"{entry.key} is accepted twice",
                         f"the first time in line {found[entry.key].place.line}")  # fmt: skip
        else:
            found[entry.key] = entry
    return tuple(found.values())


def sift(findings: Iterable[Finding], entries: tuple[Entry, ...]) -> Sifted:
    """Takes accepted findings out; an error can't be accepted."""
    left: list[Finding] = []
    accepted: list[Accepted] = []
    refused: set[str] = set()
    for finding in findings:
        entry = next((entry for entry in entries if entry.fits(finding)), None)
        if entry is None:
            left.append(finding)
        elif finding.severity == Severity.ERROR:
            refused.add(entry.key)
            left.append(finding)
        else:
            accepted.append(Accepted(finding, entry.reason))
    return Sifted(tuple(left), tuple(accepted), frozenset(refused))


def tell_unused(entries: tuple[Entry, ...], sifted: Sifted, faults: Faults,
                unsearched: Collection[str] = ()) -> None:  # fmt: skip
    """Warns of entries that accept nothing, unless their code is one of those that were not
    looked for in this run (`unsearched`)."""
    keys = [finding.key for finding in sifted.left]
    for entry in entries:
        if entry.key in sifted.refused:
            faults.warning("accept-unused", entry.place,
                           f"{entry.key} is an error, and errors can't be accepted",
                           "mend it, and take the entry away")  # fmt: skip
        elif entry.code not in unsearched and not any(
            entry.fits(accepted.finding) for accepted in sifted.accepted
        ):
            faults.warning("accept-unused", entry.place, f"nothing is found at {entry.key}",
                           did_you_mean(entry.key, keys) or "take the entry away")  # fmt: skip
