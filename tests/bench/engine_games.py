"""How the games were played that content/ counts: an engine against the booklet.

    .venv/bin/python tests/bench/engine_games.py content FILE.pgn [GAMES] [ENGINE]

content/games/engine-games-made-for-this-booklet.pgn are 300 by Stockfish 15.1. White's moves are those of
the booklet as it is: a changed booklet plays other games.

All games begin with the Scotch, 4.Nxd4. White plays the booklet's moves as long as it has any: at each
position the first that it gives without criticism. Everything else is chosen by the engine among its
ten best moves, the better one the more often: each pawn by which a move falls short makes it e^2 times
as rare. It looks at 100,000 nodes where the position is one of the booklet's, and at 4,000 behind. A game
ends by the rules, or when the engine sees a lead of four pawns, or is drawn after 100 moves. Seeded; with
one thread, fixed nodes and a fresh table for each game the same engine plays the same games.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import chess
import chess.engine
import chess.pgn

sys.path.insert(0, str(Path(__file__).parents[2]))

from builder.book.make import make_booklet
from builder.faults import Faults
from builder.model import PositionKey, position_key
from builder.source.booklet import read_booklet

START = "e4 e5 Nf3 Nc6 d4 exd4 Nxd4".split()
DATE = "2026.11.25"
OPENING_NODES, NODES, CHOICES = 100_000, 4_000, 10
STEEPNESS = 0.02  # a centipawn
LEAD, LONGEST = 400, 100  # centipawns, moves
CRITICISED = {2, 4, 6}  # NAGs
Choice: TypeAlias = tuple[chess.Move, int]  # with its score for the side to move, in centipawns


@dataclass(frozen=True, slots=True)
class Book:
    """White's moves by position, and what the engine has found at the booklet's positions."""

    moves: Mapping[PositionKey, chess.Move]
    found: dict[PositionKey, list[Choice] | None]


def read_book(folder: Path) -> Book:
    source = read_booklet(folder, Faults())
    assert source is not None
    booklet = make_booklet(source, Faults())
    moves: dict[PositionKey, chess.Move] = {}
    for chapter in booklet.chapters:
        for line in chapter.lines:
            for ply in line.plies() if line.is_taught else ():
                if ply.before.white_to_move and not ply.is_pass and not CRITICISED & {*ply.nags}:
                    moves.setdefault(ply.before.key, ply.move)
    return Book(moves, dict.fromkeys(booklet.reached))


def play(engine: chess.engine.SimpleEngine, book: Book, number: int) -> chess.pgn.Game:
    chance, board, result = random.Random(number), chess.Board(), ""
    for san in START:
        board.push_san(san)
    while not result and not board.is_game_over(claim_draw=True) and board.fullmove_number <= LONGEST:
        move = book.moves.get(position_key(board)) if board.turn == chess.WHITE else None
        if move is None:
            choices = choices_at(engine, board, book, number)
            best = choices[0][1]
            weights = [math.exp(STEEPNESS * max(-1000, score - best)) for _, score in choices]
            move = chance.choices([move for move, _ in choices], weights)[0]
            if abs(best) >= LEAD:
                result = "1-0" if (best > 0) == board.turn else "0-1"
        board.push(move)
    game = chess.pgn.Game.from_board(board)
    over = board.result(claim_draw=True)
    game.headers.update(
        {"Event": "Engine games made for this booklet", "Site": "Harbour Chess Club", "Date": DATE,
         "Round": str(number), "White": "Pilot", "Black": "Gull",
         "Result": over if over != "*" else result or "1/2-1/2"}
    )  # fmt: skip
    return game


def choices_at(engine: chess.engine.SimpleEngine, board: chess.Board, book: Book,
               number: int) -> list[Choice]:  # fmt: skip
    """The engine's best moves with their scores, the best first; asked once at the booklet's positions."""
    key = position_key(board)
    known = book.found.get(key)
    if known is None:
        nodes = OPENING_NODES if key in book.found else NODES
        lines = engine.analyse(board, chess.engine.Limit(nodes=nodes), multipv=CHOICES,
                               game=str(key) if key in book.found else number)  # fmt: skip
        known = [(line["pv"][0], line["score"].pov(board.turn).score(mate_score=10_000)) for line in lines]
        if key in book.found:
            book.found[key] = known
    return known


def main() -> None:
    folder, target = Path(sys.argv[1]), Path(sys.argv[2])
    games = int(sys.argv[3]) if len(sys.argv) > 3 else 300
    book = read_book(folder)
    with (chess.engine.SimpleEngine.popen_uci(sys.argv[4] if len(sys.argv) > 4 else "stockfish") as engine,
          target.open("w", encoding="utf-8") as out):  # fmt: skip
        engine.configure({"Threads": 1, "Hash": 16})
        for number in range(1, games + 1):
            game = play(engine, book, number)
            print(game.accept(chess.pgn.StringExporter(columns=79)), end="\n\n", file=out)


if __name__ == "__main__":
    main()
