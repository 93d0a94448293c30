"""The heads of our blocks: a block's name, and the position where it starts."""

from __future__ import annotations

import re
from dataclasses import dataclass

from builder.faults import Faults
from builder.place import Source
from builder.source.fen import read_fen
from builder.source.movetext import NAME
from builder.source.syntax import Start

_HEADER = re.compile(
    rf'\s*(?P<id>(?!from\b){NAME})?\s*(?:(?P<from>from)\b\s*(?:@(?P<name>{NAME})|"(?P<fen>[^"]*)")?)?'
)
_POSITION = re.compile(rf'\s*(?:@(?P<name>{NAME})|"(?P<fen>[^"]*)")')


@dataclass(frozen=True, slots=True)
class Header:
    """A block's name, its start, and the offset behind them."""

    given_id: str | None
    start: Start
    end: int


@dataclass(frozen=True, slots=True)
class HeaderReader:
    """Reads the heads of one chapter's blocks."""

    source: Source
    faults: Faults

    def header(self, start: int, end: int) -> Header:
        """`ID from @NAME` or `ID from "FEN"` in `source.text[start:end]`, each part optional."""
        match = _HEADER.match(self.source.text, start, end)
        assert match is not None
        found: Start | None = Start()
        if match.group("from"):
            found = self._start(match)
            if match.group("name") is None and match.group("fen") is None:
                self.faults.error("line-start", self.source.place(*match.span("from")),
                                  "from needs a position",
                                  'write from @NAME or from "FEN"')  # fmt: skip
        at = match.end()
        while at < end and self.source.text[at].isspace():
            at += 1
        return Header(match.group("id"), found or Start(broken=True), at)

    def position(self, start: int, end: int) -> Header | None:
        """`@NAME` or `"FEN"`; None where neither stands there. A FEN that is none is told, and
        leaves a broken start."""
        match = _POSITION.match(self.source.text, start, end)
        if match is None:
            return None
        return Header(None, self._start(match) or Start(broken=True), match.end())

    def stray(self, start: int, end: int, hint: str) -> None:
        """Tells that `source.text[start:end]` has no meaning in a head."""
        text = self.source.text[start:end].strip()
        self.faults.error("block-header", self.source.place(start, end),
                          f"{text} has no meaning here", hint)  # fmt: skip

    def _start(self, match: re.Match[str]) -> Start | None:
        """Where to start, from a match with the groups `name` and `fen`."""
        if match.group("name") is not None:
            place = self.source.place(match.start("name") - 1, match.end("name"))
            return Start(name=match.group("name"), place=place)
        if match.group("fen") is None:
            return None  # Told by the caller, who knows what was to stand here.
        place = self.source.place(*match.span("fen"))
        position = read_fen(match.group("fen"), place, self.faults)
        return Start(position=position, place=place) if position else None
