"""The EPUB's documents as a reading system's browser shows them, at an e-reader's size."""

from __future__ import annotations

from io import BytesIO
from zipfile import ZipFile

import pytest
from browser.booklets import small_booklet
from browser.pages import Site, visiting
from PIL import Image
from tiny import read_and_make

from builder.write.epub import write_epub

READER = {"width": 600, "height": 800}
# Of a page of the web, not of a publication's document: the book as a whole has one main part.
NOT_MEANT = ["landmark-one-main", "page-has-heading-one"]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory) -> Site:
    root = tmp_path_factory.mktemp("epub")
    source, booklet, faults = read_and_make(small_booklet(root / "booklet"))
    write_epub(booklet, source.files, root / "booklet.epub", dict, faults)
    with ZipFile(root / "booklet.epub") as container:
        container.extractall(root / "out")
    return Site(booklet, root / "out" / "EPUB")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_document_is_accessible_and_fits(browser, unpacked, node_package, scheme):
    """By axe-core, with its rules for WCAG 2.0 to 2.2, A and AA, and its best practices."""
    axe = (node_package("axe-core") / "axe.min.js").read_text(encoding="utf-8")
    rules = {rule: {"enabled": False} for rule in NOT_MEANT}
    with visiting(browser, unpacked, READER, color_scheme=scheme) as visit:
        for file in sorted(path.name for path in unpacked.folder.glob("*.xhtml")):
            page = visit.open(file)
            assert page.evaluate("document.documentElement.scrollWidth") == READER["width"], file
            loaded = "Array.from(document.images).every((img) => img.naturalWidth > 0)"
            assert page.evaluate(loaded), file
            page.evaluate(axe)
            found = page.evaluate(
                "rules => axe.run({preload: false, rules: rules}).then((r) =>"
                " r.violations.map((v) => v.id))", rules,
            )  # fmt: skip
            assert found == [], file


def test_a_move_is_followed_to_its_board_and_back(browser, unpacked):
    with visiting(browser, unpacked, READER) as visit:
        page = visit.open("chapter.1.xhtml")
        page.locator("a.move", has_text="4...Bc5").first.click()
        card = page.locator(".card:target")
        assert "4...Bc5" in card.inner_text()
        # White's fifth moves here: the line's, and the variation's other one.
        assert card.locator("a[rel='next']").all_inner_texts() == ["5.Be3", "5.Nxc6"]
        card.get_by_text("In the text").click()
        assert page.evaluate("document.querySelector('.move:target').textContent") == "4...Bc5"


def test_boards_hold_on_a_dark_page(browser, unpacked):
    """White's pieces stay white and the board's paper light, whatever the page's ground."""
    with visiting(browser, unpacked, READER, color_scheme="dark") as visit:
        page = visit.open("boards.1.1.xhtml")
        board = Image.open(BytesIO(page.locator("svg.board").first.screenshot())).convert("RGB")
        assert {(216, 208, 192), (22, 19, 15)} <= {colour for _, colour in board.getcolors(10**6)}
        picture = visit.open("chapter.1.xhtml").locator("img.board").first
        drawn = Image.open(BytesIO(picture.screenshot())).convert("L")
        assert drawn.getpixel((3, 3)) > 200  # a card of paper under all of it
