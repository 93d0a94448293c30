"""Lines that are as full as they can be, which WeasyPrint 70 by itself doesn't make of every text."""

from __future__ import annotations

import pytest
import weasyprint

from builder.press.whole_texts import whole_texts

TEXT = "White still has to win"


def boxes(style: str, kind: str) -> list:
    html = f'<p style="{style}"><b>{TEXT}</b></p>'.replace("</b>", " <i>8...0-0</i> at once</b>")
    page = weasyprint.HTML(string=html).render().pages[0]._page_box
    return [box for box in page.descendants() if type(box).__name__ == kind]


def lines(style: str) -> list[str]:
    return ["".join(part.text for part in line.descendants() if type(part).__name__ == "TextBox")
            for line in boxes(style, "LineBox")]  # fmt: skip


@pytest.mark.parametrize("align", ["left", "justify"])
def test_a_text_that_fits_but_for_its_last_space_stands_whole(align):
    width = next(box.width for box in boxes("white-space: nowrap", "TextBox"))  # with the space
    style = f"width: {width - 1}px; text-align: {align}"
    with whole_texts():
        assert [line.strip() for line in lines(style)][0] == TEXT
    wide, narrow = f"width: {width * 3}px", f"width: {width / 2}px"
    with whole_texts():
        mended = lines(wide), lines(narrow)
    assert mended == (lines(wide), lines(narrow))  # what was right stays as it was
