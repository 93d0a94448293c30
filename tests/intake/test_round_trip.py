"""Import, build, export, import again: the same tree, for samples and for random deep trees."""

from __future__ import annotations

import os
from pathlib import Path

import chess
import pytest
from intake.random_trees import TreeText
from intake.reading_back import booklet_of, check_round_trip

from builder.intake.gather import Split
from builder.write.pgn import pgn_text

ROOT = Path(__file__).parents[2]
# 500 trees are asked for by setting PLYLEAF_TREES; the suite is content with a share of them.
TREES = int(os.environ.get("PLYLEAF_TREES", "40"))
STUDY = "8/4P1k1/8/8/8/8/8/4K3 w - - 0 1"

SAMPLES = {
    "one line": "1. e4 e5 2. Nf3 *",
    "variations and words": "{first} 1. e4 $1 {king} (1. d4 {queen} d5 (1... Nf6 2. c4)) e5 2. Nf3 *",
    "another start": f'[SetUp "1"]\n[FEN "{STUDY}"]\n\n1. e8=Q Kf6 2. Qd7 *',
    "a pass": "1. e4 e5 2. Nf3 Nc6 (2... -- 3. Nxe5) 3. d4 *",
    "transpositions": "1. e4 e5 (1... Nc6 2. Nf3 e5) 2. Nf3 Nc6 3. d4 *",
    "two games": "[White \"A\"]\n\n1. e4 e5 *\n\n[White \"B\"]\n\n1. d4 d5 2. c4 *",
}


@pytest.mark.parametrize("text", SAMPLES.values(), ids=SAMPLES)
def test_sample(text, tmp_path):
    check_round_trip(text, tmp_path / "booklet")


@pytest.mark.parametrize("by", ["auto", "branch", "depth"])
@pytest.mark.parametrize("booklet", ["content", "demo/handout", "builder/starter/booklet"])
def test_our_own_booklets(booklet, by, tmp_path):
    """What a build writes is imported, exercises and all, and comes out the same again."""
    text = pgn_text(booklet_of(ROOT / booklet))
    made = check_round_trip(text, tmp_path / "booklet", split=Split(by=by))
    assert not [fault for fault in made.faults if fault.severity.word != "notice"], made.told()


@pytest.mark.parametrize("seed", range(TREES))
def test_random_tree(seed, tmp_path):
    """Some wide, some deep, some from another start; with words that mean something to Markdown."""
    deep = seed % 3 == 0
    tree = TreeText(seed, 60 + seed % 90, branches=0.35 if deep else 0.15, depth=12 if deep else 5)
    start = chess.Board(STUDY) if seed % 7 == 6 else None
    check_round_trip(tree.game(start), tmp_path / "booklet")


@pytest.mark.parametrize("by", ["branch", "depth"])
def test_joined_games(by, tmp_path):
    """Many games in one tree, parted anew."""
    text = "".join(TreeText(seed, 25, words=0.1).game() for seed in range(12))
    check_round_trip(text, tmp_path / "booklet", split=Split(by=by))
