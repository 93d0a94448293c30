"""Opening tables to HTML.

In: an `OpeningTable`. Out: as many tables as its columns need on the page, each with the moves
that its columns share as its caption, a row for each move number, the verdicts and the places in
the text at the foot, and its notes below.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from builder.model import (
    OpeningTable, Ply, TableColumn, TableNote, VariationEnd, VariationStart,
)  # fmt: skip
from builder.render import moves
from builder.render.medium import Context
from builder.render.notation import MOVE_SIGNS, POSITION_SIGNS, number_text

_SAME = "\u2013"  # the move is that of the column to the left
_ARROW = "\u2192"
_EMPTY = Markup("")


def table(node: OpeningTable, at: Context) -> Markup:
    parts = [_Part(node, columns, at) for columns in _parted(node.columns, at.medium.table_columns)]
    return Markup('<div class="opening-table" id="{}">\n{}\n</div>').format(
        node.anchor, Markup("\n").join(part.html() for part in parts)
    )


def _parted(columns: tuple[TableColumn, ...], most: int) -> Iterator[tuple[TableColumn, ...]]:
    """The columns in as few parts as have room for them, of nearly the same width."""
    count = -(-len(columns) // max(1, most))
    done = 0
    for part in range(count):
        width = -(-(len(columns) - done) // (count - part))
        yield columns[done : done + width]
        done += width


@dataclass(frozen=True, slots=True)
class _Part:
    """One of the tables that an opening table is parted into."""

    node: OpeningTable
    columns: Sequence[TableColumn]
    at: Context

    def html(self) -> Markup:
        notes = [note for column in self.columns for note in column.notes]
        return Markup(
            '<div class="table"><table>\n<caption>{}</caption>\n<thead>{}</thead>\n'
            "<tbody>\n{}\n</tbody>\n<tbody class=\"foot\">\n{}\n</tbody>\n</table></div>{}"
        ).format(
            self._caption(), self._head(), Markup("\n").join(self._rows()),
            Markup("\n").join(self._foot()), self._notes(notes),
        )  # fmt: skip

    @property
    def _shared(self) -> int:
        """How many moves all columns begin with."""
        first, *others = self.columns
        if not others:
            return first.own
        length = min(len(column.plies) for column in self.columns)
        return next(
            (index for index in range(length)
             if any(other.plies[index] is not first.plies[index] for other in others)),
            length,
        )  # fmt: skip

    def _caption(self) -> Markup:
        """The moves in common, or what it is a table of."""
        column = self.columns[0]
        shared = column.plies[: self._shared]
        if not shared:
            return escape(self.at.medium.words.opening_table)
        out: list[Markup] = []
        for index, ply in enumerate(shared):
            numbered = ply.by_white or index == 0
            out.append(self._move(ply, numbered) + self._marks(column, ply))
        return Markup(" ").join(out)

    def _head(self) -> Markup:
        words = self.at.medium.words
        cells = (
            Markup('<th scope="col" aria-label="{}">{}</th>').format(
                words.column.format(number=column.number), column.number
            )
            for column in self.columns
        )
        return Markup("<tr><td></td>{}</tr>").format(_EMPTY.join(cells))

    # --- moves -------------------------------------------------------------------------------

    def _rows(self) -> Iterator[Markup]:
        shared = self._shared
        moves_of = [
            {(ply.number, ply.by_white): ply for ply in column.plies[shared:]}
            for column in self.columns
        ]
        numbers = sorted({number for found in moves_of for number, _ in found})
        opens_with_black = bool(shared) and self.columns[0].plies[shared - 1].by_white
        for row, number in enumerate(numbers):
            cells: list[Markup] = []
            for index, column in enumerate(self.columns):
                left = moves_of[index - 1] if index else {}
                halves = [
                    self._half(moves_of[index].get((number, white)), left.get((number, white)), column)
                    for white in (True, False)
                ]
                if row == 0 and opens_with_black:
                    halves[0] = Markup('<span class="half">\u2026</span>')
                cells.append(Markup("<td>{}</td>").format(_EMPTY.join(halves)))
            yield Markup('<tr><th scope="row">{}</th>{}</tr>').format(number, _EMPTY.join(cells))

    def _half(self, ply: Ply | None, left: Ply | None, column: TableColumn) -> Markup:
        """White's or Black's move of a cell; empty where the column has ended."""
        if ply is None:
            return Markup('<span class="half"></span>')
        if ply is left:
            told = number_text(ply) + self.at.medium.notation.plain(ply.san)
            return Markup('<span class="half same"><span role="img" aria-label="{}">{}</span></span>'
                          ).format(told, _SAME)  # fmt: skip
        return Markup('<span class="half">{}{}</span>').format(
            self._move(ply, False), self._marks(column, ply)
        )

    def _move(self, ply: Ply, numbered: bool) -> Markup:
        """Without its verdict, which stands at the foot."""
        signs = tuple(nag for nag in ply.nags if nag in MOVE_SIGNS)
        return moves.move(ply, self.at.medium, signs, numbered)

    # --- the foot ----------------------------------------------------------------------------

    def _foot(self) -> Iterator[Markup]:
        verdicts = [self._verdict(column) for column in self.columns]
        if any(verdicts):
            cells = (Markup("<td>{}</td>").format(verdict) for verdict in verdicts)
            yield Markup('<tr class="verdicts"><td></td>{}</tr>').format(_EMPTY.join(cells))
        cells = (Markup("<td>{}</td>").format(self._place(column)) for column in self.columns)
        yield Markup('<tr class="places"><td></td>{}</tr>').format(_EMPTY.join(cells))

    def _verdict(self, column: TableColumn) -> Markup:
        sign = escape(POSITION_SIGNS.get(column.sign or 0, ""))
        other = column.runs_into
        if other is None:
            return sign
        medium = self.at.medium
        label = number_text(other.ply) + medium.notation.plain(other.ply.san)
        told = f"{medium.words.column.format(number=other.column)}, {label}"
        arrow = Markup('<span class="runs-into" role="img" aria-label="{}" title="{}">{}\u00a0{}</span>'
                       ).format(told, told, _ARROW, other.column)  # fmt: skip
        return Markup("{} {}").format(sign, arrow) if sign else arrow

    def _place(self, column: TableColumn) -> Markup:
        """Where the column's own moves begin in the text."""
        medium = self.at.medium
        ply = column.plies[min(max(column.own, self._shared), len(column.plies) - 1)]
        chapter = Markup("{}\u00a0{}").format(medium.words.chapter, column.chapter)
        href = medium.href(ply.chapter, ply.anchor)
        return Markup('<a class="ref" href="{}">{}</a>').format(href, chapter) if href else chapter

    # --- notes -------------------------------------------------------------------------------

    def _anchor(self, note: TableNote, kind: str) -> str:
        return f"{self.node.anchor}-{kind}-{note.number}"

    def _marks(self, column: TableColumn, ply: Ply) -> Markup:
        """The marks of the notes at a move."""
        medium = self.at.medium
        marks = [
            Markup('<a class="noteref" id="{}" href="{}" role="doc-noteref" aria-label="{}">{}</a>'
                   ).format(
                self._anchor(note, "ref"), medium.href(self.at.chapter, self._anchor(note, "note")),
                medium.words.note.format(number=note.number), note.number,
            )
            for note in column.notes if note.instead_of is ply
        ]  # fmt: skip
        return Markup("<sup>{}</sup>").format(Markup(",").join(marks)) if marks else _EMPTY

    def _notes(self, notes: Sequence[TableNote]) -> Markup:
        if not notes:
            return _EMPTY
        items = (
            Markup('<li id="{}" value="{}">{}</li>').format(
                self._anchor(note, "note"), note.number, self._note(note)
            )
            for note in notes
        )
        return Markup('\n<ol class="table-notes">\n{}\n</ol>').format(Markup("\n").join(items))

    def _note(self, note: TableNote) -> Markup:
        """The side-line; its last move, which the style sheet of a print adds the page to, leads
        to its place in the text."""
        medium = self.at.medium
        flow = _NoteFlow()
        last = [item for item in note.items if isinstance(item, Ply)][-1]
        href = medium.href(note.first.chapter, note.first.anchor)
        for item in note.items:
            match item:
                case VariationStart():
                    flow.open()
                case VariationEnd():
                    flow.close()
                case Ply():
                    numbered = item.by_white or flow.number_next
                    there = href if item is last else ""
                    flow.add(moves.move(item, medium, item.nags, numbered, href=there))
        back = Markup('<a href="{}" role="doc-backlink" aria-label="{}">\u2191</a>').format(
            medium.href(self.at.chapter, self._anchor(note, "ref")), medium.words.back
        )
        return Markup("{}{} {}").format(
            flow.text(), Markup("\u00a0\u2026") if note.cut else _EMPTY, back
        )


class _NoteFlow:
    """Moves with their variations in brackets, one after another."""

    def __init__(self) -> None:
        self.out: list[Markup] = []
        self.number_next = True
        self.glued = True

    def add(self, text: Markup) -> None:
        if not self.glued:
            self.out.append(Markup(" "))
        self.out.append(text)
        self.number_next = self.glued = False

    def open(self) -> None:
        self.add(Markup("("))
        self.number_next = self.glued = True

    def close(self) -> None:
        self.out.append(Markup(")"))
        self.number_next = True

    def text(self) -> Markup:
        return _EMPTY.join(self.out)
