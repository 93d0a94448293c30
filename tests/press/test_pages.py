"""Pages of the torture booklet: nothing outside, cut, parted, stranded or on top of another.

A few themes, pages and languages in turn; `python -m tests.bench.pages` does them all, and the
project's own course.
"""

from __future__ import annotations

import pytest
from press.page_boxes import faults_of, lay_out
from press.torture import write_torture

CASES = (("book", "A5", "de"), ("handout", "A4", "fr"))


@pytest.mark.parametrize(("theme", "page", "language"), CASES)
def test_the_torture_booklet(tmp_path, theme, page, language):
    folder = write_torture(tmp_path / "torture", language)
    assert faults_of(lay_out(folder, theme, page)) == []
