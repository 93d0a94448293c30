"""plyleaf compare: what changed between two editions, in chess terms."""

from __future__ import annotations

import argparse
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from builder.commands import Misuse, Subparsers, add_parser, counted, ends_in, existing_folder, tell_faults
from builder.faults import Faults
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.editions.compare import Change, Subject

_MORE = """\
OLD and NEW are two booklets' folders; or OLD is a git revision and NEW the folder as it is now:
  plyleaf compare first-edition/ second-edition/
  plyleaf compare v1.0 .
Told are recommendations that turned, assessments, solutions, lines added and dropped, diagrams
and chapters. With --pages both editions are laid out, and diagrams on another page are told too.
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "compare", "Tell what changed between two editions", _MORE)
    parser.add_argument("old", metavar="OLD", help="a booklet's folder, or a git revision of NEW")
    parser.add_argument("new", nargs="?", type=Path, default=Path("."), metavar="NEW",
                        help="the booklet's folder (default: here)")  # fmt: skip
    parser.add_argument("--pages", action="store_true", help="tell pages that changed, too")
    parser.add_argument("--errata", type=Path, metavar="FILE",
                        help="also write an errata sheet to print, as PDF")  # fmt: skip
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.errands import editions
    from builder.editions.revision import RevisionError, revision_folder

    ends_in(".pdf", arguments.errata)
    new = existing_folder(arguments.new)
    faults = Faults()
    with ExitStack() as stack:
        if Path(arguments.old).is_dir():
            old = Path(arguments.old)
        else:
            try:
                old = stack.enter_context(revision_folder(new, arguments.old))
            except RevisionError as error:
                raise Misuse(f"{arguments.old} is neither a folder nor a git revision of {new}: {error}") from None
        progress = stack.enter_context(Progress(terminal))
        order = editions.Comparison(old, new, arguments.pages, arguments.errata)
        changes = editions.compare(order, faults, progress)
    if changes is None or faults.has_errors:
        tell_faults(faults, "text", terminal)
        return 1
    for line in report(changes, terminal):
        terminal.say(line)
    if arguments.errata:
        terminal.say(f"the errata sheet is {arguments.errata}")
    return 0


def report(changes: list[Change], terminal: Terminal) -> list[str]:
    """The changes as text, by kind, then by chapter."""
    from builder.editions.compare import Kind

    lines: list[str] = []
    for kind in Kind:
        chosen = [change for change in changes if change.kind is kind]
        if chosen:
            lines.append(terminal.paint(f"{kind.value} ({len(chosen)})", "strong"))
            lines.extend("  " + change_text(change) for change in chosen)
            lines.append("")
    total = counted(len(changes), "change")
    lines.append(total if changes else "the same chess in both editions")
    return lines


def change_text(change: Change) -> str:
    """`Main line, after 6...Qe7: 7.Qe2 instead of 7.Qd4 (chapters/10-main.md:14:23)`."""
    where = ", ".join(part for part in (change.chapter, _words(change.where)) if part)
    old, new = _words(change.old), _words(change.new)
    if old and new:
        what = f"{new} instead of {old}"
    else:
        what = f"{new} is new" if new else f"{old} is gone"
    place = change.new_place or change.old_place
    return f"{where}: {what}".removeprefix(": ") + (f" ({place})" if place else "")


def _words(subject: Subject | None) -> str:
    if subject is None:
        return ""
    words = {
        "after": f"after {subject.text}",
        "start": "at the start",
        "diagram": f"Diagram {subject.text}",
        "exercise": f"Exercise {subject.text}",
        "page": f"page {subject.text}",
        "text": subject.text,
    }[subject.kind]
    return f"{words}, {subject.detail}" if subject.detail else words
