"""What counting large files costs, against the rules library's own PGN reader counting the same.

    .venv/bin/python tests/bench/count_cost.py [FOLDER] [GAMES] [FILE] [ours]

The games are made for the purpose, seeded, and left in FILE where one is named (and taken from it
where it is there). They begin as games of all openings do: half of them follow the booklet's own
moves, of which the first ones are the popular ones, and leave it early or late; then come legal
moves, captures and pawn moves first among them, and at last pieces that go to and fro until the game
is as long as games are. Each is there five times with other tags and results, since making them costs
most of the time. The reader that is compared against (`chess.pgn.read_game` with a visitor)
plays no variations, and stops at the same half-move as we do. Both must count the same. With `ours` it
is left out. We count three times: from nothing, again, and again when the file has lain untouched for
so long that it is not read any more.
"""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
import time
from pathlib import Path
from typing import TypeAlias

import chess
import chess.pgn

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from counting_reference import as_plain, plain_counts

from builder.book.make import make_booklet
from builder.counting.booklet import counts_of, wanted_of
from builder.counting.content import UNTOUCHED
from builder.faults import Faults
from builder.model import Booklet, PositionKey, position_key
from builder.source.booklet import read_booklet
from builder.source.files import BookletFiles

POPULAR = (50, 25, 12, 6, 4, 3)  # weights of a position's moves in the booklet
TIMES = 5
RESULTS = ("1-0", "1/2-1/2", "0-1")
# How games of other openings begin (common property, from memory), the more played ones first.
OTHERS = tuple(text.split() for text in (
    "e4 c5 Nf3 d6 d4 cxd4 Nxd4 Nf6 Nc3 a6", "d4 Nf6 c4 e6 Nc3 Bb4 e3 O-O", "e4 e5 Nf3 Nc6 Bb5 a6 Ba4 Nf6",
    "d4 d5 c4 e6 Nc3 Nf6 Bg5 Be7", "e4 e6 d4 d5 Nc3 Nf6 Bg5", "d4 Nf6 c4 g6 Nc3 Bg7 e4 d6 Nf3 O-O",
    "e4 c6 d4 d5 e5 Bf5 Nf3 e6", "e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 d3 d6", "d4 d5 c4 c6 Nf3 Nf6 Nc3 dxc4",
    "e4 c5 Nf3 Nc6 d4 cxd4 Nxd4 g6", "c4 e5 Nc3 Nf6 g3 d5", "Nf3 d5 g3 Nf6 Bg2 e6 O-O Be7", "e4 e5 Nf3 Nf6 Nxe5 d6",
    "d4 Nf6 c4 e6 Nf3 b6 g3 Ba6", "e4 d5 exd5 Qxd5 Nc3 Qa5", "d4 f5 g3 Nf6 Bg2 e6", "e4 d6 d4 Nf6 Nc3 g6",
    "e4 c5 c3 d5 exd5 Qxd5", "d4 Nf6 Bf4 d5 e3 c5", "e4 e5 f4 exf4 Nf3 g5", "c4 c5 Nf3 Nf6 Nc3 Nc6",
    "e4 e5 Nc3 Nf6 f4 d5", "b3 e5 Bb2 Nc6 e3 d5", "f4 d5 Nf3 g6", "e4 Nf6 e5 Nd5 d4 d6",
))  # fmt: skip
OTHER_WEIGHTS = tuple(60 / (index + 3) for index in range(len(OTHERS)))
Known: TypeAlias = dict[PositionKey, list[tuple[str, chess.Move]]]


def write_games(booklet: Booklet, path: Path, games: int) -> None:
    known: Known = {}
    for plies in booklet.reached.values():
        for ply in plies:
            moves = known.setdefault(ply.before.key, [])
            if (ply.san, ply.move) not in moves:
                moves.append((ply.san, ply.move))
    chance = random.Random(5)
    pool = [_game(chance, known) for _ in range(max(1, games // TIMES))]
    with path.open("w", encoding="utf-8") as file:
        for number in range(1, games + 1):
            result = chance.choices(RESULTS, (38, 30, 32))[0]
            date = f"{chance.randint(1990, 2026)}.{chance.randint(1, 12):02}.??"
            file.write(f'[Event "Harbour Open {number % 97}"]\n[Site "Harbour Town"]\n'
                       f'[Date "{date}"]\n[Round "{number % 9 + 1}"]\n'
                       f'[White "Player, {chance.randint(1, 9999)}"]\n'
                       f'[Black "Player, {chance.randint(1, 9999)}"]\n[Result "{result}"]\n\n'
                       f"{chance.choice(pool)} {result}\n\n")  # fmt: skip


def _game(chance: random.Random, known: Known) -> str:
    board = chess.Board()
    sans: list[str] = []
    if chance.random() < 0.5:
        while (moves := known.get(position_key(board))) and chance.random() < 0.93:
            san, move = chance.choices(moves, [*POPULAR, *[1] * 99][: len(moves)])[0]
            sans.append(san)
            board.push(move)
    else:
        for san in chance.choices(OTHERS, OTHER_WEIGHTS)[0][: chance.choice((2, 4, 5, 6, 7, 8, 9, 10))]:
            sans.append(san)
            board.push_san(san)
    for _ in range(chance.randint(12, 20)):
        move = _likely(chance, board)
        if move is None:
            break
        sans.append(board.san_and_push(move))
    sans += _to_and_fro(board, chance.randint(30, 110) - len(sans))
    return " ".join(f"{ply // 2 + 1}. {san}" if ply % 2 == 0 else san for ply, san in enumerate(sans))


def _likely(chance: random.Random, board: chess.Board) -> chess.Move | None:
    """A legal move; captures, pawn moves and moves to the middle are more likely."""
    legal = list(board.legal_moves)
    weights = [
        6 if board.piece_type_at(move.to_square) else
        4 if board.pawns >> move.from_square & 1 else
        3 if 2 <= chess.square_rank(move.to_square) <= 5 else 1
        for move in legal
    ]  # fmt: skip
    return chance.choices(legal, weights)[0] if legal else None


def _to_and_fro(board: chess.Board, count: int) -> list[str]:
    """Four moves that come back to the same position, over and over; none where that can't be."""
    there: list[chess.Move] = []
    trial = board.copy()
    for _ in range(2):
        quiet = [move for move in trial.legal_moves if not trial.is_castling(move)
                 and not trial.is_capture(move) and not trial.pawns >> move.from_square & 1]  # fmt: skip
        if not quiet:
            return []
        there.append(quiet[0])
        trial.push(quiet[0])
    sans = []
    for move in (*there, *(chess.Move(move.to_square, move.from_square) for move in there)) * 2:
        if not board.is_legal(move):
            return []
        sans.append(board.san_and_push(move))
    return (sans * (count // len(sans) + 1))[: max(0, count)]


def main() -> None:
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "content")
    games = int(sys.argv[2]) if len(sys.argv) > 2 else 200_000
    source = read_booklet(folder, Faults())
    assert source is not None
    booklet = make_booklet(source, Faults())
    wanted = wanted_of(booklet.reached)
    with tempfile.TemporaryDirectory() as temporary:
        path = Path(sys.argv[3] if len(sys.argv) > 3 else f"{temporary}/made.pgn")
        if not path.exists():
            write_games(booklet, path, games)
        files = BookletFiles.at(Path(temporary) / "booklet")
        files.folder.mkdir()
        seconds = []
        path.touch()
        for run in range(3):
            if run == 2:
                time.sleep(max(0.0, UNTOUCHED / 1e9 + 1 - (time.time() - path.stat().st_ctime)))
                counts_of({"made.pgn": path}, wanted, files, Faults())
            elif run == 1:
                path.touch()
            started = time.perf_counter()
            faults = Faults()
            counts = counts_of({"made.pgn": path}, wanted, files, faults)
            seconds.append(time.perf_counter() - started)
            assert not faults.sorted(), faults.sorted()[0].as_text()
        megabytes = path.stat().st_size / 1e6
        print(f"{counts.games:,} games, {megabytes:.0f} MB, {len(wanted.keys):,} positions: counted in "
              f"{seconds[0]:.1f} s, again in {seconds[1]:.2f} s, untouched in {seconds[2]:.2f} s")
        shutil.rmtree(files.folder)
        if "ours" in sys.argv[4:]:
            return
        started = time.perf_counter()
        with path.open(encoding="utf-8") as file:
            number, plain = plain_counts(file, wanted)
        theirs = time.perf_counter() - started
    assert counts.games == number and as_plain(counts) == plain
    print(f"the rules library's reader {theirs:.1f} s: {theirs / seconds[0]:.1f} times as long")


if __name__ == "__main__":
    main()
