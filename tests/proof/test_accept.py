"""Findings that the author accepts: entries in booklet.toml, each with its reason."""

from __future__ import annotations

import pytest
from tiny import SETTINGS, line_of, read_and_make, write_booklet

from builder.faults import Severity
from builder.proof.run import Depth, run_proof

HANGS = line_of("1. e4 e5 2. Nf3 Nc6 3. Nxe5") + "\n" + line_of("1. f3 e5 2. g4", "line fool")
HANGING = "end-hanging@1/main/3.Nxe5"
MATE = "end-mate@1/fool/2.g4"


def accepting(*entries: str) -> str:
    listed = "".join(f"  {entry!r},\n".replace("'", '"') for entry in entries)
    return f"{SETTINGS}\n[proof]\naccept = [\n{listed}]\n"


def proved(folder, settings: str, *chapters: str, depth: Depth = Depth.SHEET):
    write_booklet(folder, *(chapters or (HANGS,)), settings=settings)
    source, booklet, faults = read_and_make(folder)
    report = run_proof(source, booklet, faults, depth)
    return report, faults.sorted()


def codes(faults) -> list[str]:
    return sorted(fault.code for fault in faults)


def test_without_entries_everything_is_told(tmp_path):
    report, faults = proved(tmp_path, SETTINGS)
    assert [finding.key for finding in report.findings] == [HANGING, "two-moves@1/fool/1.f3", MATE]
    assert codes(faults) == ["end-hanging", "end-mate", "two-moves"]


@pytest.mark.parametrize("where", ["1/main/3.Nxe5", "chapters/1.md:2"])
def test_an_accepted_finding_is_told_no_more(where, tmp_path):
    entry = f"end-hanging@{where}: the reader sees it: a piece"
    report, faults = proved(tmp_path, accepting(entry))
    assert codes(faults) == ["end-mate", "two-moves"]
    assert [(one.finding.key, one.reason) for one in report.accepted] == [
        (HANGING, "the reader sees it: a piece")
    ]
    assert HANGING not in [finding.key for finding in report.findings]


WRONG = {
    "no code": ("1/main/3.Nxe5: fine", "accepts nothing", "write code@where: reason"),
    "no place": ("end-hanging: fine", "accepts nothing", "as a finding tells it"),
    "no reason": (f"{HANGING}:", "is accepted without a reason", "why it may stand"),
    "blank reason": (f"{HANGING}:   ", "is accepted without a reason", "why it may stand"),
    "no colon": (HANGING, "accepts nothing", "write code@where: reason"),
    "empty": ("", "an empty text accepts nothing", "write code@where: reason"),
    "a line number alone": ("end-hanging@chapters/1.md:2", "accepts nothing", "write code@where"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_malformed_entry_is_an_error_at_its_own_line(name, tmp_path):
    entry, message, hint = WRONG[name]
    _, faults = proved(tmp_path, accepting(f"{MATE}: a trap", entry, "two-moves@1/fool/1.f3: a joke"))
    wrong = [fault for fault in faults if fault.code == "accept-syntax"]
    assert len(wrong) == 1
    assert wrong[0].severity == Severity.ERROR
    assert message in wrong[0].message and hint in wrong[0].hint
    assert (wrong[0].place.file, wrong[0].place.line) == ("booklet.toml", 8 if entry else 7)
    assert wrong[0].place.column == 4 or not entry  # an empty text can't be looked for


def test_an_entry_twice(tmp_path):
    _, faults = proved(tmp_path, accepting(f"{HANGING}: one", f"{HANGING}: two"))
    (fault,) = [fault for fault in faults if fault.code == "accept-syntax"]
    assert (fault.place.line, fault.hint) == (8, "the first time in line 7")


@pytest.mark.parametrize("entry", [5, '["end-mate"]', "true"])
def test_an_entry_of_another_type(entry, tmp_path):
    _, faults = proved(tmp_path, f"{SETTINGS}\n[proof]\naccept = [{entry}]\n")
    (fault,) = [fault for fault in faults if fault.code == "settings-type"]
    assert (fault.place.line, fault.message) == (6, "accept must be a list of texts")


def test_accept_must_be_a_list(tmp_path):
    _, faults = proved(tmp_path, f'{SETTINGS}\n[proof]\naccept = "{HANGING}: fine"\n')
    assert "accept must be a list" in [fault.message for fault in faults]


UNUSED = {
    "nothing there": ("end-mate@1/main/2.Nf3: fine", "nothing is found at end-mate@1/main/2.Nf3"),
    "a slip": (f"{MATE[:-1]}5: fine", f"nothing is found at {MATE[:-1]}5"),
    "another code": ("two-moves@1/main/3.Nxe5: fine", "nothing is found at two-moves@"),
    "no such code": ("end-mates@1/fool/2.g4: fine", "nothing is found at end-mates@"),
}


@pytest.mark.parametrize("name", UNUSED)
def test_an_entry_that_fits_nothing_gets_a_warning(name, tmp_path):
    entry, message = UNUSED[name]
    _, faults = proved(tmp_path, accepting(entry))
    (fault,) = [fault for fault in faults if fault.code == "accept-unused"]
    assert (fault.severity, fault.place.line) == (Severity.WARNING, 7)
    assert message in fault.message
    if name in ("a slip", "no such code"):
        assert fault.hint == f"did you mean {MATE}?"


def test_an_error_can_not_be_accepted(tmp_path):
    chapter = line_of("1. e4 {% material white +1 %} e5")
    report, faults = proved(tmp_path, accepting("claim-false@chapters/1.md:2: I like it"), chapter)
    assert codes(faults) == ["accept-unused", "claim-false"]
    assert [finding.code for finding in report.findings] == ["claim-false"]
    assert not report.accepted


def test_the_engines_entries_are_left_alone_where_it_was_not_asked(tmp_path):
    entry = "move-weak@1/main/3.Nxe5: on purpose"
    _, faults = proved(tmp_path, accepting(entry))
    assert "accept-unused" not in codes(faults)


@pytest.mark.parametrize("depth", [Depth.CLAIMS, Depth.RULES, Depth.SHEET])
def test_a_build_tells_of_no_unused_entry(depth, tmp_path):
    """It doesn't look for contradictions, so it can't know."""
    _, faults = proved(tmp_path, accepting("end-mate@1/main/2.Nf3: fine", "x"), depth=depth)
    assert ("accept-unused" in codes(faults)) == (depth >= Depth.RULES)
    assert "accept-syntax" in codes(faults)


def test_notices_are_told_by_the_proof_alone(tmp_path):
    chapter = line_of("1. e4 e5 @open 2. Nf3")
    assert codes(proved(tmp_path, SETTINGS, chapter, depth=Depth.RULES)[1]) == []
    assert codes(proved(tmp_path, SETTINGS, chapter, depth=Depth.SHEET)[1]) == ["name-unused"]


def test_while_chapters_have_errors_only_claims_are_proved(tmp_path):
    """A line that breaks off would seem to hang."""
    chapter = line_of("1. e4 e5 2. Nf3 Nc6 3. Nxe5 Nxe6 {% material even %}")
    report, faults = proved(tmp_path, SETTINGS, chapter)
    assert codes(faults) == ["move-illegal"]
    assert report.broken and not report.findings
