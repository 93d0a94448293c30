"""plyleaf build: the outputs."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from builder.commands import (
    Subparsers, add_folder, add_format, add_parser, counted, existing_folder, tell_faults,
)  # fmt: skip
from builder.faults import Faults
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.pipeline import Report

_MORE = """\
The outputs are made beside DIR and moved into it only when all of them are made: after an error
the last good output is as it was. Files in DIR that no earlier build wrote are left alone.
Dates in the outputs are the booklet's own, or SOURCE_DATE_EPOCH where that is set.
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "build", "Make the site, the PDF, the EPUB, the PGN and the EPD file",
                        _MORE)  # fmt: skip
    add_folder(parser)
    parser.add_argument(
        "-o", "--out", type=Path, metavar="DIR",
        help="where the outputs go (default: site/ in the booklet's folder)",
    )
    parser.add_argument(
        "--only", choices=("site", "pdf", "epub", "pgn"),
        help="make one part and leave the others (pgn includes the EPD file)",
    )
    parser.add_argument("--strict", action="store_true", help="let warnings fail the build")
    parser.add_argument("--drafts", action="store_true", help="include draft chapters")
    parser.add_argument("--fresh", action="store_true",
                        help="lay out every page anew, also what earlier builds have kept")  # fmt: skip
    add_format(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder import pipeline

    folder = existing_folder(arguments.folder)
    order = pipeline.Order(
        folder=folder,
        target=arguments.out or folder / "site",
        parts=(arguments.only,) if arguments.only else pipeline.PARTS,
        drafts=arguments.drafts,
        strict=arguments.strict,
        fresh=arguments.fresh,
    )
    faults = Faults()
    with Progress(terminal) as progress:
        report = pipeline.build(order, faults, progress)
    tell_faults(faults, arguments.format, terminal)
    if report is None:
        return 1
    if arguments.format == "text":
        terminal.say(summary(report, terminal))
    return 0


def summary(report: Report, terminal: Terminal) -> str:
    """What was made and where to look."""
    counts = [
        counted(report.chapters, "chapter"),
        counted(report.positions, "position"),
        counted(report.diagrams, "diagram"),
        counted(report.exercises, "exercise"),
        f"{counted(report.claims, 'claim')} proved",
    ]
    if report.skipped:
        counts.append(f"{report.skipped} skipped for want of an engine")
    if report.pages is not None:
        counts.append(counted(report.pages, "page"))
    lines = [f"{terminal.paint('built', 'good')} in {report.seconds:.1f} s: {', '.join(counts)}"]
    lines += [f"  {path}" for path in report.results]
    return "\n".join(lines)
