"""plyleaf handout: a chapter, an exercise sheet, a summary or flash cards, to print."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from builder.commands import (
    Misuse, Subparsers, add_folder, add_format, add_parser, counted, ends_in, existing_folder,
    tell_faults,
)  # fmt: skip
from builder.faults import Faults
from builder.settings import PAGE_SIZES, SETTINGS_FILE, PrintSettings, page_size
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.errands.handouts import Handed
    from builder.press.handouts import Wanted

KINDS = ("chapter", "exercises", "summary", "cards")

_MORE = """\
One of these, for one chapter (SLUG: its file's name without .md, or its number) or for all:
  --chapter SLUG       the chapter alone, with its solutions at the end
  --exercises [SLUG]   exercises with room for answers, each solution on the back of its exercise
  --summary            the whole repertoire on one page: what do I play against …?
  --cards [SLUG]       flash cards to cut: the board in front, the move behind
  --html SLUG          the chapter as one HTML file to send by mail, with its board

  plyleaf handout . --cards 20-main-road
  plyleaf handout my-booklet --exercises -o tonight.pdf
Without -o the file is written here and called after what it holds; then no file is replaced.
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "handout", "Make a handout from the booklet's chapters", _MORE)
    add_folder(parser)
    kinds = parser.add_mutually_exclusive_group(required=True)
    kinds.add_argument("--chapter", metavar="SLUG", help="one chapter alone")
    kinds.add_argument("--exercises", nargs="?", const="", metavar="SLUG",
                       help="exercise sheets, solutions on the back")  # fmt: skip
    kinds.add_argument("--summary", action="store_const", const="",
                       help="the whole repertoire on one page")  # fmt: skip
    kinds.add_argument("--cards", nargs="?", const="", metavar="SLUG", help="flash cards to cut")
    kinds.add_argument("--html", metavar="SLUG", help="one chapter as a page to send")
    parser.add_argument("--page", default="A4", type=_page, metavar="SIZE",
                        help=f"{', '.join(PAGE_SIZES)}, or as '148mm x 210mm' (default: A4)")  # fmt: skip
    parser.add_argument("--duplex", choices=("long", "short"),
                        help="the edge that the printer turns sheets on (default: the one that "
                             "leaves the backs upright)")  # fmt: skip
    parser.add_argument("--pages", action="store_true",
                        help="with --summary: tell the booklet's pages, too (takes longer)")  # fmt: skip
    parser.add_argument("--csv", type=Path, metavar="FILE",
                        help="with --cards: also write position, moves and chapter as CSV")  # fmt: skip
    parser.add_argument("-o", "--out", type=Path, metavar="FILE",
                        help="the PDF to write, with --html the page")
    parser.add_argument("--drafts", action="store_true", help="include draft chapters")
    add_format(parser)
    parser.set_defaults(run=run)


def _page(text: str) -> PrintSettings:
    names = {name.lower(): name for name in PAGE_SIZES}
    name = names.get(text.lower(), text)
    size = page_size(name)
    if size is None:
        choices = ", ".join(PAGE_SIZES)
        raise argparse.ArgumentTypeError(
            f"there is no page {text!r}; choices: {choices}, or a size as '148mm x 210mm'"
        )
    return PrintSettings(page_name=name, width=size[0], height=size[1])


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.errands import handouts
    from builder.errands.chapters import NoChapter

    folder = existing_folder(arguments.folder)
    if arguments.html is not None:
        return _send(folder, arguments, terminal)
    wanted = _wanted(arguments)
    out = arguments.out
    ends_in(".pdf", out)
    order = handouts.HandoutOrder(
        folder=folder,
        wanted=wanted,
        target=out or _file_name(wanted),
        replaces=out is not None,
        csv=arguments.csv,
        pages=arguments.pages,
        drafts=arguments.drafts,
    )
    faults = Faults()
    try:
        with Progress(terminal) as progress:
            handed = handouts.handout(order, faults, progress)
    except NoChapter as error:
        raise Misuse(str(error)) from None
    tell_faults(faults, arguments.format, terminal)
    if handed is None:
        return 1
    if arguments.format == "text":
        terminal.say(summary(handed, wanted, terminal))
    return 0


def _send(folder: Path, arguments: argparse.Namespace, terminal: Terminal) -> int:
    """The chapter as a page, to which the options of paper say nothing."""
    from builder.errands.single_page import PageOrder, send_page
    from builder.errands.chapters import NoChapter

    if not arguments.html:
        raise Misuse("--html needs a chapter")
    for name in ("csv", "pages", "duplex"):
        if getattr(arguments, name):
            raise Misuse(f"--{name} goes with paper, not with --html")
    out = arguments.out
    ends_in(".html", out)
    faults = Faults()
    try:
        with Progress(terminal) as progress:
            made = send_page(PageOrder(folder, arguments.html, out, arguments.drafts), faults,
                             progress)  # fmt: skip
    except NoChapter as error:
        raise Misuse(str(error)) from None
    tell_faults(faults, arguments.format, terminal)
    if made is not None and arguments.format == "text":
        size = made.stat().st_size // 1000
        terminal.say(f"{terminal.paint('made', 'good')}: one file of {size} kB\n  {made}")
    return 1 if made is None else 0


def _wanted(arguments: argparse.Namespace) -> Wanted:
    """Raises Misuse for options that don't go together."""
    from builder.press.handouts import Kind, Wanted
    from builder.press.plan import Turn

    name = next(name for name in KINDS if getattr(arguments, name) is not None)
    if name == "chapter" and not arguments.chapter:
        raise Misuse("--chapter needs a chapter")
    chapter = getattr(arguments, name)
    if chapter and (Path(chapter) / SETTINGS_FILE).is_file():
        raise Misuse(f"{chapter} is a booklet's folder, which goes in front: "
                     f"plyleaf handout {chapter} --{name}")  # fmt: skip
    if arguments.csv is not None and name != "cards":
        raise Misuse("--csv goes with --cards")
    if arguments.pages and name != "summary":
        raise Misuse("--pages goes with --summary")
    wanted = Wanted(
        Kind(name), chapter, arguments.page,
        Turn(arguments.duplex) if arguments.duplex else None,
    )  # fmt: skip
    if wanted.turn is not None and not wanted.has_backs:
        raise Misuse("--duplex goes with --exercises and --cards, which have backs")
    return wanted


def _file_name(wanted: Wanted) -> Path:
    """`cards.pdf`, `cards-20-main-road.pdf`."""
    from builder.names import slug

    chapter = f"-{slug(wanted.chapter)}" if wanted.chapter else ""
    return Path(f"{wanted.kind.value}{chapter}.pdf")


def summary(handed: Handed, wanted: Wanted, terminal: Terminal) -> str:
    """What was made, and how to print it."""
    found = handed.handout
    counts = [counted(found.pages, "page")]
    if wanted.has_backs:
        counts.append(counted(-(-found.pages // 2), "sheet"))
    if found.exercises:
        counts.append(counted(found.exercises, "exercise"))
    if found.cards:
        counts.append(counted(len(found.cards), "card"))
    done = terminal.paint("made", "good")
    lines = [f"{done} in {handed.seconds:.1f} s: {', '.join(counts)}"]
    lines += [f"  {path}" for path in handed.results]
    if wanted.has_backs:
        lines.append(f"print at 100 %, both sides, flip on {wanted.edge.value} edge")
    return "\n".join(lines)
