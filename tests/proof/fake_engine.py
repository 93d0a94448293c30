"""A UCI engine of a few lines that fails on demand.

    fake_engine.py MODE [--log FILE] [--after N] [--name NAME]

It answers quickly and always the same; after N answers it behaves as MODE says. Every position
that it is asked about goes into the log, a line each.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
import zlib

import chess

MODES = (
    "ok", "slow", "hang", "die", "die-handshake", "mute", "no-uciok", "illegal", "no-move", "no-score",
    "bad-score", "huge-score", "false-mate", "flood", "endless-line", "child", "stubborn",
    "odd-option", "no-multipv", "no-nodes",
)  # fmt: skip


def say(text: str) -> None:
    print(text, flush=True)


def ranked(board: chess.Board) -> list[tuple[int, chess.Move]]:
    """The moves, best first, each with its score in centipawns, from -20 to 20."""
    epd = board.epd()
    found = [
        (zlib.crc32(f"{epd} {move.uci()}".encode()) % 41 - 20, move) for move in board.legal_moves
    ]
    return sorted(found, key=lambda pair: (-pair[0], pair[1].uci()))


def handshake(mode: str, name: str) -> None:
    if mode == "die-handshake":
        print("no licence found", file=sys.stderr, flush=True)
        sys.exit(3)
    if mode == "mute":
        time.sleep(1000)
    if mode == "no-uciok":
        say("Illegal move: uci")
        return
    say(f"id name {name}")
    say("id author nobody")
    say("option name Hash type spin default 4 min 1 max 64")
    say("option name Threads type spin default 2 min 1 max 8")
    say("option name Clear Hash type button")
    if mode != "no-multipv":
        say("option name MultiPV type spin default 1 min 1 max 9")
    if mode == "odd-option":
        say("option name Odd type spin default many min few max more")
    say("uciok")


def answer(board: chess.Board, mode: str, lines: int) -> None:
    found = ranked(board)
    best = found[0][1]
    match mode:
        case "slow":
            time.sleep(0.02)
        case "hang" | "stubborn":
            time.sleep(1000)
        case "die":
            print("out of luck", file=sys.stderr, flush=True)
            os.abort()
        case "illegal":
            say("bestmove a1a1")
            return
        case "no-move":
            say("bestmove (none)")
            return
        case "no-score":
            say(f"info depth 1 pv {best.uci()}")
            say(f"bestmove {best.uci()}")
            return
        case "bad-score":
            say(f"info depth 1 score cp much pv {best.uci()}")
            say(f"bestmove {best.uci()}")
            return
        case "huge-score":
            say(f"info depth 1 score cp 123456789 pv {best.uci()}")
            say(f"bestmove {best.uci()}")
            return
        case "false-mate":
            say(f"info depth 1 score mate 1 pv {best.uci()}")
            say(f"bestmove {best.uci()}")
            return
        case "flood":
            while True:
                say("info multipv 999999999 depth 1 score cp 1 pv e2e4")
        case "endless-line":
            while True:
                sys.stdout.write("info " * 10_000)
                sys.stdout.flush()
    for rank, (score, move) in enumerate(found[:lines], start=1):
        say(f"info depth 9 multipv {rank} score cp {score + 500} upperbound nodes 7 pv {move.uci()}")
        say(f"info depth 9 multipv {rank} score cp {score} nodes 1000 pv {move.uci()}")
    say(f"info depth 10 multipv 1 score cp -900 upperbound nodes 1001 pv {best.uci()}")
    say(f"bestmove {best.uci()}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("mode", choices=MODES)
    parser.add_argument("--log")
    parser.add_argument("--after", type=int, default=0)
    parser.add_argument("--name", default="Fake 1")
    parser.add_argument("--pid")
    args = parser.parse_args()
    if args.mode == "child":
        child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(1000)"])
        with open(args.pid, "w", encoding="utf-8") as file:
            file.write(str(child.pid))
    board, lines, answered = chess.Board(), 1, 0
    for line in sys.stdin:
        words = line.split()
        match words[:1]:
            case ["uci"]:
                handshake(args.mode, args.name)
            case ["isready"]:
                say("readyok")
            case ["setoption"] if "MultiPV" in words:
                lines = int(words[-1])
            case ["position"]:
                fen = " ".join(words[2:8]) if words[1] == "fen" else chess.STARTING_FEN
                board = chess.Board(fen)
            case ["go"] if words == ["go", "nodes", "2000"] and args.mode != "no-nodes":
                answer(board, "ok", lines)  # the trial at the beginning
            case ["go"] if args.mode == "no-nodes" and "depth" not in words:
                stopped = sys.stdin.readline()
                assert stopped == "stop\n", stopped
                answer(board, "ok", lines)
            case ["go"]:
                if args.log:
                    with open(args.log, "a", encoding="utf-8") as file:
                        file.write(f"{lines} {board.epd()}\n")
                answer(board, args.mode if answered >= args.after else "ok", lines)
                answered += 1
            case ["quit"]:
                if args.mode in ("child", "stubborn"):
                    time.sleep(1000)
                return


if __name__ == "__main__":
    main()
