"""plyleaf pgn: a booklet's moves, or one chapter's, as PGN for other programs."""

from __future__ import annotations

import argparse
from pathlib import Path

from builder.commands import (
    Misuse, Subparsers, add_folder, add_format, add_parser, counted, existing_folder,
    tell_faults,
)  # fmt: skip
from builder.faults import Faults
from builder.terminal import Progress, Terminal

_MORE = """\
Writes a game for each chapter, with all of its lines merged, and one for each exercise; words are
comments, names and numbers of diagrams are left out. Passes are written as --, which most programs
know; --plain has them as words, as in the PGN file that a build makes. Without -o the games are
printed.

  plyleaf pgn my-booklet --chapter 20-main-line -o phone.pgn
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "pgn", "Give out the moves as PGN, as for a phone", _MORE)
    add_folder(parser)
    parser.add_argument("--chapter", metavar="SLUG",
                        help="only this chapter: its file's name, or its number")  # fmt: skip
    parser.add_argument("-o", "--out", type=Path, metavar="FILE", help="the file to write")
    parser.add_argument("--plain", action="store_true",
                        help="only what the PGN standard has: passes as words")  # fmt: skip
    add_format(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder import pipeline
    from builder.errands.chapters import NoChapter, chapter_slug
    from builder.own_file import OwnFile, write_own_files
    from builder.write.pgn import MOVES, pgn_text
    from builder.write.pgn_remarks import PgnForm

    folder = existing_folder(arguments.folder)
    faults = Faults()
    with Progress(terminal) as progress:
        proved = pipeline.prove(folder, faults, drafts=arguments.chapter is not None,
                                progress=progress)  # fmt: skip
    if proved is None or faults.has_errors:
        tell_faults(faults, arguments.format, terminal)
        return 1
    try:
        slug = chapter_slug(proved.booklet, arguments.chapter) if arguments.chapter else None
    except NoChapter as error:
        raise Misuse(str(error)) from error
    form = PgnForm(chapter=slug, marks=False, passes=not arguments.plain, cites=True)
    text = pgn_text(proved.booklet, form)
    if not text:
        where = f"the chapter {slug}" if slug else "the booklet"
        raise Misuse(f"{where} has no moves to give out")
    if arguments.out is None:
        terminal.say(text.rstrip("\n"))
        return 0
    if not write_own_files([OwnFile(MOVES, arguments.out, text.encode("utf-8"))], faults):
        tell_faults(faults, arguments.format, terminal)
        return 1
    games = counted(text.count('[Event "'), "game")
    terminal.say(f"{terminal.paint('written', 'good')}: {arguments.out}, {games}")
    return 0
