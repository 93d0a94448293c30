"""plyleaf new: a small booklet that builds."""

from __future__ import annotations

import argparse
from pathlib import Path

from builder.commands import Misuse, Subparsers, add_parser
from builder.faults import why
from builder.terminal import Terminal

_MORE = """\
The booklet shows each piece of the language once, and every file explains itself. Nothing that
is there already is replaced.
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "new", "Write a small booklet to start from", _MORE)
    parser.add_argument("folder", type=Path, metavar="FOLDER",
                        help="the folder to make; it may exist if it is empty")  # fmt: skip
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder import starter

    folder = arguments.folder
    try:
        written = starter.write_starter(folder)
    except FileExistsError as error:
        raise Misuse(f"{error}: choose another folder") from error
    except OSError as error:
        raise Misuse(f"{folder} can't be made: {why(error)}") from error
    terminal.say(f"{terminal.paint('written', 'good')}: {', '.join(str(path) for path in written)}")
    terminal.say(f"next: plyleaf preview {folder}")
    return 0
