"""A PDF file being written, object by object (ISO 32000-1, 7.5).

Dictionaries go into object streams, the table of objects is a stream: short files, and only one
object stream's worth of them is held in memory.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from hashlib import sha256
from typing import BinaryIO

_IN_A_STREAM = 2000  # objects


def pack(data: bytes) -> bytes:
    """A stream's data as /FlateDecode reads them. At the highest level the course's PDF is a hundredth
    smaller, and putting its kept pages together takes 0.80 s and not 0.70 (measured)."""
    return zlib.compress(data, 7)


class PdfFile:
    """Numbers are given out by `number`; every one must be written once."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._digest = sha256()
        self._at = 0
        self._places: list[tuple[int, int, int]] = [(0, 0, 65535)]  # rows of the table
        self._waiting: list[tuple[int, bytes]] = []
        # The second line's bytes tell that the file is not text (7.5.2).
        self._write(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")

    def number(self) -> int:
        """A number for an object that is to be written."""
        self._places.append((0, 0, 0))
        return len(self._places) - 1

    def write(self, number: int, text: bytes) -> None:
        """An object that is no stream."""
        self._waiting.append((number, text))
        if len(self._waiting) == _IN_A_STREAM:
            self._flush()

    def add(self, text: bytes) -> int:
        """Writes an object that is no stream; its number."""
        number = self.number()
        self.write(number, text)
        return number

    def write_stream(self, number: int, head: bytes, data: bytes) -> None:
        """A stream as it is; `head` is its dictionary without the length.

        Two characters end its line (ISO 32000-1, 7.3.8.1): before one alone, a last byte that happens to
        be the other looks like a part of the line's end, and the length like a wrong one.
        """
        self._places[number] = (1, self._at, 0)
        self._write(b"%d 0 obj\n%s/Length %d>>stream\n" % (number, head.removesuffix(b">>"), len(data)))
        self._write(data)
        self._write(b"\r\nendstream\nendobj\n")

    def pack_stream(self, number: int, head: bytes, data: bytes) -> None:
        """A stream, which is compressed."""
        packed = head.removesuffix(b">>") + b"/Filter/FlateDecode>>"
        self.write_stream(number, packed, pack(data))

    def close(self, root: int, info: int) -> None:
        """Writes what is still waiting, and the table. The file's identity (14.4) is made from
        what is in it."""
        self._flush()
        identity = self._digest.hexdigest()[:32].encode()
        number, start = self.number(), self._at
        self._places[number] = (1, start, 0)
        widths = tuple((max(column).bit_length() + 7) // 8 for column in zip(*self._places, strict=True))
        head = (
            b"<</Type/XRef/Size %d/W[%d %d %d]/Root %d 0 R/Info %d 0 R/ID[<%s><%s>]>>"
            % (len(self._places), *widths, root, info, identity, identity)
        )  # fmt: skip
        self.pack_stream(number, head, _table(self._places, widths))
        self._write(b"startxref\n%d\n%%%%EOF\n" % start)

    def _flush(self) -> None:
        """Writes the waiting objects as an object stream (7.5.7)."""
        if not self._waiting:
            return
        number, index, offset = self.number(), [], 0
        for place, (inner, text) in enumerate(self._waiting):
            index.append(b"%d %d" % (inner, offset))
            offset += len(text) + 1
            self._places[inner] = (2, number, place)
        first = b" ".join(index) + b"\n"
        head = b"<</Type/ObjStm/N %d/First %d>>" % (len(index), len(first))
        body = b"\n".join(text for _, text in self._waiting)
        self._waiting = []
        self.pack_stream(number, head, first + body)

    def _write(self, data: bytes) -> None:
        self._file.write(data)
        self._digest.update(data)
        self._at += len(data)


def _table(places: Sequence[tuple[int, int, int]], widths: Sequence[int]) -> bytes:
    return b"".join(
        value.to_bytes(width, "big")
        for row in places
        for value, width in zip(row, widths, strict=True)
    )
