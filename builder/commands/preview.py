"""plyleaf preview: the booklet in a browser, following the author's changes."""

from __future__ import annotations

import argparse

from builder.commands import (
    Misuse, Subparsers, add_folder, add_parser, existing_folder, whole_number,
)  # fmt: skip
from builder.faults import why
from builder.terminal import Terminal

_MORE = """\
The site is built into a folder of its own and served to this computer only, drafts included.
Saving a file of the booklet builds it again, and open pages follow. Faults are shown in the page.
Ctrl-C ends it.
"""
PORT = 8765


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "preview", "Show the booklet in a browser while you write",
                        _MORE)  # fmt: skip
    add_folder(parser)
    parser.add_argument(
        "--port", type=whole_number(0, 65535), metavar="PORT",
        help=f"the port to serve on; 0 takes any (default: {PORT} if it is free)",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder import preview

    folder = existing_folder(arguments.folder)
    try:
        server = preview.open_server(PORT if arguments.port is None else arguments.port)
    except OSError as error:
        if arguments.port is not None:
            raise Misuse(f"port {arguments.port} can't be had: {why(error)}") from error
        server = preview.open_server(0)
    preview.run(folder, server, terminal)
    return 0
