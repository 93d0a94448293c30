"""plyleaf draft: a chapter from the transcript of a talk."""

from __future__ import annotations

import argparse
import io
from pathlib import Path
from typing import TYPE_CHECKING

from builder.commands import Misuse, Subparsers, add_format, add_parser, counted, tell_faults
from builder.commands.into import booklet_folder, into_a_folder, opened, say_written, start_position
from builder.faults import Faults
from builder.speech import LANGUAGES
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.model import Position
    from builder.speech.run import DraftReport, Talk

_MORE = """\
Hears the moves in running speech, follows its ways back ('going back to move six', 'what if
instead'), and drafts a chapter: the moves with the words between them, and TODO where it is unsure.
FILE is WebVTT, SubRip, or lines that begin with a time, as '[00:12] knight f three'. Beside the
chapter it writes a table of what was taken for which move. No file is ever replaced.

  plyleaf draft talk.vtt --into club
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "draft", "Draft a chapter from the transcript of a talk", _MORE)
    parser.add_argument("file", type=Path, metavar="FILE", help="the transcript")
    parser.add_argument("--into", type=Path, metavar="FOLDER", help="the booklet's folder")
    parser.add_argument("--title", default="", metavar="TEXT", help="the chapter's title")
    parser.add_argument("--language", choices=LANGUAGES, default="en",
                        help="the language that is spoken (default: en)")  # fmt: skip
    parser.add_argument("--fen", metavar="FEN", help="the position that the moves start from")
    add_format(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.speech.run import draft_talk

    faults = Faults()
    report = None
    start = start_position(arguments.fen, faults) if arguments.fen is not None else None
    if not faults.has_errors:
        with Progress(terminal) as progress, into_a_folder():
            talk = _talk(arguments, start)
            report = draft_talk(talk, faults, progress)
    tell_faults(faults, arguments.format, terminal)
    if report is not None and arguments.format == "text":
        _tell(report, talk, terminal)
    return 1 if faults.has_errors or report is None else 0


def _talk(arguments: argparse.Namespace, start: Position | None) -> Talk:
    from builder.speech.run import MOST_TEXT, Talk

    path = arguments.file
    with opened(path) as handle:
        data = handle.read(MOST_TEXT + 1)
    if len(data) > MOST_TEXT:
        raise Misuse(f"{path} is larger than {MOST_TEXT >> 20} MB: draft it in parts")
    into = booklet_folder(arguments.into, arguments.title or path.stem)
    return Talk(io.BytesIO(data), path.name, into, arguments.title, arguments.language, start)


def _tell(report: DraftReport, talk: Talk, terminal: Terminal) -> None:
    say_written(report.written, talk.into, terminal)
    told = [counted(report.moves, "move"), f"{report.unsure} of them unsure",
            f"{counted(report.todos, 'TODO')} in the text"]  # fmt: skip
    terminal.say(", ".join(told))
    if report.listed:
        terminal.say("booklet.toml lists its chapters: add the new one to the list")
    terminal.say("the chapter is a draft: look through every TODO, then take out 'draft = true'")
    terminal.say(f"next: plyleaf preview {talk.into}")
