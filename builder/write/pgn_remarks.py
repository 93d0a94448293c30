"""What stands at the moves in a PGN file: comments, captions, prose, and a booklet's marks.

In: a chapter's lines and blocks. Out: words and marks by the plies that they stand before or
behind. `builder.write.pgn` makes comments of them; `builder.intake` reads the marks back.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from builder.book.tree import Tree
from builder.model import (
    Block, Booklet, Comment, Diagram, Line, NamedPosition, Paragraph, Ply, VariationStart,
)  # fmt: skip
from builder.write.plain import blocks_text, plain_text

# The tag that tells a booklet's own games, and the one of games from files that it cites; what stands
# in the comments of its own as a mark.
BOOKLET_TAG = "Booklet"
CITED_TAG = "CitedIn"
MARK = re.compile(r"@\w[\w-]*(?!\S)|Diagram \d+(?!\S)")
LIKE_A_MARK = re.compile(rf"(?:- )*(?:{MARK.pattern})")


@dataclass(frozen=True, slots=True)
class PgnForm:
    """What a file of games holds.

    `chapter` is a slug, None for all chapters. `marks` are positions' names and diagrams'
    numbers. `passes` has them written as `--`, else as words. `cites` has games from files tell the
    booklet, too.
    """

    chapter: str | None = None
    marks: bool = True
    passes: bool = False
    cites: bool = False


@dataclass(slots=True)
class Remarks:
    """Words and marks before and behind plies, by the plies' anchors."""

    names: Mapping[str, NamedPosition]
    form: PgnForm
    before: dict[str, list[str]] = field(default_factory=dict)
    behind: dict[str, list[str]] = field(default_factory=dict)
    marks_before: dict[str, list[str]] = field(default_factory=dict)
    marks_behind: dict[str, list[str]] = field(default_factory=dict)

    @staticmethod
    def of(lines: Iterable[Line], booklet: Booklet, form: PgnForm) -> Remarks:
        remarks = Remarks(booklet.names, form)
        for line in lines:
            remarks._read(line)
        return remarks

    def _read(self, line: Line) -> None:
        """Words at the beginning of a line or a variation go before its first move."""
        words: list[str] = []
        marks: list[str] = []
        begins = True
        for item in line.items:
            if isinstance(item, VariationStart):
                begins = True
            elif isinstance(item, Ply):
                self.before.setdefault(item.anchor, []).extend(words)
                self.marks_before.setdefault(item.anchor, []).extend(marks)
                words, marks, begins = [], [], False
                if item.name and self.form.marks:
                    self.marks_behind.setdefault(item.anchor, []).append(f"@{item.name}")
            elif isinstance(item, Comment):
                text = plain_text(item.inlines, self.names)
                self._put(text, item.after, begins, words, self.behind)
            elif isinstance(item, Diagram):
                caption = plain_text(item.caption, self.names)
                mark = f"Diagram {item.number}" if self.form.marks else ""
                if caption:
                    text = f"{mark}: {caption}" if mark else caption
                    self._put(text, item.ply, begins, words, self.behind)
                else:
                    self._put(mark, item.ply, begins, marks, self.marks_behind)

    @staticmethod
    def _put(text: str, ply: Ply | None, begins: bool, waiting: list[str],
             behind: dict[str, list[str]]) -> None:  # fmt: skip
        if text and begins:
            waiting.append(text)
        elif text and ply is not None:
            behind.setdefault(ply.anchor, []).append(text)

    def read_prose(self, blocks: Iterable[Block], trees: Iterable[Tree]) -> None:
        """The paragraphs right in front of a line go before its first move that is new, or where
        none is, before its first."""
        new = {node.ply.anchor for tree in trees for node, _ in tree.walk()}
        waiting: list[Block] = []
        for block in blocks:
            if isinstance(block, Paragraph):
                waiting.append(block)
                continue
            if isinstance(block, Line) and waiting:
                text = blocks_text(waiting, self.names)
                plies = block.main_plies()
                ply = next((ply for ply in plies if ply.anchor in new), next(iter(plies), None))
                if text and ply is not None:
                    self.before.setdefault(ply.anchor, []).insert(0, text)
            waiting = []
