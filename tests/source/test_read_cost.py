"""A paragraph of thousands of signs is read in steps that grow with their number, not its square."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from tiny import line_of, tiny

FEW, MANY = 500, 2000
SIGNS = {
    "brackets that are moves": "[5.Nf3] ",
    "links that no bracket closes": "[x](@a ",
    "links with half a caption": '[x](@a "b ',
    "claims that are none": "[x]{nonsense} ",
    "claims that are never closed": "[x]{ ",
    "silent claims that are never closed": "{% ",
    "code": "`x` ",
    "code that is never closed": "`x ``y ",
    "headings of the same words": "# a\n\n",
}
MOVETEXT = {"diagrams that are never closed": "(D\n", "half a caption": '(D "\n'}
CHAPTERS = {name: lambda count, sign=sign: "# A\n\n" + sign * count for name, sign in SIGNS.items()} | {
    name: lambda count, sign=sign: line_of("1. e4 " + sign * count) for name, sign in MOVETEXT.items()
}  # fmt: skip


def lines_run(folder: Path, text: str) -> int:
    """How many lines of the reading's own code are run."""
    count = 0

    def heard(frame, event, _argument):
        nonlocal count
        if "/builder/" not in frame.f_code.co_filename:
            return None
        count += event == "line"
        return heard

    sys.settrace(heard)
    try:
        tiny(folder, text)
    finally:
        sys.settrace(None)
    return count


@pytest.mark.parametrize("chapter", CHAPTERS.values(), ids=CHAPTERS)
def test_signs_cost_no_more_when_they_are_many(chapter, tmp_path):
    few, many = (lines_run(tmp_path / str(count), chapter(count)) for count in (FEW, MANY))
    assert many / few < 1.2 * MANY / FEW


def test_a_fault_in_a_long_line_holds_what_stands_round_it(tmp_path):
    """All faults of a line hold together no more than its length times a number."""
    made = tiny(tmp_path, "start " + "[5.Nf3] " * MANY + "end\n")
    assert len(made.faults) == MANY
    assert max(len(fault.excerpt) for fault in made.faults) < 2000
    for fault in made.faults:
        begin = fault.place.column - 1 - fault.cut
        assert fault.excerpt[begin : begin + 6] == "5.Nf3]"
    middle = made.faults[MANY // 2].as_text().splitlines()
    assert middle[1].startswith("  …") and middle[1].endswith("…")
    assert middle[1][middle[2].index("^") :].startswith("5.Nf3]")
    assert made.faults[0].as_text().splitlines()[1].startswith("  start [5.Nf3]")
    assert made.faults[-1].as_text().splitlines()[1].endswith("[5.Nf3] end")
