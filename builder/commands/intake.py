"""plyleaf import: chapters from PGN, from a list of moves, or from positions."""

from __future__ import annotations

import argparse
import io
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from builder.commands import (
    Misuse, Subparsers, add_format, add_parser, counted, tell_faults, whole_number,
)  # fmt: skip
from builder.commands.into import booklet_folder, into_a_folder, opened, say_written, start_position
from builder.faults import Faults
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.intake.run import Order, Report
    from builder.model import Position

MOST_PASTED = 64 << 20  # bytes of what comes from the keyboard or a pipe

_MORE = """\
Writes new chapters, and a booklet.toml where there is none; no file is ever replaced. What can't be
read is told with its line and column, what has no place in a chapter with a notice; the rest is
written. FILE may hold games (PGN) or positions (FEN, or boards drawn in letters); - reads what is
pasted. Into the folder here if it is a booklet, else into a new folder named like the file.

  plyleaf import club.pgn --into club         a chapter for each game
  plyleaf import lines.pgn --split branch     all games joined, chapters by branches
  plyleaf import --moves "1. e4 e5 2. Nf3"    a booklet from one list of moves
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "import", "Make chapters of games, moves or positions", _MORE)
    parser.add_argument("file", nargs="?", metavar="FILE", help="the PGN file; - for pasted text")
    parser.add_argument("--moves", metavar="TEXT", help="a list of moves, in quotes")
    parser.add_argument("--fen", metavar="FEN", help="a position, or where the moves start")
    parser.add_argument("--into", type=Path, metavar="FOLDER", help="the booklet's folder")
    parser.add_argument("--title", default="", metavar="TEXT",
                        help="the title of a new booklet, and of its only chapter")  # fmt: skip
    parser.add_argument(
        "--split", choices=("game", "branch", "depth"),
        help="a chapter for each game (the default up to 200 games), or all games joined and "
             "parted by their branches, or at a depth",
    )  # fmt: skip
    parser.add_argument("--depth", type=whole_number(1, 100), default=8, metavar="N",
                        help="half-moves at which --split depth parts (default: 8)")  # fmt: skip
    parser.add_argument("--games", type=_span, metavar="A-B",
                        help="only these of the file's games, as 3 or 1-20")  # fmt: skip
    parser.add_argument("--plies", type=whole_number(1, 1000), metavar="N",
                        help="only the first N half-moves of every line")  # fmt: skip
    parser.add_argument("--least", type=whole_number(1, 10**6), metavar="N",
                        help="of joined games, only moves that N of them play")  # fmt: skip
    parser.add_argument("--apart", action="store_true",
                        help="leave lines apart that come to the same position")  # fmt: skip
    add_format(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.intake.run import import_games

    faults = Faults()
    with _opened(arguments) as (stream, name, size), Progress(terminal) as progress:
        start = _start(arguments, faults)
        order = _order(arguments, stream, name, size, start)
        report = None
        if not faults.has_errors:
            with into_a_folder():
                report = import_games(order, faults, progress)
    tell_faults(faults, arguments.format, terminal)
    if report is not None and arguments.format == "text":
        _tell(report, order, faults, terminal)
    return 1 if faults.has_errors or report is None else 0


# --- what to import -------------------------------------------------------------------------------


@contextmanager
def _opened(arguments: argparse.Namespace) -> Iterator[tuple[BinaryIO, str, int]]:
    """What is to be read, what it is called, and how many bytes it has."""
    if arguments.file is not None and arguments.moves is not None:
        raise Misuse("give a file or --moves, not both")
    if arguments.file is None or arguments.file == "-":
        yield _pasted(arguments)
        return
    path = Path(arguments.file)
    with opened(path) as handle:
        yield handle, path.name, path.stat().st_size


def _pasted(arguments: argparse.Namespace) -> tuple[BinaryIO, str, int]:
    if arguments.file == "-":
        data, name = sys.stdin.buffer.read(MOST_PASTED + 1), "pasted"
        if len(data) > MOST_PASTED:
            raise Misuse(f"more than {MOST_PASTED >> 20} MB were pasted: save them as a file")
    elif arguments.moves is not None:
        data, name = arguments.moves.encode("utf-8", "surrogateescape"), "--moves"
    elif arguments.fen is not None:
        data, name = arguments.fen.encode("utf-8", "surrogateescape"), "--fen"
    else:
        raise Misuse('give a PGN file, --moves "1. e4 …" or --fen "…"')
    return io.BytesIO(data), name, len(data)


def _start(arguments: argparse.Namespace, faults: Faults) -> Position | None:
    """Where the moves start, if --fen tells it beside them."""
    if arguments.fen is None or (arguments.file is None and arguments.moves is None):
        return None
    return start_position(arguments.fen, faults)


def _order(arguments: argparse.Namespace, stream: BinaryIO, name: str, size: int,
           start: Position | None) -> Order:
    from builder.intake.gather import Split
    from builder.intake.run import Order

    return Order(
        stream=stream, name=name, size=size, into=_folder(arguments, name),
        title=arguments.title, games=arguments.games, plies=arguments.plies,
        split=Split(arguments.split or "auto", arguments.depth, not arguments.apart),
        least=arguments.least, start=start, pasted=arguments.file in (None, "-"),
    )  # fmt: skip


def _folder(arguments: argparse.Namespace, name: str) -> Path:
    words = arguments.title or (Path(name).stem if arguments.file not in (None, "-") else "moves")
    return booklet_folder(arguments.into, words)


def _span(text: str) -> tuple[int, int]:
    """`3` or `1-20`; argparse tells of anything else."""
    first, _, last = text.partition("-")
    read = whole_number(1, 10**8)
    span = read(first), read(last or first)
    if span[0] > span[1]:
        raise argparse.ArgumentTypeError(f"{text!r} goes backwards")
    return span


# --- what was written -----------------------------------------------------------------------------


def _tell(report: Report, order: Order, faults: Faults, terminal: Terminal) -> None:
    say_written(report.written, order.into, terminal)
    parts = [
        counted(report.chapters, "chapter"), counted(report.lines, "line"),
        counted(report.moves, "move"), f"{counted(report.diagrams, 'diagram')} proposed",
        f"{counted(report.names, 'name')} proposed",
    ]  # fmt: skip
    if report.joined:
        parts.append(f"{counted(report.joined, 'line')} joined to others")
    source = f"from {counted(report.games, 'game')}: " if report.games else ""
    terminal.say(source + ", ".join(parts))
    if report.listed:
        terminal.say("booklet.toml lists its chapters: add the new ones to the list")
    if faults.has_errors:
        terminal.say("what the errors above speak of is missing from the chapters")
    terminal.say(f"next: plyleaf preview {order.into}")
