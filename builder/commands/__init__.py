"""The commands, one file each: `add` tells argparse its options, `run` does it.

What a command needs is imported when it runs, so that `--help` and `check` start at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

from builder.faults import Fault, Faults, Severity
from builder.terminal import Terminal

# What `argparse.ArgumentParser.add_subparsers` gives, whose class has no public name.
Subparsers: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


class Misuse(Exception):
    """The command line asks for what can't be; the text says why, as `there is no folder x`."""


def add_parser(subparsers: Subparsers, name: str, about: str,
               more: str = "") -> argparse.ArgumentParser:  # fmt: skip
    """A command's parser: `about` is its line in the list of commands, `more` follows it."""
    return subparsers.add_parser(
        name, help=about[0].lower() + about[1:], description=f"{about}.", epilog=more,
        formatter_class=argparse.RawDescriptionHelpFormatter, allow_abbrev=False,
    )  # fmt: skip


def add_folder(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder", nargs="?", type=Path, default=Path("."), metavar="FOLDER",
        help="the booklet's folder, with its booklet.toml (default: here)",
    )


def add_format(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--format", choices=("text", "json"), default="text",
        help="how faults are told: text for people, or one JSON object a line",
    )


def whole_number(least: int, most: int) -> Callable[[str], int]:
    """Reads an option's number; argparse tells of one that is none or out of bounds."""

    def read(text: str) -> int:
        number = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1
        if not least <= number <= most:
            raise argparse.ArgumentTypeError(f"{text!r} is not a number from {least} to {most}")
        return number

    return read


def existing_folder(folder: Path) -> Path:
    """Raises Misuse where there is no such folder."""
    if not folder.is_dir():
        raise Misuse(f"{folder} is a file, not a folder" if folder.exists()
                     else f"there is no folder {folder}")  # fmt: skip
    return folder


def ends_in(suffix: str, file: Path | None) -> None:
    """Raises Misuse for a file to be written whose name tells something else."""
    if file is not None and file.suffix.lower() != suffix:
        raise Misuse(f"{file} should end in {suffix}")


def tell_faults(faults: Faults, form: str, terminal: Terminal) -> None:
    """All faults in the form that was asked for, then (as text) how many there are."""
    for fault in faults.sorted():
        terminal.say(fault.as_json() if form == "json" else painted(fault, terminal))
    if form == "text" and (count := count_words(faults)):
        terminal.say(count)


def painted(fault: Fault, terminal: Terminal) -> str:
    """The fault's text with its severity in colour, where there is colour."""
    word = f" {fault.severity.word}:"
    style = fault.severity.word
    assert style in ("error", "warning", "notice")
    return fault.as_text().replace(word, terminal.paint(word, style), 1)


def count_words(faults: Faults) -> str:
    """`2 errors, 1 warning`; empty when there is nothing."""
    counts = [(faults.count(severity), severity.word) for severity in
              (Severity.ERROR, Severity.WARNING, Severity.NOTICE)]  # fmt: skip
    return ", ".join(counted(number, word) for number, word in counts if number)


def counted(number: int, word: str) -> str:
    return f"{number:,} {word}" if number == 1 else f"{number:,} {word}s"
