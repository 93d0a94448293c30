"""A file's bytes to lines of text, one after another and in bounded memory.

PGN files come in every encoding. The standard's is ISO 8859-1 (section 4.1); UTF-8 is what most
programs write today; files that were put together from several hold both. So each line is read
by itself: as UTF-8 if it is that, else as Windows-1252, which is ISO 8859-1 with typographic signs
in place of control codes (common practice, no source). A file in UTF-16 is made UTF-8 first.
"""

from __future__ import annotations

import codecs
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

from builder.pgn.tell import Teller
from builder.place import Place, file_place

MOST_LINE = 1 << 20  # bytes read at once; a longer line comes in pieces
_HEAD = 4096  # bytes that tell whether a file is text
_BLOCK = 1 << 16  # bytes of UTF-16 read at once


class Utf16:
    """Makes UTF-8 of a file in UTF-16, block by block; `name` is the codec's."""

    def __init__(self, name: str) -> None:
        self._decoder = codecs.getincrementaldecoder(name)("replace")

    def __call__(self, data: bytes, final: bool = False) -> bytes:
        return self._decoder.decode(data, final).encode("utf-8", "replace").removeprefix(b"\xef\xbb\xbf")

    @staticmethod
    def of(head: bytes) -> Utf16 | None:
        """By its mark at the beginning (Unicode 15, 23.8), or, where that is missing, by letters of
        ASCII with a zero beside each. None where the file is none."""
        if head.startswith((b"\xff\xfe", b"\xfe\xff")):
            return Utf16("utf-16")
        start = head[:8]
        for name, zeros, letters in (("utf-16-le", start[1::2], start[::2]),
                                     ("utf-16-be", start[::2], start[1::2])):  # fmt: skip
            if len(start) > 7 and not zeros.strip(b"\0") and letters.isascii() and b"\0" not in letters:
                return Utf16(name)
        return None


@dataclass(frozen=True, slots=True)
class Line:
    """A line, or a piece of one. `column` is that of its first letter; `ends` tells whether the
    line ends with it."""

    text: str
    number: int
    column: int
    ends: bool


@dataclass(slots=True)
class LineReader:
    """Reads the lines of `stream`; `read` counts the bytes behind."""

    stream: BinaryIO
    tell: Teller
    read: int = 0
    _utf16: Utf16 | None = None
    _foreign: int = 0  # the first line that is not UTF-8

    def lines(self) -> Iterator[Line]:
        """Every line in order; none, and an error, where the file is no text."""
        head = self.stream.read(_HEAD)
        self._utf16 = Utf16.of(head)
        if self._utf16 is not None:
            head = self._utf16(head)
        if not self._is_text(head):
            return
        number, column = 1, 1
        for data, ends in self._pieces(head.removeprefix(b"\xef\xbb\xbf")):
            text = self._decoded(data, number)
            if "\0" in text:
                at = column + text.index("\0")
                place = Place(self.tell.file, number, at, at + 1)
                self.tell.leave("bytes that are no text are left out", lambda: place)
                text = text.replace("\0", " ")
            text = text.replace("\x1a", " ")  # an old sign for the end of a file
            yield Line(text, number, column, ends)
            number, column = (number + 1, 1) if ends else (number, column + len(text))
        if self._foreign:
            self.tell.leave("lines that are not UTF-8 are read as Windows-1252 (Latin-1)",
                            lambda: Place(self.tell.file, self._foreign, 1, 2))  # fmt: skip

    def _is_text(self, head: bytes) -> bool:
        if b"\0" in head:
            self.tell.error("pgn-binary", file_place(self.tell.file), "the file is not text",
                            "unpack it if it is an archive; PGN is plain text")  # fmt: skip
            return False
        return True

    def _next(self) -> bytes:
        """The next line, or a part of the text; empty at its end."""
        if self._utf16 is None:
            return self.stream.readline(MOST_LINE)
        data = self.stream.read(_BLOCK)
        return self._utf16(data, final=not data)

    def _pieces(self, head: bytes) -> Iterator[tuple[bytes, bool]]:
        """Lines in bytes, without their ends; whether each is at its line's end.

        Lines end with LF, CR LF or CR alone.
        """
        rest = head
        while (data := self._next()) or rest:
            last = not data
            data, rest = rest + data, b""
            self.read += len(data)
            if not last and not data.endswith(b"\n"):
                data, rest = _cut(data)
                self.read -= len(rest)
            parts = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
            yield from ((part, True) for part in parts[:-1])
            if parts[-1]:
                yield parts[-1], last

    def _decoded(self, data: bytes, number: int) -> str:
        try:
            return data.decode("utf-8")
        except UnicodeDecodeError:
            self._foreign = self._foreign or number
            return "".join(_WINDOWS[byte] if 0x80 <= byte < 0xA0 else chr(byte) for byte in data)


def _cut(data: bytes) -> tuple[bytes, bytes]:
    """A piece that ends within a line, without what may be half a letter or half a line's end."""
    at = len(data)
    while at > max(0, len(data) - 3) and 0x80 <= data[at - 1] < 0xC0:
        at -= 1
    if at and (data[at - 1] >= 0xC0 or data[at - 1] == 0x0D):
        at -= 1
    return data[:at], data[at:]


# What Windows-1252 has in place of the control codes 80 to 9F; five of them are not used.
_WINDOWS = {
    byte: bytes([byte]).decode("cp1252", "replace") for byte in range(0x80, 0xA0)
}  # fmt: skip
