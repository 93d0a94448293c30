"""plyleaf guide: the author's guide, as text."""

from __future__ import annotations

import argparse
from pathlib import Path

from builder.commands import Misuse, Subparsers, add_parser
from builder.terminal import Terminal

FOLDER = Path(__file__).parent.parent / "guide"
MAIN = "guide"


def add(subparsers: Subparsers) -> None:
    more = "It can be read as it is; its file is named in the first line."
    parser = add_parser(subparsers, "guide", "Print the author's guide", more)
    parser.add_argument("part", nargs="?", default=MAIN, metavar="PART",
                        help=f"one of: {', '.join(parts())} (default: {MAIN})")  # fmt: skip
    parser.set_defaults(run=run)


def parts() -> tuple[str, ...]:
    """The guide first, then the other files beside it."""
    return tuple(sorted((path.stem for path in FOLDER.glob("*.md")),
                        key=lambda name: (name != MAIN, name)))  # fmt: skip


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    if arguments.part not in parts():
        raise Misuse(f"the guide has no part {arguments.part}; its parts: {', '.join(parts())}")
    file = FOLDER / f"{arguments.part}.md"
    others = [name for name in parts() if name != arguments.part]
    terminal.say(terminal.paint(f"{file}   (other parts: plyleaf guide {' | '.join(others)})",
                                "quiet"))  # fmt: skip
    terminal.say("")
    terminal.say(file.read_text(encoding="utf-8").rstrip("\n"))
    return 0
