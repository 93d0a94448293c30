"""The booklet's positions as EPD: diagrams, named positions, exercises.

EPD is section 16.2 of the PGN standard: the first four fields of a FEN, then operations, each
closed by a semicolon. Used are `id` (what the booklet calls the position), `bm` (the moves that
solve an exercise), `c0` (where it stands in the site, and its caption or task) and `c1` (its page
in the PDF). Operations
are in the order of their opcodes. The standard's ASCII is widened to UTF-8, as for the PGN.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from builder import names
from builder.model import Booklet, Position
from builder.write.plain import blocks_text, plain_text


def write_epd(booklet: Booklet, target: Path, page_of: Mapping[str, int]) -> None:
    """`page_of` gives the PDF's page for an anchor; empty where there is no PDF."""
    target.write_text(epd_text(booklet, page_of), encoding="utf-8", newline="\n")


def epd_text(booklet: Booklet, page_of: Mapping[str, int]) -> str:
    """One line a position: diagrams, then names, then exercises."""
    return "".join(f"{entry.text(page_of)}\n" for entry in _entries(booklet))


@dataclass(frozen=True, slots=True)
class _Entry:
    """A position, what the booklet calls it, and the anchor that leads to it."""

    position: Position
    ident: str
    chapter: str
    anchor: str
    words: str
    best: tuple[str, ...] = ()
    print_anchor: str = ""  # where the PDF shows it, when that is another anchor

    def text(self, page_of: Mapping[str, int]) -> str:
        fields = " ".join(self.position.fen.split(" ")[:4])
        where = f"{names.chapter_page(self.chapter)}#{self.anchor}"
        page = page_of.get(self.print_anchor or self.anchor)
        operations = [f"bm {' '.join(self.best)};"] if self.best else []
        operations.append(f'c0 "{_string(f"{where} {self.words}".rstrip())}";')
        if page is not None:
            operations.append(f'c1 "page {page}";')
        operations.append(f'id "{_string(self.ident)}";')
        return " ".join((fields, *operations))


def _entries(booklet: Booklet) -> Iterator[_Entry]:
    for diagram in booklet.diagrams:
        if diagram.number is not None:
            yield _Entry(diagram.position, f"Diagram {diagram.number}", diagram.chapter,
                         diagram.anchor, plain_text(diagram.caption, booklet.names))  # fmt: skip
    for named in booklet.names.values():
        after = f"after {named.ply.label}" if named.ply else ""
        shown = named.diagram.anchor if named.diagram else ""
        yield _Entry(named.position, f"@{named.name}", named.chapter, named.anchor, after,
                     print_anchor=shown)  # fmt: skip
    for exercise in booklet.exercises:
        position = exercise.diagram.position
        best = {answer.san for answer in exercise.answers
                if answer.before.key == position.key and not answer.is_pass}  # fmt: skip
        yield _Entry(position, f"Exercise {exercise.number}", exercise.chapter, exercise.anchor,
                     blocks_text(exercise.task, booklet.names), tuple(sorted(best)))  # fmt: skip


def _string(text: str) -> str:
    """A string operand's inside, 255 characters at most: quotes and backslashes, which readers
    of EPD disagree on, give way to their like; so do semicolons, which end an operation."""
    flat = "".join(char if char.isprintable() else " " for char in text)
    plain = flat.replace('"', "'").replace("\\", "/").replace(";", ",")
    return " ".join(plain.split())[:255].rstrip()
