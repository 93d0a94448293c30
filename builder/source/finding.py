"""Places of plain Markdown, whose reader tells no offsets: each block is looked for in the text."""

from __future__ import annotations

from builder.place import Place, Source
from builder.source.markdown import Token
from builder.source.scan import Scan


class Finder:
    """Finds the blocks of one scan, which come in order: each is looked for behind the last."""

    def __init__(self, source: Source, scan: Scan, start: int) -> None:
        self.source = source
        self.scan = scan
        self.cursor = start
        self.origin: int | None = None

    def meet(self, origin: int) -> None:
        """The mark in front of a link or a picture, by its number in the scan."""
        self.origin = self.scan.places[origin]

    def bracket(self) -> Place:
        """The place of the bracket just met."""
        at = self.cursor if self.origin is None else self.origin
        closing = self.source.text.find("]", at)
        return self.source.place(at, closing + 1 if closing >= 0 else at + 1)

    def block(self, children: list[Token]) -> Place:
        """The line of a block, by its first words or its first mark; it becomes the last one."""
        for token in children:
            if token["type"] == "piece":
                return self._move_to(self.scan.pieces[int(token["raw"])].start)
            if token["type"] == "origin":
                return self._move_to(self.scan.places[int(token["raw"])])
            raw = token.get("raw", "").strip()
            if token["type"] == "text" and raw:
                return self._move_to(self._find(raw.split("\n")[0]))
            if "children" in token:
                return self.block(token["children"])
        return self.source.place(self.cursor)

    def words(self, text: str) -> Place:
        """Where `text` stands next, its first line; where the last block stood when it can't be
        found."""
        at = self._find(text)
        return self.source.place(at, at + len(text.split("\n")[0]))

    def _move_to(self, at: int) -> Place:
        self.cursor = max(self.cursor, at)
        line_end = self.source.text.find("\n", at)
        return self.source.place(at, line_end if line_end >= 0 else len(self.source.text))

    def _find(self, text: str) -> int:
        at = self.source.text.find(text, self.cursor)
        return at if at >= 0 else self.cursor
