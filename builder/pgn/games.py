"""Lines of text to games: tag pairs, and a stretch of movetext that is not yet read.

Sections are those of the PGN standard (revision of 1994-03-12). A game ends where the next one's
tags begin, or at an empty line behind its result. Escaped lines (6) are passed over. Of an
overlong game the rest is passed over too, so that memory stays bounded.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from builder.pgn.lines import Line
from builder.pgn.tell import Stretch, Teller, whole_line
from builder.pgn.words import clean
from builder.place import Place

MOST_TEXT = 8 << 20  # letters of one game
MOST_TAGS = 100
MOST_VALUE = 1000  # letters of a tag; 255 by the standard (7)

_PAIR = re.compile(r'\[\s*(\w{1,255})\s*"((?:[^"\\]|\\.)*)"\s*\]')  # 8.1
_NAME = re.compile(r"\[\s*(\w{1,255})[\s:=]*")
_EVENT = re.compile(r'\s*\[\s*Event\s+"')
_ENDS = re.compile(r"(?:^|[\s})])(?:1-0|0-1|1/2-1/2|\*)\s*$")
_BRACE_OR_REST = re.compile(r"[{;]")


@dataclass(frozen=True, slots=True)
class Tag:
    name: str
    value: str
    place: Place


@dataclass(frozen=True, slots=True)
class RawGame:
    """A game as it stands in the file. `number` counts from 1, tags are as they come."""

    number: int
    tags: tuple[Tag, ...]
    movetext: Stretch
    place: Place

    def tag(self, name: str) -> str:
        """The tag's value, cleaned; empty where it is missing or not known (8.1.1: `?`)."""
        value = next((tag.value for tag in self.tags if tag.name == name), "")
        return "" if value.strip("?.- ") == "" else value


def read_games(lines: Iterable[Line], tell: Teller) -> Iterator[RawGame]:
    """The games of a file in order; faults in their tags are told."""
    splitter = _Splitter(tell)
    for line in lines:
        yield from splitter.take(line)
    yield from splitter.close()


@dataclass(slots=True)
class _Splitter:
    """The game that is being gathered, and what is known of the text round it."""

    tell: Teller
    number: int = 0
    tags: list[Tag] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)
    first: int = 0  # the line of the game's first tag or move
    text_first: int = 0  # the line of parts[0]
    size: int = 0
    has_moves: bool = False
    in_comment: bool = False
    blank: bool = True  # the line before was empty
    ended: bool = False  # the last line with anything in it ended with a result

    def take(self, line: Line) -> Iterator[RawGame]:
        if line.column > 1:
            self._text(line)
            return
        text = line.text
        if self.in_comment and self.blank and _EVENT.match(text):
            self.in_comment = False  # It was never closed; the movetext's reader tells it.
            yield from self.close()
        if self.in_comment:
            self._text(line)
        elif text.startswith("%"):
            self._skip(line)
            return
        elif text.lstrip().startswith("["):
            if self.has_moves or (_EVENT.match(text) and any(t.name == "Event" for t in self.tags)):
                yield from self.close()
            self._tags(line)
        elif not text.strip():
            if self.ended:
                yield from self.close()
            self._skip(line)
        else:
            self._text(line)
        self.blank = not text.strip()

    def close(self) -> Iterator[RawGame]:
        """The game gathered so far, if there is any."""
        if self.tags or self.has_moves:
            self.number += 1
            text = Stretch(self.tell.file, "".join(self.parts), self.text_first or self.first)
            place = Place(self.tell.file, self.first, 1, 2)
            yield RawGame(self.number, tuple(self.tags), text, place)
        self.tags, self.parts = [], []
        self.first = self.text_first = self.size = 0
        self.has_moves = self.in_comment = self.ended = False

    # --- movetext ----------------------------------------------------------------------------

    def _text(self, line: Line) -> None:
        self.first = self.first or line.number
        if not self.has_moves:
            self.has_moves = True
            self.parts, self.text_first = [], line.number
        self._follow_comment(line.text)
        if line.ends:
            self.ended = not self.in_comment and _ENDS.search(line.text) is not None
        self._add(line.text + "\n" * line.ends, line)

    def _skip(self, line: Line) -> None:
        """A line with nothing in it, which keeps its number."""
        if self.has_moves:
            self._add("\n" * line.ends, line)

    def _add(self, text: str, line: Line) -> None:
        before, self.size = self.size, self.size + len(text)
        if self.size <= MOST_TEXT:
            self.parts.append(text)
        elif before <= MOST_TEXT:
            self.tell.error("pgn-large", Place(self.tell.file, line.number, line.column,
                                               line.column + 1),
                            f"this game is longer than {MOST_TEXT >> 20} MB; the rest of it is "
                            "left out", "split the file")  # fmt: skip

    def _follow_comment(self, text: str) -> None:
        """Whether the text ends inside a comment in braces."""
        at = 0
        while at < len(text):
            if self.in_comment:
                close = text.find("}", at)
                if close < 0:
                    return
                self.in_comment, at = False, close + 1
            else:
                found = _BRACE_OR_REST.search(text, at)
                if not found or found.group() == ";":
                    return
                self.in_comment, at = True, found.end()

    # --- tags --------------------------------------------------------------------------------

    def _tags(self, line: Line) -> None:
        """The tag pairs of a line; what stands behind them is movetext."""
        self.first = self.first or line.number
        self.ended = False
        at = 0
        while at < len(line.text):
            rest = line.text[at:]
            if not rest.strip():
                return
            if not rest.lstrip().startswith("["):
                self._text(Line(" " * at + rest, line.number, 1, line.ends))
                return
            at += len(rest) - len(rest.lstrip())
            pair = _PAIR.match(line.text, at)
            if pair is None:
                self._sloppy(line, at)
                return
            value = re.sub(r'\\([\\"])', r"\1", pair.group(2))  # 7
            self._tag(pair.group(1), value, line, pair.start(), pair.end())
            at = pair.end()

    def _sloppy(self, line: Line, at: int) -> None:
        """What stands in real files: quotation marks inside, or none, or no bracket at the end."""
        name = _NAME.match(line.text, at)
        place = Place(self.tell.file, line.number, at + 1, len(line.text) + 1)
        source = whole_line(self.tell.file, line.number, line.text)
        if name is None:
            self.tell.warning("pgn-tag", place, "this is no tag pair, and is left out",
                              'a tag pair is [Name "value"]', source)  # fmt: skip
            return
        self.tell.warning("pgn-tag", place, f"this tag pair is not well-formed; {name.group(1)} is "
                          "read as far as it goes", r'write [Name "value"], quotes inside as \"',
                          source)  # fmt: skip
        value = line.text[name.end() :].strip().removesuffix("]").strip()
        self._tag(name.group(1), value.removeprefix('"').removesuffix('"'), line, at,
                  len(line.text))  # fmt: skip

    def _tag(self, name: str, value: str, line: Line, start: int, end: int) -> None:
        place = Place(self.tell.file, line.number, start + 1, end + 1)
        if any(tag.name == name for tag in self.tags):
            self.tell.warning("pgn-tag", place, f"the tag {name} is given twice; the first counts",
                              source=whole_line(self.tell.file, line.number, line.text))  # fmt: skip
        elif len(self.tags) >= MOST_TAGS:
            self.tell.leave(f"tags beyond a game's first {MOST_TAGS} are left out", lambda: place)
        else:
            self.tags.append(Tag(name, clean(value[:MOST_VALUE]), place))
