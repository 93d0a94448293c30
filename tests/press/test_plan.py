"""Imposition plans, folded, cut and turned in simulation."""

from __future__ import annotations

import pytest

from builder.press.plan import Binding, Sheet, Side, Turn, padded, plan

COUNTS = (1, 3, 4, 5, 8, 17, 32, 63, 64, 99, 100)


def seen(side: Side) -> list[list]:
    """The cells of a side as somebody sees them who holds the front upright and turns the sheet
    over on the edge that the plan was made for: upside down where the side is turned."""
    rows = [list(row) for row in side.rows]
    return [row[::-1] for row in reversed(rows)] if side.turned else rows


def behind(sheet: Sheet, turn: Turn, wide: bool) -> list[list]:
    """For each place of the front, the cell that the paper has behind it.

    A wide sheet's short edges are left and right. Turned on the left or right edge, what lies
    behind the front's column c is the back's column counted from the right; turned on the
    upper or lower edge, the back's row counted from the bottom, its columns as they are.
    """
    sideways = (turn is Turn.SHORT) == wide
    back = [list(row) for row in sheet.back.rows]
    if sheet.back.turned:  # printed upside down on the side that the printer sees
        back = [row[::-1] for row in reversed(back)]
    return [row[::-1] for row in back] if sideways else back[::-1]


@pytest.mark.parametrize("turn", Turn)
@pytest.mark.parametrize("signature", [0, 1, 2, 4])
@pytest.mark.parametrize("pages", COUNTS)
def test_folded_booklet_runs_in_order(pages, signature, turn):
    """Nest the sheets of each signature, fold, and turn the leaves from the front."""
    sheets = plan(pages, Binding.BOOKLET, turn, signature=signature)
    order = []
    size = signature or len(sheets)
    for start in range(0, len(sheets), size):
        nested = sheets[start : start + size]
        fronts = [sheet.front.rows[0] for sheet in nested]
        backs = [behind(sheet, turn, wide=True)[0] for sheet in nested]
        # The right half of each sheet, outermost first: front then back of the leaf.
        for front, back in zip(fronts, backs):
            order += [front[1].page, back[1].page]
        # Then the left halves, innermost first: the leaf's inner side is the back.
        for front, back in zip(reversed(fronts), reversed(backs)):
            order += [back[0].page, front[0].page]
    assert [page for page in order if page is not None] == list(range(pages))
    assert len(order) == padded(pages, 4)
    assert order[:pages] == list(range(pages))


@pytest.mark.parametrize("turn", Turn)
@pytest.mark.parametrize(("across", "down"), [(2, 1), (1, 2), (2, 2), (3, 2)])
@pytest.mark.parametrize("pages", COUNTS)
def test_cut_stacks_run_in_order(pages, across, down, turn):
    sheets = plan(pages, Binding.STACK, turn, across=across, down=down)
    order = []
    for row in range(down):
        for column in range(across):
            for sheet in sheets:
                order.append(sheet.front.rows[row][column].page)
                order.append(behind(sheet, turn, wide=across > down)[row][column].page)
    assert order[:pages] == list(range(pages))
    assert all(page is None for page in order[pages:])


@pytest.mark.parametrize("turn", Turn)
@pytest.mark.parametrize(("across", "down"), [(2, 1), (2, 2)])
def test_side_by_side_reads_in_order(across, down, turn):
    sheets = plan(13, Binding.SHEET, turn, across=across, down=down)
    order = [
        cell.page for sheet in sheets
        for side in (sheet.front.rows, sheet.back.rows) for row in side for cell in row
    ]  # fmt: skip
    assert order[:13] == list(range(13))


def test_creep_grows_inwards_and_points_to_the_fold():
    sheets = plan(16, Binding.BOOKLET, Turn.SHORT)
    assert [sheet.front.rows[0][0].creep for sheet in sheets] == [0, 1, 2, 3]
    for sheet in sheets:
        for side in (sheet.front, sheet.back):
            assert [cell.fold_right for cell in side.rows[0]] == [True, False]


def test_no_pages():
    with pytest.raises(ValueError, match="needs pages"):
        plan(0, Binding.BOOKLET, Turn.SHORT)
