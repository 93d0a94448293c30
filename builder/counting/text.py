"""The text of PGN files, in bytes: chunks of whole games, games, and the words of movetext.

Sections are those of the PGN standard (revision of 1994-03-12). A file may be of any size: no more
than a chunk and a game of it is in memory. Nothing that is read here lies outside ASCII, so that the
encoding doesn't matter, as long as ASCII is part of it.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import BinaryIO

from builder.pgn.lines import Utf16

CHUNK = 2 << 20  # bytes read at once
MOST_WORDS = 50_000
MOST_GAME = 16 << 20  # bytes of a game; the rest of a longer one is passed over

# A game begins with tags (8.1) behind an empty line, or with an Event tag wherever that stands, also
# in a comment that was never closed.
_NEXT = re.compile(rb'\n[ \t]*\n(?=\[\w{1,255}\s+")|\n(?=\[Event\s+")')
_TAGS = re.compile(rb'(?:\s*(?:%[^\n]*\n\s*)*\[\s*\w+\s+"[^\n]*?"\s*\])*\s*')
# Behind a result and an empty line comes a game without tags (8.1: they may be lacking).
_BARE = re.compile(rb"(?<![^\s})])(?:1-0|0-1|1/2-1/2|\*)[ \t]*\n[ \t]*\n\s*(?=\S)")
_MOVE_WORD = rb"[KQRBN]?[a-h]?[1-8]?[-x]?[a-h][1-8](?:=?[QRBNqrbn])?|O-O(?:-O)?|0-0(?:-0)?|--|Z0"
_SAN = re.compile(_MOVE_WORD)
_PLAIN = re.compile(rb"[^{;(%]*\Z")
_TOKEN = re.compile(
    rb"(" + _MOVE_WORD + rb")"
    rb"|(\{[^}]*\}?|;[^\n]*|(?m:^)%[^\n]*)"
    rb"|(\()|(\))"
)
_MOVE, _REMARK, _OPEN, _CLOSE = 1, 2, 3, 4
RESULTS = (b"1-0", b"1/2-1/2", b"0-1")
_ENDS = re.compile(rb"(?<![^\s})])(?:1-0|0-1|1/2-1/2|\*)\s*\Z")
_LAST_RESULT = re.compile(rb"(1-0|0-1|1/2-1/2)\s*\Z")
_DATE = re.compile(rb"\d{4}(?:\.(?:0[1-9]|1[0-2])(?:\.(?:0[1-9]|[12]\d|3[01]))?)?")  # 8.1.1.3


@dataclass(frozen=True, slots=True)
class Game:
    """A game as it stands in its chunk: its tags, and from where to where its movetext goes."""

    text: bytes
    tags: bytes
    start: int
    end: int

    def tag(self, name: bytes) -> bytes:
        """A tag's value, empty where there is none."""
        at = self.tags.find(b"[" + name + b" ")
        if at < 0:
            return b""
        start = self.tags.find(b'"', at) + 1
        return self.tags[start : self.tags.find(b'"', start)]

    def result(self) -> int:
        """The index of its result among `RESULTS`, by its tag or else its movetext; or their number."""
        value = self.tag(b"Result")
        if value not in RESULTS:
            last = _LAST_RESULT.search(self.text, max(self.start, self.end - 32), self.end)
            value = last.group(1) if last else b""
        return RESULTS.index(value) if value in RESULTS else len(RESULTS)

    def date(self) -> bytes:
        """Its date as far as it is known: `1992.11.??` is 1992.11."""
        found = _DATE.match(self.tag(b"Date"))
        return found.group() if found else b""

    def moves(self, most: int, words: Words) -> list[bytes]:
        """The first moves of its main line as they are written, without check signs."""
        # Nearly every game has neither remarks nor variations among its first moves.
        end = min(self.end, self.start + most * 12)
        if _PLAIN.match(self.text, self.start, end):
            parts = self.text[self.start : end].split()
            if end < self.end and parts:
                parts.pop()  # It may be cut.
            found = [word for part in parts if (word := words[part])]
            if (len(found) >= most or end == self.end) and _SEVERAL not in found:
                return found[:most]
        return [word.group() for word in islice(self._words(), most)]

    def offsets(self) -> Iterator[int]:
        """Where they stand."""
        return (word.start() for word in self._words())

    def _words(self) -> Iterator[re.Match[bytes]]:
        depth = 0
        for match in _TOKEN.finditer(self.text, self.start, self.end):
            kind = match.lastindex
            if kind == _MOVE:
                if not depth:
                    yield match
            elif kind == _OPEN:
                depth += 1
            elif kind == _CLOSE:
                depth -= depth > 0


class Words(dict[bytes, bytes]):
    """What is written between spaces as a move: `1.e4` is e4, `Nf3+` Nf3; empty where it is none."""

    def __missing__(self, part: bytes) -> bytes:
        found = _SAN.findall(part)
        word = found[0] if len(found) == 1 else _SEVERAL if found else b""
        if len(self) < MOST_WORDS and len(part) < 20:
            self[part] = word
        return word


_SEVERAL = b"?"  # there is more than one, as in e4e5


def games(text: bytes) -> Iterator[Game]:
    """The games of a chunk."""
    start = 0
    for following in _NEXT.finditer(text):
        yield from _games_between(text, start, following.end())
        start = following.end()
    yield from _games_between(text, start, len(text))


def _games_between(text: bytes, start: int, end: int) -> Iterator[Game]:
    """A game with tags, and those without that may follow it."""
    found = _TAGS.match(text, start, end)
    assert found is not None  # it may be empty
    tags, at = found.group(), found.end()
    if 0 <= text.find(b"\n\n", at, end) < end - 2:
        for bare in _BARE.finditer(text, at, end):
            yield Game(text, tags, at, bare.end())
            tags, at = b"", bare.end()
    last = Game(text, tags, at, end)
    if tags.strip() or (at < end and (last.moves(1, Words()) or _ENDS.search(text, at, end))):
        yield last


# --- chunks ---------------------------------------------------------------------------------------


class Chunks:
    """A file's text in pieces that end where a game does.

    `bytes` have been read so far, and `hash` is theirs; `cut` are the lines of games longer than
    `MOST_GAME`, which count as far as that.
    """

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self.bytes = 0
        self.hash = hashlib.sha256()
        self.cut: list[int] = []

    def __iter__(self) -> Iterator[tuple[int, bytes]]:
        """Each piece with the number of its first line."""
        rest, line, skipping = b"", 1, False
        for block in self._blocks():
            rest += block
            if skipping:
                following = _NEXT.search(rest)
                end = following.end() if following else max(0, len(rest) - _OVERLAP)
                line, rest = line + rest.count(b"\n", 0, end), rest[end:]
                skipping = following is None
            end = 0 if skipping else _last_start(rest)
            if not end and not skipping and len(rest) > MOST_GAME:
                end, skipping = len(rest), True
                self.cut.append(line)
            if end:
                yield line, rest[:end]
                line, rest = line + rest.count(b"\n", 0, end), rest[end:]
        if rest and not skipping:
            yield line, rest

    def _blocks(self) -> Iterator[bytes]:
        """The file's bytes with line ends made LF; they may be LF, CR LF or CR."""
        held, first, utf16 = b"", True, None
        while data := self._file.read(CHUNK):
            self.bytes += len(data)
            self.hash.update(data)
            if first:
                first, utf16 = False, Utf16.of(data)
            if utf16 is not None:
                data = utf16(data)
            data, held = held + data, b""
            if data.endswith(b"\r"):
                data, held = data[:-1], b"\r"  # half of a line's end, perhaps
            yield data.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r" in data else data
        if held:
            yield b"\n"


_OVERLAP = 300  # bytes that the beginning of a game's first tag takes at most


def _last_start(text: bytes) -> int:
    """Where the last game begins of which that can be told; 0 where there is none behind another."""
    for before, behind in _BORDERS:
        at = text.rfind(before + behind)
        while at > 0 and behind == b"[" and not _NEXT.match(text, at):
            at = text.rfind(before + behind, 0, at)
        if at > 0:
            return at + len(before)
    return 0


# What stands in front of a game's beginning, and what it begins with, where anything is sure.
_BORDERS = ((b"\n", b"[Event "), (b"\n\n", b"["), (b"*\n\n", b""), (b"1-0\n\n", b""),
            (b"0-1\n\n", b""), (b"1/2-1/2\n\n", b""))  # fmt: skip
