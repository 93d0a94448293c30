"""The same files read by others: PyPI `chess` and npm `kokopu` (whole trees), npm `chess.js` (main
moves). Game by game, the tree is the same."""

from __future__ import annotations

import io
import json

import chess
import chess.pgn
import pytest
from intake.random_trees import TreeText
from intake.reading_back import read
from intake.samples import CLUB, STANDARD
from node_readers import CHESS_JS, KOKOPU, says

from builder.intake.tree import MoveTree, walk
from builder.pgn.words import clean

RANDOM = "".join(TreeText(seed, 60, branches=0.25, passes=seed % 2 == 0).game() for seed in range(24))
# No `%` and `;`: of the three, none knows both.
ODD = """\
[Event "Odd"]
[FEN "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 3 20"]
[SetUp "1"]

20. O-O-O! ({or} 20. O-O $14 Rxa1?! (20... Kd7 {x} 21. Kg2) 21. Rxa1) 20... O-O
21. Rhe1 {a} {b} *

1. d4 d5 2. -- e5 *
"""
FILES = {"the standard's sample": STANDARD, "a club's file": CLUB, "odd": ODD, "random": RANDOM}


def ours(tree: MoveTree) -> dict[tuple[str, ...], tuple[set[int], set[str]]]:
    """By the way to it: the signs and words at each node."""
    found, way = {}, []
    for visit in walk(tree.root):
        node = visit.node
        del way[max(0, node.ply - tree.root.ply - 1) :]
        if node.move is not None:
            way.append(node.move.uci())
        found[tuple(way)] = set(node.nags), set(f"{node.opening} {node.comment}".split())
    return found


def theirs(game: chess.pgn.Game) -> dict[tuple[str, ...], tuple[set[int], set[str]]]:
    """The same of `chess`, which keeps a move that stands twice apart."""
    found: dict[tuple[str, ...], tuple[set[int], set[str]]] = {}
    stack: list[tuple[chess.pgn.GameNode, tuple[str, ...]]] = [(game, ())]
    while stack:
        node, way = stack.pop()
        nags, words = found.setdefault(way, (set(), set()))
        nags |= node.nags
        words |= set(clean(node.comment).split())
        for child in node.variations:
            inner = (*way, child.move.uci())
            # Words in front of a main move stand behind the move before.
            first = found.setdefault(inner, (set(), set()))
            first[1].update(clean(child.starting_comment).split())
            stack.append((child, inner))
    return found


@pytest.mark.parametrize("text", FILES.values(), ids=FILES)
def test_like_chess(text):
    handle = io.StringIO(text)
    games = list(iter(lambda: chess.pgn.read_game(handle), None))
    assert [game.errors for game in games] == [[]] * len(games)
    found = read(text)
    assert len(found.games) == len(games) and not found.faults, found.told()
    for mine, game in zip(found.games, games, strict=True):
        assert mine.tree.start.fen == game.board().fen(en_passant="fen")
        assert ours(mine.tree) == theirs(game)
        assert (mine.result or "*") == game.headers["Result"]
        for tag in mine.raw.tags:
            assert clean(game.headers[tag.name]) == tag.value


def positions(tree: MoveTree, main: bool = False) -> list[str]:
    """The positions behind the tree's moves, or its main moves, en passant where it is legal."""
    found, board = [], tree.start.board()
    for visit in walk(tree.root):
        node = visit.node
        if node.move is None or (main and visit.depth):
            continue
        while board.ply() >= node.ply:
            board.pop()
        board.push(node.move)
        found.append(board.epd(en_passant="legal"))
    return found


def plain(fens):
    return [chess.Board(fen).epd(en_passant="legal") for fen in fens]


@pytest.mark.parametrize("name", FILES)
def test_like_kokopu(name, program, node_package):
    # It takes a backslash for an escape in comments, where the standard has none.
    text = FILES[name].replace("\\}", "\\ }")
    found = says(program, node_package("kokopu"), KOKOPU, text)
    games = read(FILES[name]).games
    assert [set(plain(fens)) for fens in found] == [set(positions(game.tree)) for game in games]


@pytest.mark.parametrize("name", ["the standard's sample", "a club's file"])
def test_like_chess_js(name, program, node_package):
    games = read(FILES[name]).games
    texts = ["".join(f'[{tag.name} "{tag.value}"]\n' for tag in game.raw.tags) + "\n"
             + game.raw.movetext.text for game in games]  # fmt: skip
    found = says(program, node_package("chess.js"), CHESS_JS, json.dumps(texts))
    assert [plain(fens) for fens in found] == [positions(game.tree, main=True) for game in games]
