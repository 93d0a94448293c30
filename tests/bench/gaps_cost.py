"""What `plyleaf gaps` costs with games, against reading them whole with the rules library.

    .venv/bin/python tests/bench/gaps_cost.py [FOLDER] [GAMES]

The games are made for the purpose: they follow the booklet's moves for nine moves in ten and any
legal move else, seeded, so that every run reads the same file.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from pathlib import Path

import chess
import chess.pgn

sys.path.insert(0, str(Path(__file__).parents[2]))

from builder.book.make import make_booklet
from builder.counting.booklet import booklet_counts
from builder.faults import Faults
from builder.model import Booklet, PositionKey, position_key
from builder.openings.book import opened_book
from builder.proof.gaps import find_gaps
from builder.source.booklet import read_booklet
from builder.source.files import BookletFiles


def write_games(booklet: Booklet, path: Path, games: int) -> None:
    following: dict[PositionKey, list[chess.Move]] = {}
    for plies in booklet.reached.values():
        for ply in plies:
            following.setdefault(ply.before.key, []).append(ply.move)
    chance = random.Random(5)
    with path.open("w", encoding="utf-8") as file:
        for number in range(1, games + 1):
            board = chess.Board()
            words: list[str] = []
            for _ in range(chance.randint(20, 90)):
                legal = sorted(board.legal_moves, key=str)
                if not legal:
                    break
                known = following.get(position_key(board), [])
                move = chance.choice(known if known and chance.random() < 0.9 else legal)
                number_text = f"{board.fullmove_number}. " if board.turn else ""
                words.append(number_text + board.san_and_push(move))
            file.write(f'[Round "{number}"]\n[Result "*"]\n\n{" ".join(words)} *\n\n')


def main() -> None:
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "content")
    games = int(sys.argv[2]) if len(sys.argv) > 2 else 5000
    source = read_booklet(folder, Faults())
    assert source is not None
    booklet = make_booklet(source, Faults())
    with tempfile.TemporaryDirectory() as temporary:
        path = Path(temporary) / "games" / "made.pgn"
        path.parent.mkdir()
        write_games(booklet, path, games)
        started = time.perf_counter()
        counts = booklet_counts(booklet.reached, BookletFiles.at(Path(temporary)), Faults())
        with opened_book() as book:
            report = find_gaps(booklet, counts, book=lambda position: book.at(position.board()))
        ours = time.perf_counter() - started
        started = time.perf_counter()
        with path.open(encoding="utf-8") as file:
            while chess.pgn.read_game(file) is not None:
                pass
        whole = time.perf_counter() - started
    assert counts.games == games
    print(f"{games} games: gaps in {ours:.1f} s ({len(report.gaps)} positions), "
          f"reading them whole {whole:.1f} s: {whole / ours:.1f} times as long")  # fmt: skip


if __name__ == "__main__":
    main()
