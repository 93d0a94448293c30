"""What a reader's hand does on a board of the pages."""

from __future__ import annotations

from playwright.sync_api import Locator, Page


def at(board: Locator, square: str, flip: bool = False) -> tuple[float, float]:
    """Where the middle of a square is in the window. A board's picture is 9.24 squares wide and
    begins 0.62 left of the a-file and 0.16 above the eighth rank."""
    board.scroll_into_view_if_needed()
    box = board.bounding_box()
    assert box is not None
    unit = box["width"] / 9.24
    column, row = ord(square[0]) - 97, 8 - int(square[1])
    if flip:
        column, row = 7 - column, 7 - row
    return box["x"] + (1.12 + column) * unit, box["y"] + (0.66 + row) * unit


def drag(page: Page, board: Locator, move: str) -> None:
    page.mouse.move(*at(board, move[:2]))
    page.mouse.down()
    page.mouse.move(*at(board, move[2:]), steps=4)
    page.mouse.up()


def touch(page: Page, board: Locator, move: str) -> None:
    """Two taps. The page must have been opened with touch."""
    page.touchscreen.tap(*at(board, move[:2]))
    page.touchscreen.tap(*at(board, move[2:]))
