"""Flash cards as CSV (RFC 4180), for a program that asks them: position, moves, chapter.

The position is an EPD's four fields, the moves are SAN with spaces between, the chapter is its
slug. Nothing here is an author's free text, so no field can be a spreadsheet's formula.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable
from pathlib import Path

from builder.faults import Faults
from builder.place import Place
from builder.render.handouts.deck import Card

HEADER = ("position", "moves", "chapter")


def cards_csv(deck: Iterable[Card]) -> str:
    """The file's text, its lines ended as the RFC has them."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(HEADER)
    for card in deck:
        writer.writerow((card.position.epd, " ".join(card.moves), card.chapter.slug))
    return text.getvalue()


def csv_is_free(target: Path, faults: Faults) -> bool:
    """Whether nothing but earlier cards stands there; if not, an error tells."""
    if not os.path.lexists(target):
        return True
    if target.is_dir():
        faults.error("out-place", _at(target), "this is a folder", "name a file with --csv")
        return False
    head = ",".join(HEADER).encode()
    try:
        with target.open("rb") as file:
            found = file.read(len(head))
    except OSError as error:
        faults.error("out-write", _at(target), f"this can't be read: {_reason(error)}")
        return False
    if found != head:
        faults.error("out-stranger", _at(target),
                     "this holds no cards of ours, so it is not replaced",
                     "move it away, or choose another name with --csv")  # fmt: skip
    return found == head


def write_cards_csv(deck: Iterable[Card], target: Path, faults: Faults) -> bool:
    """Writes the file in one step; whether that was done."""
    draft = target.with_name(f".{target.name}.plyleaf")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        draft.unlink(missing_ok=True)  # left by a run that was killed
        with draft.open("x", encoding="ascii", newline="") as file:
            file.write(cards_csv(deck))
        os.replace(draft, target)
    except OSError as error:
        faults.error("out-write", _at(target), f"this can't be written: {_reason(error)}")
        return False
    return True


def _at(path: Path) -> Place:
    return Place(str(path), 1, 1, 2)


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
