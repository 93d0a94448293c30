"""SVG boards: well formed, safe, and with the right piece on every square."""

import random
import re
import xml.etree.ElementTree as ElementTree

import chess
import pytest

from builder.draw import svg
from builder.draw.board import BoardView, Mark
from builder.draw.text import describe

SVG = "{http://www.w3.org/2000/svg}"
START = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR"
MARKS = (
    Mark("plan", (57, 42, 27)), Mark("threat", (30, 21)), Mark("guard", (12, 21)),
    Mark("key", (27, 36)), Mark("weak", (53,)), Mark("label", (36,), "outpost"),
)  # fmt: skip


def parsed(text):
    return ElementTree.fromstring(text)


def standing(tree):
    """The placement that the `<use>` elements show, from White's side."""
    board = chess.Board(None)
    for use in tree.iter(f"{SVG}use"):
        if found := re.fullmatch(r"#pb-([wb])([kqrbnp])", use.get("href")):
            side, letter = found.groups()
            square = chess.square(int(use.get("x")) // 100, 7 - int(use.get("y")) // 100)
            board.set_piece_at(
                square, chess.Piece.from_symbol(letter.upper() if side == "w" else letter)
            )
    return board.board_fen()


def random_placements(count):
    dice = random.Random(7)
    for _ in range(count):
        board = chess.Board()
        for _ in range(dice.randrange(80)):
            moves = list(board.legal_moves)
            if not moves:
                break
            board.push(dice.choice(moves))
        yield board.board_fen()


@pytest.mark.parametrize("placement", list(random_placements(12)))
@pytest.mark.parametrize("flip", [False, True])
def test_every_piece_stands_on_its_square(placement, flip):
    text = svg.board_svg(BoardView(placement, flip=flip), title="t", ident="b", standalone=True)
    shown = standing(parsed(text))
    expected = chess.Board(f"{placement} w - - 0 1")
    if flip:
        expected = expected.transform(chess.flip_vertical).transform(chess.flip_horizontal)
    assert shown == expected.board_fen()


def test_a_board_in_a_page_draws_only_what_the_sheet_has():
    sheet = parsed(svg.symbols().replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))
    offered = {f"#{element.get('id')}" for element in sheet.iter() if element.get("id")}
    for flip in (False, True):
        for mover in (None, False, True):
            view = BoardView(START, mover, flip=flip, marks=MARKS, last_move=(12, 28))
            asked = set(re.findall(r'href="([^"]*)"', svg.board_svg(view, title="t", ident="b")))
            assert asked <= offered


def test_a_file_of_its_own_holds_all_it_draws_and_refers_to_nothing_else():
    view = BoardView(START, False, flip=True, marks=MARKS, last_move=(12, 28))
    tree = parsed(svg.board_svg(view, title="t", ident="b", standalone=True))
    offered = {f"#{element.get('id')}" for element in tree.iter() if element.get("id")}
    for element in tree.iter():
        assert element.tag.removeprefix(SVG) not in ("script", "image", "foreignObject", "style")
        for name, value in element.attrib.items():
            assert not name.startswith("on")
            if name == "href":
                assert value in offered


def test_the_picture_is_named_and_told():
    view = BoardView(START, True)
    tree = parsed(
        svg.board_svg(view, title="Diagram 7", desc=describe(view), ident="d7", standalone=True)
    )
    assert tree.get("role") == "img"
    assert (tree.get("aria-labelledby"), tree.get("aria-describedby")) == ("d7-t", "d7-d")
    assert tree.find(f"{SVG}title").text == "Diagram 7"
    assert tree.find(f"{SVG}desc").text == describe(view)


HOSTILE = {
    "markup": "</text><script>alert(1)</script>",
    "attribute": '"><a onclick="x()">',
    "entity": "&amp;&#x3c;",
    "control characters": "\x00\x08\x0b",
    "a lone surrogate and a non-character": "\ud800\uffff",
    "right to left": "\u202eabc",
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_an_authors_text_stays_text(text):
    view = BoardView(START, marks=(Mark("label", (28,), text),))
    made = svg.board_svg(view, title=text, desc=text, ident='x"><script>', standalone=True)
    tree = parsed(made)
    assert not list(tree.iter(f"{SVG}script"))
    assert not list(tree.iter(f"{SVG}a"))
    kept = re.sub("[\x00-\x08\x0b\ud800\uffff]", "", text)
    assert tree.find(f"{SVG}title").text in (kept or None, kept)


def test_each_meaning_has_its_own_class_once():
    view = BoardView(START, marks=MARKS, last_move=(12, 28))
    tree = parsed(svg.board_svg(view, title="t", ident="b", standalone=True))
    groups = [group.get("class").split()[1] for group in tree.iter(f"{SVG}g")
              if "pb-mark" in (group.get("class") or "")]  # fmt: skip
    assert groups == ["pb-last", "pb-weak", "pb-key", "pb-guard", "pb-plan",
                      "pb-threat", "pb-label"]  # fmt: skip


def test_a_board_without_marks_is_small():
    assert len(svg.board_svg(BoardView(START, True), title="t", ident="b")) < 1600


def test_the_style_sheet_names_only_classes_that_are_drawn():
    view = BoardView(START, True, marks=MARKS, last_move=(12, 28))
    drawn = svg.symbols() + svg.board_svg(view, title="t", ident="b")
    classes = {name for found in re.findall(r'class="([^"]*)"', drawn) for name in found.split()}
    assert set(re.findall(r"\.([a-z][\w-]*)", svg.STYLE)) <= classes
