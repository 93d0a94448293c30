"""plyleaf press: a PDF laid out for a printer, or looked through before."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from builder.commands import Misuse, Subparsers, add_format, add_parser, counted, ends_in, tell_faults
from builder.faults import Faults
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.errands.press import Pressed
    from builder.press.job import Job
    from builder.press.preflight import Preflight

MOST_FINDINGS = 5
LAYOUTS = ("booklet", "one", "two", "four", "stack")
SHEET_NAMES = ("A4", "A3", "B4", "SRA4", "SRA3", "Letter", "Tabloid", "Ledger")

_MORE = """\
SOURCE is a booklet's folder, whose PDF is made first, or any PDF. Two files are written: the sheets
to print, and a page that tells how to print, fold and bind them. Layouts:
  booklet   folded in the middle and stapled through the fold (A5 pages on A4 and the like)
  one       one page on each side of a sheet
  two       two pages side by side
  four      four pages
  stack     two or four pages, to be cut apart and laid on one another
Pages keep their size where they fit, and are made smaller where they don't. The PDF that is laid
out remains the one for screens: the sheets have no links, no outline and no tags.

  plyleaf press .                            a booklet of the pages of the booklet here
  plyleaf press club.pdf --signature 5       five sheets folded together at a time
  plyleaf press --preflight .                a table of checks; status 1 where one fails
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "press", "Lay the PDF out for a printer", _MORE)
    parser.add_argument("source", nargs="?", type=Path, default=Path("."), metavar="SOURCE",
                        help="a booklet's folder, or a PDF (default: here)")  # fmt: skip
    parser.add_argument("--preflight", action="store_true",
                        help="check the PDF for a mono printer, and write nothing")  # fmt: skip
    parser.add_argument("--layout", choices=LAYOUTS,
                        help="how pages go on a sheet (default: booklet)")  # fmt: skip
    parser.add_argument("--sheet", type=_sheet, metavar="NAME",
                        help=f"{', '.join(SHEET_NAMES)} "
                             "(default: A4, or Letter for its pages)")  # fmt: skip
    parser.add_argument("--duplex", choices=("short", "long"),
                        help="the edge that the printer turns sheets on (default: the one that "
                             "leaves the backs upright)")  # fmt: skip
    parser.add_argument("--signature", type=_count, metavar="N",
                        help="sheets folded together (default: all)")  # fmt: skip
    parser.add_argument("--paper", type=_thickness, metavar="THICKNESS",
                        help="one sheet's, to make up for what folds push out "
                             "(default: 0.1mm)")  # fmt: skip
    parser.add_argument("--marks", action="store_true",
                        help="draw marks for folds and cuts, where there is room")  # fmt: skip
    parser.add_argument("-o", "--out", type=Path, metavar="FILE",
                        help="the sheets' file (default: NAME-to-print.pdf beside the PDF, in "
                             "site/ for a folder)")  # fmt: skip
    add_format(parser)
    parser.set_defaults(run=run)


def _sheet(text: str) -> str:
    for name in SHEET_NAMES:
        if name.lower() == text.lower():
            return name
    choices = ", ".join(SHEET_NAMES)
    raise argparse.ArgumentTypeError(f"there is no sheet {text!r}; choices: {choices}")


def _count(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 1000:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of sheets")
    return int(text)


def _thickness(text: str) -> float:
    from builder.settings import length_mm

    length = length_mm(text)
    if length is None or length > 1:
        raise argparse.ArgumentTypeError(f"{text!r} is no thickness from 0mm to 1mm, as 0.1mm")
    return length


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    source = arguments.source
    if not source.exists():
        raise Misuse(f"there is no folder or file {source}")
    return _preflight(arguments, terminal) if arguments.preflight else _press(arguments, terminal)


def _job(arguments: argparse.Namespace) -> Job:
    """Raises Misuse for options that don't go together."""
    from builder.press.job import Job, Layout
    from builder.press.plan import Turn

    layout = Layout(arguments.layout or "booklet")
    if layout is not Layout.BOOKLET:
        for option in ("signature", "paper"):
            if getattr(arguments, option) is not None:
                raise Misuse(f"--{option} is for booklets, not for --layout {layout.value}")
    return Job(
        layout=layout,
        sheet=arguments.sheet or "",
        turn=Turn(arguments.duplex) if arguments.duplex else None,
        signature=arguments.signature or 0,
        thickness=Job().thickness if arguments.paper is None else arguments.paper,
        marks=arguments.marks,
    )


# --- sheets -------------------------------------------------------------------------------------


def _press(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.errands import press

    order = press.PressOrder(arguments.source, _job(arguments),
                                arguments.out or _target(arguments.source))  # fmt: skip
    ends_in(".pdf", order.target)
    faults = Faults()
    with Progress(terminal) as progress:
        pressed = press.press(order, faults, progress)
    tell_faults(faults, arguments.format, terminal)
    if pressed is None:
        return 1
    if arguments.format == "text":
        terminal.say(summary(pressed, terminal))
    return 0


def _target(source: Path) -> Path:
    from builder import names

    folder = source / "site" if source.is_dir() else source.parent
    stem = Path(names.PDF_FILE).stem if source.is_dir() else source.stem
    return folder / f"{stem}-to-print.pdf"


def summary(pressed: Pressed, terminal: Terminal) -> str:
    """What was made, and what matters most in the print window."""
    imposed = pressed.imposed
    counts = [f"{counted(imposed.pages, 'page')} on {counted(len(imposed.sheets), 'sheet')} "
              f"of {imposed.job.sheet}"]  # fmt: skip
    if imposed.blanks:
        counts.append(counted(imposed.blanks, "blank page"))
    done = terminal.paint("laid out", "good")
    lines = [f"{done} in {pressed.seconds:.1f} s: {', '.join(counts)}"]
    lines += [f"  {path}" for path in pressed.results]
    lines.append(f"print at 100 %, both sides, flip on {imposed.turn.value} edge")
    return "\n".join(lines)


# --- preflight ------------------------------------------------------------------------------------


def _preflight(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.errands import press

    for option in ("out", "marks"):
        if getattr(arguments, option):
            raise Misuse(f"--{option} has no meaning with --preflight, which writes nothing")
    told = any(getattr(arguments, name) is not None for name in ("layout", "sheet", "signature"))
    job = _job(arguments) if told else None
    faults = Faults()
    with Progress(terminal) as progress:
        found = press.preflight(arguments.source, job, faults, progress)
    tell_faults(faults, arguments.format, terminal)
    if found is None:
        return 1
    lines = json_lines(found) if arguments.format == "json" else table(found, terminal)
    for line in lines:
        terminal.say(line)
    return 0 if found.passed else 1


def table(found: Preflight, terminal: Terminal) -> list[str]:
    """A row for each check; under one that failed, the first things that are wrong."""
    width = max(len(row.check) for row in found.rows)
    lines: list[str] = []
    for row in found.rows:
        result = terminal.paint("pass", "good") if row.passed else terminal.paint("fail", "error")
        lines.append(f"{result}  {row.check:<{width}}  {row.looked_at}")
        for finding in row.findings[:MOST_FINDINGS]:
            where = f"page {finding.page}: " if finding.page else ""
            lines.append(f"      {'':<{width}}  {where}{finding.words}")
        more = len(row.findings) - MOST_FINDINGS
        if more > 0:
            lines.append(f"      {'':<{width}}  and {more} more")
    failed = sum(1 for row in found.rows if not row.passed)
    lines.append(f"{counted(failed, 'check')} failed" if failed else "all checks passed")
    return lines


def json_lines(found: Preflight) -> list[str]:
    """One JSON object a check."""
    return [
        json.dumps({
            "check": row.check,
            "passed": row.passed,
            "looked_at": row.looked_at,
            "findings": [{"page": one.page, "message": one.words} for one in row.findings],
        }, ensure_ascii=False)
        for row in found.rows
    ]  # fmt: skip
