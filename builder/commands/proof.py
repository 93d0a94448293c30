"""plyleaf proof: everything that can be found, the engine's opinion too, and a sheet of it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from builder.commands import (
    Subparsers, add_folder, add_format, add_parser, existing_folder, tell_faults,
)  # fmt: skip
from builder.faults import Faults
from builder.settings import ENGINE_NODES
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.proved import Proved

_MORE = """\
Claims are proved, contradictions and loose ends looked for; findings are told, and shown with
their boards on the proof sheet, a page for the author. With --engine the engine that booklet.toml
names is started and judges recommended moves, signs, exercises and claims of its own: start one
only for a booklet that you trust. Its answers are kept in .plyleaf/engine.sqlite: a run that was
stopped goes on where it was, and builds need no engine.
plyleaf guide proof tells what is found, and how to accept a finding.
"""
FEWEST_NODES = 1_000


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "proof", "Look for everything that may be wrong", _MORE)
    add_folder(parser)
    parser.add_argument("--engine", action="store_true", help="ask the booklet's engine, too")
    parser.add_argument("--nodes", type=_nodes, default=ENGINE_NODES, metavar="N",
                        help=f"how long it thinks about a position (default: {ENGINE_NODES:,} nodes)")  # fmt: skip
    parser.add_argument("-o", "--out", type=Path, metavar="FILE",
                        help="where the sheet goes (default: .plyleaf/proof.html in the folder)")  # fmt: skip
    parser.add_argument("--strict", action="store_true", help="let warnings fail too")
    add_format(parser)
    parser.set_defaults(run=run)


def _nodes(text: str) -> int:
    nodes = int(text.replace(",", ""))
    if nodes < FEWEST_NODES:
        raise ValueError
    return nodes


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder import pipeline
    from builder.proof.run import Depth
    from builder.proof.sheet import write_sheet

    folder = existing_folder(arguments.folder)
    faults = Faults()
    depth = Depth.ENGINE if arguments.engine else Depth.SHEET
    with Progress(terminal) as progress:
        proved = pipeline.prove(folder, faults, drafts=True, progress=progress, depth=depth,
                                nodes=arguments.nodes)  # fmt: skip
    sheet = write_sheet(proved.sheet(), proved.files, arguments.out, faults) if proved else None
    tell_faults(faults, arguments.format, terminal)
    if proved is None or sheet is None:
        return 1
    if arguments.format == "text":
        _tell(proved, sheet, terminal)
    return 1 if pipeline.failed(faults, arguments.strict) else 0


def _tell(proved: Proved, sheet: Path, terminal: Terminal) -> None:
    from builder.proof.sheet import facts, summary_text

    if not proved.report.findings and not proved.report.broken:
        terminal.say(terminal.paint(summary_text(proved.report), "good"))
    for fact in facts(proved.report):
        terminal.say(fact)
    terminal.say(f"proof sheet: {sheet}")
