"""Makes openings.tsv from the data set of PyPI `ocn-chess`:

    .venv/bin/python -m builder.openings.make_data PATH/TO/ocn-1.csv

A row's code is the first of those that the data set gives it, or else of the nearest row above it in
its hierarchy. A name whose last part is only a move, or that the data set marks as a prefix, says
nothing beyond the moves; the name above it stands in. Where several rows have the same position, the
one that the others refer to counts, or else the first.
"""

from __future__ import annotations

import csv
import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TypeAlias

import chess

from builder.model import position_key
from builder.openings import DATA, digest

Row: TypeAlias = dict[str, str]
_MOVE = re.compile(r"(?:O-O(?:-O)?|[KQRBN]?[a-h]?[1-8]?x?[a-h][1-8])[+#]?|Castled")


def read_rows(path: Path) -> dict[str, Row]:
    """The rows by their identifiers."""
    with path.open(encoding="utf-8", newline="") as file:
        return {row["ocn1"]: row for row in csv.DictReader(file)}


def code_of(row: Row, rows: dict[str, Row]) -> str:
    at: Row | None = row
    while at is not None:
        if at["eco_legacy"]:
            return at["eco_legacy"].split("|")[0]
        at = rows.get(at["parent_ocn1"])
    return ""


def name_of(row: Row, rows: dict[str, Row]) -> str:
    at = row
    while _says_nothing(at["canonical_name"]) and at["parent_ocn1"] in rows:
        above = rows[at["parent_ocn1"]]
        if not above["moves_uci"]:
            break
        at = above
    return at["canonical_name"]


def _says_nothing(name: str) -> bool:
    last = name.rsplit(",", 1)[-1].strip()
    return bool(_MOVE.fullmatch(last)) or "Prefix" in last


def digests(rows: Iterable[Row]) -> dict[str, str]:
    """Of the positions behind the rows' moves, by identifier, where there are moves. Raises
    ValueError where one is not legal."""
    found: dict[str, str] = {}
    board = chess.Board()
    played: list[str] = []
    # In this order most rows begin as the one before them.
    for moves, ident in sorted((row["moves_uci"].split(), row["ocn1"]) for row in rows):
        while played != moves[: len(played)]:
            board.pop()
            played.pop()
        for move in moves[len(played) :]:
            board.push_uci(move)
            played.append(move)
        if moves:
            found[ident] = digest(position_key(board))
    return found


def refers(row: Row) -> bool:
    """Whether the row leaves its position to another one."""
    return bool(row["transposes_to"] or row["same_as"])


def main(path: Path) -> None:
    rows = read_rows(path)
    digest_of = digests(rows.values())
    found: dict[str, str] = {}
    for row in sorted(rows.values(), key=refers):
        if row["ocn1"] in digest_of:
            said = f"{code_of(row, rows)}\t{name_of(row, rows)}"
            found.setdefault(digest_of[row["ocn1"]], said)
    lines = (f"{key}\t{said}\n" for key, said in sorted(found.items()))
    DATA.write_text("".join(lines), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
