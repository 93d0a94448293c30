"""The booklet's positions as EPD: diagrams, named positions, exercises.

EPD is section 16.2 of the PGN standard: the first four fields of a FEN, then operations, each
closed by a semicolon. Used are `id` (what the booklet calls the position), `bm` (the moves that
solve an exercise) and `c0` (where it stands in the site, and its caption or task). Operations
are in the order of their opcodes. The standard's ASCII is widened to UTF-8, as for the PGN.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from builder import names
from builder.model import Booklet, Position
from builder.write.plain import blocks_text, plain_text


def write_epd(booklet: Booklet, target: Path) -> None:
    target.write_text(epd_text(booklet), encoding="utf-8", newline="\n")


def epd_text(booklet: Booklet) -> str:
    """One line a position: diagrams, then names, then exercises."""
    return "".join(f"{line}\n" for line in _lines(booklet))


def _lines(booklet: Booklet) -> Iterator[str]:
    for diagram in booklet.diagrams:
        if diagram.number is not None:
            where = f"{names.chapter_page(diagram.chapter)}#{diagram.anchor}"
            caption = plain_text(diagram.caption, booklet.names)
            yield _line(diagram.position, f"Diagram {diagram.number}", where, caption)
    for named in booklet.names.values():
        where = f"{names.chapter_page(named.chapter)}#{named.anchor}"
        after = f"after {named.ply.label}" if named.ply else ""
        yield _line(named.position, f"@{named.name}", where, after)
    for exercise in booklet.exercises:
        where = f"{names.chapter_page(exercise.chapter)}#{exercise.anchor}"
        task = blocks_text(exercise.task, booklet.names)
        answers = tuple(sorted({answer.san for answer in exercise.answers if not answer.is_pass}))
        yield _line(exercise.diagram.position, f"Exercise {exercise.number}", where, task, answers)


def _line(position: Position, ident: str, where: str, words: str,
          best: tuple[str, ...] = ()) -> str:  # fmt: skip
    fields = " ".join(position.fen.split(" ")[:4])
    operations = [f"bm {' '.join(best)};"] if best else []
    operations.append(f'c0 "{_string(f"{where} {words}".rstrip())}";')
    operations.append(f'id "{_string(ident)}";')
    return " ".join((fields, *operations))


def _string(text: str) -> str:
    """A string operand's inside, 255 characters at most: quotes and backslashes, which readers
    of EPD disagree on, give way to their like; so do semicolons, which end an operation."""
    flat = "".join(char if char.isprintable() else " " for char in text)
    plain = flat.replace('"', "'").replace("\\", "/").replace(";", ",")
    return " ".join(plain.split())[:255].rstrip()
