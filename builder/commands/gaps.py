"""plyleaf gaps: which replies the booklet leaves unanswered."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from builder.commands import (
    Subparsers, add_folder, add_format, add_parser, counted, existing_folder, tell_faults,
    whole_number,
)  # fmt: skip
from builder.faults import Faults
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.model import Booklet
    from builder.proof.gaps import Coverage, Gap, GapReport, Reply

MOST_REPLIES = 6
LEAST_CHANCE = 0.0001  # Below it, what a reader meets is a guess that tells nothing.

_MORE = """\
Looks at every position where the other side moves and the booklet goes on. Replies that lead into
the booklet by transposition are answered. What a reader is likeliest to meet comes first, reckoned
from the games in the booklet's games/ folder (PGN) and the book of openings together; a reply counts
the more, the better the engine's kept answers find it. Last come replies that nobody is known to play
but that force something: checks, captures, threats. Each gap begins with the place where an answer can
be added.
"""


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "gaps", "List the replies that no line answers", _MORE)
    add_folder(parser)
    add_format(parser)
    parser.add_argument("--most", type=whole_number(0, 1_000_000), default=20, metavar="N",
                        help="how many positions to list (default: 20; 0: all)")  # fmt: skip
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.errands.gaps import gaps as find

    folder = existing_folder(arguments.folder)
    faults = Faults()
    with Progress(terminal) as progress:
        found = find(folder, faults, progress)
    if found is None or faults.has_errors:
        tell_faults(faults, arguments.format, terminal)
        return 1
    proved, report = found
    gaps = report.gaps[: arguments.most] if arguments.most else report.gaps
    if arguments.format == "json":
        for gap in gaps:
            terminal.say(gap_json(gap, proved.booklet))
        return 0
    tell_faults(faults, "text", terminal)
    _tell(gaps, report, proved.booklet, terminal)
    return 0


def _tell(gaps: tuple[Gap, ...], report: GapReport, booklet: Booklet, terminal: Terminal) -> None:
    for gap in gaps:
        terminal.say(terminal.paint(heading(gap, booklet), "strong"))
        terminal.say("  " + "   ".join(reply_text(reply) for reply in gap.replies[:MOST_REPLIES])
                     + more_text(len(gap.replies) - MOST_REPLIES))  # fmt: skip
    left = len(report.gaps) - len(gaps)
    if left > 0:
        terminal.say(f"and {counted(left, 'position')} more (--most 0 lists all)")
    if not report.gaps:
        terminal.say("no gaps: every reply that was looked at is answered")
    if report.games:
        terminal.say("")
        terminal.say(f"{counted(report.games, 'game')}, half-move by half-move:")
        for step in report.coverage:
            terminal.say("  " + coverage_text(step))


def heading(gap: Gap, booklet: Booklet) -> str:
    """`chapters/10-main.md:15:9: after 4.Nxd4 (Diagram 2): met in 1.4 % of games; of 304 games, …`."""
    place = str(gap.ply.place) if gap.ply else gap.chapter.file
    after = f"after {gap.ply.label}" if gap.ply else "at the start"
    diagram = next((d for d in booklet.diagrams if d.position.key == gap.position.key), None)
    number = f" (Diagram {diagram.number})" if diagram else ""
    told = [f"met in {per_cent(gap.chance)} of games"] if gap.chance >= LEAST_CHANCE else []
    if gap.games:
        told.append(f"of {counted(gap.games, 'game')}, {gap.covered:,} {stay(gap.covered)} in the booklet")
    return f"{place}: {after}{number}" + (": " + "; ".join(told) if told else "")


def stay(games: int) -> str:
    return "stays" if games == 1 else "stay"


def per_cent(share: float) -> str:
    """`60 %`, `1.4 %`, `0.092 %`."""
    hundredths = 100 * share
    return f"{hundredths:.0f} %" if hundredths >= 10 else f"{hundredths:.2g} %"


def reply_text(reply: Reply) -> str:
    """`Bb4+ 10 games (32 % in the book of openings)`, or `Bb4+ (check)` where neither tells."""
    parts = [reply.san]
    if reply.games:
        parts.append(counted(reply.games, "game"))
    if reply.share:
        parts.append(f"({100 * reply.share:.0f} % in the book of openings)")
    elif reply.force and not reply.games:
        parts.append(f"({reply.force})")
    if reply.score is not None:
        parts.append(f"{reply.score:+.2f}")
    return " ".join(parts)


def more_text(count: int) -> str:
    return f"   and {count} more" if count > 0 else ""


def coverage_text(step: Coverage) -> str:
    share = 100 * step.stayed / step.games
    return (f"{step.ply:>3}: of {counted(step.games, 'game')} in the booklet, {step.stayed:,} "
            f"{stay(step.stayed)} in it at the next move ({share:.0f} %)")  # fmt: skip


def gap_json(gap: Gap, booklet: Booklet) -> str:
    """One gap as a JSON object on one line."""
    place = gap.ply.place if gap.ply else None
    return json.dumps(
        {
            "file": place.file if place else gap.chapter.file,
            "line": place.line if place else 1,
            "column": place.column if place else 1,
            "after": gap.ply.label if gap.ply else "",
            "epd": gap.position.epd,
            "games": gap.games,
            "covered": gap.covered,
            "chance": round(gap.chance, 6),
            "replies": [
                {"move": reply.san, "chance": round(reply.chance, 6), "games": reply.games,
                 "share": round(reply.share, 3), "force": reply.force, "score": reply.score}
                for reply in gap.replies
            ],
        },
        ensure_ascii=False,
    )  # fmt: skip
