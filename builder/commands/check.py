"""plyleaf check: read and prove, build nothing."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from builder.commands import (
    Subparsers, add_folder, add_format, add_parser, counted, existing_folder, tell_faults,
)  # fmt: skip
from builder.faults import Faults
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.proved import Proved

_MORE = """\
Every move is played and every claim proved, drafts included. All faults are told in one run,
each with file, line, column, the reason and, where it is known, the remedy.
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "check", "Read and prove everything, build nothing", _MORE)
    add_folder(parser)
    add_format(parser)
    parser.add_argument("--strict", action="store_true", help="let warnings fail too")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder import pipeline

    folder = existing_folder(arguments.folder)
    faults = Faults()
    with Progress(terminal) as progress:
        proved = pipeline.check(folder, faults, progress)
    tell_faults(faults, arguments.format, terminal)
    if pipeline.failed(faults, arguments.strict) or proved is None:
        return 1
    if arguments.format == "text":
        terminal.say(summary(proved, terminal))
    return 0


def summary(proved: Proved, terminal: Terminal) -> str:
    booklet, claims = proved.booklet, proved.report.claims
    counts = [
        counted(len(booklet.chapters), "chapter"),
        counted(len(booklet.reached), "position"),
        f"{counted(claims.total - claims.skipped, 'claim')} proved",
    ]
    if claims.skipped:
        counts.append(f"{claims.skipped} skipped for want of an engine")
    return f"{terminal.paint('all well', 'good')}: {', '.join(counts)}"
