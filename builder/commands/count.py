"""plyleaf count: how often the booklet's moves are played."""

from __future__ import annotations

import argparse
import csv
import io
import json
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from builder.commands import (
    Misuse, Subparsers, add_folder, add_parser, counted, existing_folder, tell_faults,
)  # fmt: skip
from builder.faults import Faults
from builder.terminal import Progress, Terminal

if TYPE_CHECKING:
    from builder.counting.branches import Branch
    from builder.model.counts import GameCounts, Results

_MORE = """\
Counts the games of FILES (PGN, of any size), or of the booklet's games/ folder, at every position
where the booklet branches: how often each of its moves is played, and White's score with it. Positions
are counted, not move orders, so that transpositions count; a game counts once for a position.
Counts are kept in .plyleaf/games.sqlite: the same file is counted once, and what changes in the
booklet is counted alone.
"""
_COLUMNS = ("file", "line", "column", "position", "move", "games", "white", "draws", "black",
            "unknown")  # fmt: skip


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "count", "Tell how often the booklet's moves are played", _MORE)
    add_folder(parser)
    parser.add_argument("games", nargs="*", type=Path, metavar="FILES",
                        help="files of games (default: those in the booklet's games/)")  # fmt: skip
    parser.add_argument("--all", action="store_true",
                        help="list positions where the booklet has one move, too")  # fmt: skip
    parser.add_argument("--keep", action="store_true",
                        help="write what FILES say to games/NAME.counts, to travel in their place")  # fmt: skip
    parser.add_argument("--format", choices=("text", "json", "csv"), default="text",
                        help="a table for people, one JSON object a line, or CSV with a row a move")  # fmt: skip
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.counting.branches import branches
    from builder.errands.count import count, keep

    folder = existing_folder(arguments.folder)
    for path in arguments.games:
        if not path.is_file():
            raise Misuse(f"there is no file {path}")
    if arguments.keep and not arguments.games:
        raise Misuse("--keep wants the names of files to count")
    faults = Faults()
    with Progress(terminal) as progress:
        found = count(folder, arguments.games, faults, progress)
    written = keep(found[0], arguments.games, faults) if found and arguments.keep else []
    if found is None or faults.has_errors:
        tell_faults(faults, "text" if arguments.format == "csv" else arguments.format, terminal)
        return 1
    proved, counts = found
    places = branches(proved.booklet, counts, 1 if arguments.all else 2)
    if arguments.format == "json":
        for place in places:
            terminal.say(_json(place))
    elif arguments.format == "csv":
        terminal.say(_csv(places))
    else:
        tell_faults(faults, "text", terminal)
        for line in (*table(places, counts), *(f"kept in {name}" for name in written)):
            terminal.say(line)
    return 0


def table(places: Iterable[Branch], counts: GameCounts) -> Iterable[str]:
    """The branches as text, then what was counted; of no games at all, how to name some."""
    if not counts.files:
        yield "there are no games: name a file, or put one into the booklet's games/ folder"
        return
    for place in places:
        after = f"after {place.ply.label}" if place.ply else "at the start"
        yield f"{_where(place)}: {after}: {counted_games(place.games.games)}"
        number = f"{place.position.move_number}{'.' if place.position.white_to_move else '...'}"
        for choice in place.choices:
            yield _row(number + choice.san, choice.results, choice.share)
        if place.other_moves:
            others = place.others.games
            went_on = others + sum(choice.results.games for choice in place.choices)
            yield _row(counted(place.other_moves, "other move"), place.others, others / went_on)
        yield ""
    for file in counts.files:
        latest = f", the latest of {file.latest}" if file.latest else ""
        yield f"{file.name}: {counted_games(file.games)}{latest}"


def _row(name: str, results: Results, share: float) -> str:
    score = "" if results.score is None else f"  White scores {100 * results.score:3.0f} %"
    return f"  {name:<14}{results.games:>11,}  {100 * share:3.0f} %{score}"


def counted_games(games: int) -> str:
    return f"{games:,} game{'' if games == 1 else 's'}"


def _where(place: Branch) -> str:
    return str(place.ply.place) if place.ply else place.chapter.file


def _json(place: Branch) -> str:
    at = place.ply.place if place.ply else None
    return json.dumps({
        "file": at.file if at else place.chapter.file,
        "line": at.line if at else 1,
        "column": at.column if at else 1,
        "after": place.ply.label if place.ply else "",
        "epd": place.position.epd,
        "games": place.games.games,
        "moves": [{"move": choice.san, "games": choice.results.games,
                   "share": round(choice.share, 4), "score": _rounded(choice.results.score)}
                  for choice in place.choices],
        "others": place.others.games,
    }, ensure_ascii=False)  # fmt: skip


def _rounded(score: float | None) -> float | None:
    return None if score is None else round(score, 4)


def _csv(places: Iterable[Branch]) -> str:
    """CSV (RFC 4180), which holds no words of anybody's."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for place in places:
        at = place.ply.place if place.ply else None
        where = (at.file, at.line, at.column) if at else (place.chapter.file, 1, 1)
        for name, one in (*((choice.san, choice.results) for choice in place.choices),
                          *(("others", place.others),) * bool(place.other_moves)):  # fmt: skip
            writer.writerow((*where, place.position.epd, name, one.games, one.white, one.draws,
                             one.black, one.unknown))  # fmt: skip
    return text.getvalue().rstrip("\n")
