"""The summary: the whole repertoire on one page, as their moves and the answers to them.

In: repertoires and a type size. Out: strips, which are titles and rows, in HTML; they are
measured on a galley and then set in columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from markupsafe import Markup

from builder.draw import print_board
from builder.draw.board import BoardView
from builder.draw.text import describe
from builder.model import Diagram, Ply, Position, PositionKey
from builder.render import moves
from builder.render.handouts.branch_groups import Group, GroupRow, groups
from builder.render.handouts.branches import Repertoire
from builder.render.handouts.columns import Column
from builder.render.handouts.paper import Box, Paper, move_text
from builder.render.handouts.summary_page import Setting

# Where a side's ply stands: the number of a group.
Standing: TypeAlias = Mapping[tuple[bool, str], int]
TEMPLATE = "summary.html"
GALLEY_TEMPLATE = "summary-galley.html"
_TELLING = 4  # half-moves from the beginning before a position is worth a board
_HOLD = 3  # rows of a group that stand together at the foot or the head of a column
# A stem of more moves is told by its last ones.
_MOST_STEM = 12
_SHORT_STEM = 8


@dataclass(frozen=True, slots=True)
class ShownStrip:
    """A line of the summary: the title of a part, that of a group, or a row.

    `letter` is a group's own, or that of the group where a row goes on. `keep` tells that the
    next line must follow in the same column.
    """

    kind: str  # part, group or row
    indent: int
    lead: Markup
    words: Markup
    letter: str
    reference: str
    keep: bool

    @property
    def at_its_widest(self) -> ShownStrip:
        """What its height is taken from: with as wide a letter as there can be, since letters
        change when branches are left out."""
        return replace(self, letter="MM" if self.letter else "", keep=False)


@dataclass(frozen=True, slots=True)
class ShownBoard:
    letter: str
    board: Markup
    words: Markup
    reference: str
    box: Box


@dataclass(frozen=True, slots=True)
class ShownColumn:
    """`goes_on` is the letter of the group that goes on from the column before, or empty."""

    strips: tuple[ShownStrip, ...]
    goes_on: str
    box: Box


def strip_anchor(index: int) -> str:
    """The anchor before a strip of the galley, or after the last one."""
    return f"strip-{index}"


@dataclass(frozen=True, slots=True)
class KeyPosition:
    """A position worth a board: where a group begins, or a numbered diagram."""

    ply: Ply | None
    position: Position
    flip: bool
    letter: str
    reference: str


@dataclass(frozen=True, slots=True)
class Summary:
    """What a summary says. `keys` begins with the most important position; `left_out` counts
    the branches that are not in it."""

    paper: Paper
    strips: tuple[ShownStrip, ...]
    keys: tuple[KeyPosition, ...]
    left_out: int

    def html(self, at: Setting, columns: Sequence[Column], boards: int) -> str:
        """The page with its strips in `columns` and so many boards."""
        height = max(column.height for column in columns)
        words = self.paper.medium.words
        return self.paper.text(
            TEMPLATE, words.at_a_glance, at=at, square=at.square(boards) if boards else 0,
            columns=tuple(
                ShownColumn(self.strips[column.first : column.end], self._goes_on(column.first),
                            at.column_box(index, height))
                for index, column in enumerate(columns)
            ),
            boards=tuple(self._boards(at, boards, height)),
            left_out=words.left_out.format(count=self.left_out) if self.left_out else "",
        )  # fmt: skip

    def _goes_on(self, first: int) -> str:
        if self.strips[first].kind != "row":
            return ""
        return next((strip.letter for strip in reversed(self.strips[:first])
                     if strip.kind == "group"), "")  # fmt: skip

    def _boards(self, at: Setting, boards: int, height: float) -> Iterator[ShownBoard]:
        """The most important positions in the order of the game."""
        words = self.paper.medium.words.board
        shown = sorted(self.keys[:boards], key=lambda key: key.position.ply_number)
        for index, key in enumerate(shown):
            view = BoardView(key.position.placement, flip=key.flip, coordinates=False)
            yield ShownBoard(
                key.letter,
                Markup(print_board.board_html(view, alt=describe(view, words))),
                moves.position_words(key.ply, key.position, self.paper.medium),
                key.reference,
                at.board_box(index, boards, height),
            )


def galley_html(paper: Paper, strips: Sequence[ShownStrip], at: Setting) -> str:
    """Strips in one column, with an anchor before each and after the last."""
    return paper.text(GALLEY_TEMPLATE, paper.medium.words.at_a_glance, at=at, strips=strips,
                      strip_anchor=strip_anchor)  # fmt: skip


def summary(paper: Paper, found: Sequence[Repertoire], page_of: Mapping[str, int],
            left_out: int) -> Summary:  # fmt: skip
    """`page_of` gives the booklet's pages by anchors, where they are known."""
    grouped: list[tuple[Repertoire, Group]] = []
    for repertoire in found:
        grouped += [(repertoire, group) for group in groups(repertoire, len(grouped))]
    setter = _Setter(paper, page_of, len(grouped) > 1)
    return Summary(paper, tuple(setter.strips(grouped)), tuple(setter.keys(grouped)), left_out)


def group_letter(number: int) -> str:
    """A to Z, then AA and so on; numbers begin with 0."""
    letters = ""
    number += 1
    while number:
        number, last = divmod(number - 1, 26)
        letters = chr(ord("A") + last) + letters
    return letters


def _standing(grouped: Sequence[tuple[Repertoire, Group]]) -> Standing:
    """For each side's plies on the branches, the group where it goes on behind them."""
    found: dict[tuple[bool, str], int] = {}
    for repertoire, group in grouped:
        for row in group.rows:
            if not row.branch.borrowed:
                goes_on = group.number if row.group is None else row.group
                found.update(((repertoire.white, ply.anchor), goes_on) for ply in row.branch.moves)
    for repertoire, group in grouped:
        for ply in group.stem:
            found.setdefault((repertoire.white, ply.anchor), group.number)
    return found


@dataclass(frozen=True, slots=True)
class _Setter:
    paper: Paper
    page_of: Mapping[str, int]
    lettered: bool

    def strips(self, grouped: Sequence[tuple[Repertoire, Group]]) -> Iterator[ShownStrip]:
        words = self.paper.medium.words
        two_sided = len({repertoire.white for repertoire, _ in grouped}) > 1
        told: set[bool] = set()
        standing = _standing(grouped)
        for repertoire, group in grouped:
            if two_sided and repertoire.white not in told:
                told.add(repertoire.white)
                title = words.repertoire_white if repertoire.white else words.repertoire_black
                yield ShownStrip("part", 0, Markup(""), Markup.escape(title), "", "", keep=True)
            yield self._title(repertoire, group)
            for index, row in enumerate(group.rows):
                last = len(group.rows) - 1
                keep = index < last and (index < _HOLD - 1 or index > last - _HOLD)
                yield self._row(row, keep, standing)

    def keys(self, grouped: Sequence[tuple[Repertoire, Group]]) -> Iterator[KeyPosition]:
        """Where the most branches part, then what the diagrams show, each position once."""
        seen: set[PositionKey] = set()
        for repertoire, group in sorted(grouped, key=lambda one: (-one[1].size, one[1].number)):
            ply = group.stem[-1] if group.stem else None
            position = ply.after if ply else repertoire.start
            early = repertoire.from_the_beginning and len(group.stem) < _TELLING
            if position.key not in seen and not early:
                seen.add(position.key)
                yield KeyPosition(ply, position, not repertoire.white,
                                  self._own_letter(group), "")  # fmt: skip
        for repertoire, _ in grouped:
            for branch in repertoire.branches:
                diagram = branch.diagram
                if diagram is not None and diagram.position.key not in seen:
                    seen.add(diagram.position.key)
                    yield KeyPosition(diagram.ply, diagram.position, not repertoire.white, "",
                                      self._reference(diagram))  # fmt: skip

    def _own_letter(self, group: Group) -> str:
        return group_letter(group.number) if self.lettered else ""

    def _title(self, repertoire: Repertoire, group: Group) -> ShownStrip:
        diagram = group.last.diagram if group.last else repertoire.diagram
        return ShownStrip(
            "group", 0, Markup(""), self._stem(repertoire, group.stem),
            self._own_letter(group), self._reference(diagram), keep=True,
        )  # fmt: skip

    def _stem(self, repertoire: Repertoire, stem: Sequence[Ply]) -> Markup:
        """The moves that lead to a group, behind the name of a start that isn't the game's."""
        start = moves.position_words(None, repertoire.start, self.paper.medium)
        if not stem:
            return start
        shown = stem if len(stem) <= _MOST_STEM else stem[-_SHORT_STEM:]
        row = self._moves((ply, ply.by_white or index == 0, False)
                          for index, ply in enumerate(shown))  # fmt: skip
        if len(shown) < len(stem):
            return Markup("\u2026 ") + row
        if repertoire.from_the_beginning:
            return row
        return Markup(self.paper.medium.words.labelled).format(label=start, text=row)

    def _row(self, row: GroupRow, keep: bool, standing: Standing) -> ShownStrip:
        """Our moves are bold."""
        branch = row.branch
        group = row.group
        if branch.borrowed:
            group = standing.get((branch.answer.by_white, branch.moves[-1].anchor))
        reply = ((branch.reply, True, False),) if branch.reply else ()
        run = self._moves(
            (ply, ply.by_white or ply is branch.answer, ply.by_white == branch.answer.by_white)
            for ply in (branch.answer, *branch.run)
        )
        return ShownStrip(
            "row", row.indent,
            lead=self._moves(reply),
            words=run + (Markup(" \u2026") if branch.cut else ""),
            letter=group_letter(group) if self.lettered and group is not None else "",
            reference=self._reference(branch.diagram),
            keep=keep,
        )  # fmt: skip

    def _moves(self, plies: Iterable[tuple[Ply, bool, bool]]) -> Markup:
        """Plies, each with whether it is numbered and whether it is bold. One element holds all
        of them: a page of moves that are one each takes minutes to lay out."""
        texts = ((move_text(ply, self.paper.medium, numbered), bold)
                 for ply, numbered, bold in plies)  # fmt: skip
        return Markup('<span class="move">{}</span>').format(
            Markup(" ").join(Markup("<b>{}</b>").format(text) if bold else text
                             for text, bold in texts)
        )  # fmt: skip

    def _reference(self, diagram: Diagram | None) -> str:
        """`D 7, p. 12`, as far as that is known; in every language the word begins with a D."""
        if diagram is None:
            return ""
        words = self.paper.medium.words
        text = f"{words.diagram[0]}\u00a0{diagram.number}"
        page = self.page_of.get(diagram.anchor)
        return text if page is None else f"{text}, {words.page_short.format(page=page)}"
