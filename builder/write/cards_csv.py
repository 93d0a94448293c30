"""Flash cards as CSV (RFC 4180), for a program that asks them: position, moves, chapter.

The position is an EPD's four fields, the moves are SAN with spaces between, the chapter is its
slug. Nothing here is an author's free text, so no field can be a spreadsheet's formula.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from pathlib import Path

from builder.own_file import Kind, OwnFile, beginning
from builder.render.handouts.deck import Card

HEADER = ("position", "moves", "chapter")
CARDS = Kind(beginning(lambda head: head.startswith(",".join(HEADER).encode())),
             "this holds no cards of ours", "--csv")  # fmt: skip


def cards_csv(deck: Iterable[Card]) -> str:
    """The file's text, its lines ended as the RFC has them."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(HEADER)
    for card in deck:
        writer.writerow((card.position.epd, " ".join(card.moves), card.chapter.slug))
    return text.getvalue()


def cards_file(deck: Iterable[Card], target: Path) -> OwnFile:
    return OwnFile(CARDS, target, cards_csv(deck).encode("ascii"))
