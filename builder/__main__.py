"""The command line: `plyleaf COMMAND …`, or `python -m builder COMMAND …`.

Exit status 0: all well; 1: the booklet has errors; 2: the command was misused. Interrupted
commands end as shells expect, with 128 and the signal's number (common practice).
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
import traceback
from collections.abc import Sequence
from types import FrameType
from typing import NoReturn

from builder import __version__, commands
from builder.commands import (
    build, check, compare, count, diagram, draft, gaps, guide, handout, intake, new, pgn, press, preview,
    proof,
)  # fmt: skip
from builder.faults import did_you_mean, why
from builder.terminal import Terminal

# By the words that call them, in the order in which they are listed.
_COMMANDS = {
    "new": new, "import": intake, "draft": draft, "check": check, "build": build, "preview": preview,
    "press": press, "handout": handout, "pgn": pgn, "proof": proof, "gaps": gaps, "count": count,
    "compare": compare, "diagram": diagram, "guide": guide,
}  # fmt: skip

_EPILOG = """\
Begin with:
  plyleaf new my-booklet        writes a small booklet that explains itself
  plyleaf preview my-booklet    shows it in a browser while you write
  plyleaf build my-booklet      makes the site, the PDF, the EPUB, PGN and EPD

plyleaf COMMAND --help tells more; plyleaf guide prints the author's guide.
Exit status: 0 all well, 1 the booklet has errors, 2 the command was misused.
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Runs a command; the exit status. No traceback leaves it, unless PLYLEAF_DEBUG=1 asks."""
    terminal = Terminal(sys.stdout, sys.stderr)
    try:
        arguments = _read(sys.argv[1:] if argv is None else argv)
        _end_on_sigterm()
        return arguments.run(arguments, terminal)
    except SystemExit as end:  # argparse has said why
        return end.code if isinstance(end.code, int) else 2
    except commands.Misuse as error:
        terminal.tell(f"plyleaf: {error}")
        return 2
    except KeyboardInterrupt:
        terminal.tell("plyleaf: stopped; the last good output is as it was")
        return 128 + signal.SIGINT
    except _Ended:
        return 128 + signal.SIGTERM
    except Exception as error:
        if os.environ.get("PLYLEAF_DEBUG") == "1":
            terminal.tell(traceback.format_exc())
        terminal.tell(f"plyleaf: {_machine_words(error) or _internal_words(error)}")
        return 1


def _read(words: Sequence[str]) -> argparse.Namespace:
    """The command line; argparse, or Misuse, tells what is wrong with it."""
    top = parser()
    if words and not words[0].startswith("-") and words[0] not in _COMMANDS:
        near = did_you_mean(words[0], _COMMANDS) or "plyleaf --help lists them"
        raise commands.Misuse(f"there is no command {words[0]}: {near}")
    arguments, unknown = top.parse_known_args(words)
    if unknown:
        raise commands.Misuse(f"{words[0]} has no use for {unknown[0]}: "
                              f"plyleaf {words[0]} --help tells what it takes")  # fmt: skip
    return arguments


def _machine_words(error: Exception) -> str:
    """What the machine refuses that no stage foresaw: a right, room on a disk, a name too long.
    Empty for any other fault."""
    if not isinstance(error, OSError) or error.strerror is None:
        return ""
    return why(error) if error.filename is None else f"{error.filename}: {why(error)}"


def _internal_words(error: Exception) -> str:
    words = " ".join(f"{type(error).__name__}: {error}".split())
    return f"internal fault ({words}); please report it, with what you ran; PLYLEAF_DEBUG=1 shows more"


def parser() -> argparse.ArgumentParser:
    top = argparse.ArgumentParser(
        prog="plyleaf",
        description="Builds chess opening booklets: a site, a PDF for print, EPUB, PGN and EPD.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    top.add_argument("--version", action="version", version=f"plyleaf {__version__}")
    subparsers = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in _COMMANDS.values():
        command.add(subparsers)
    return top


class _Ended(BaseException):
    """The process was asked to end (SIGTERM)."""


def _end_on_sigterm() -> None:
    """Makes SIGTERM an exception, so that what is half done is taken back."""

    def end(number: int, frame: FrameType | None) -> NoReturn:
        raise _Ended

    try:
        signal.signal(signal.SIGTERM, end)
    except ValueError:
        pass  # not in the main thread: whoever runs it there has signals of their own


if __name__ == "__main__":
    sys.exit(main())
