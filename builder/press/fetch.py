"""What the PDF may read: the theme's own files, our fonts, the booklet's checked pictures.

In: addresses that WeasyPrint asks for. Out: the bytes of a file that is on the list, or a
refusal. No other file is opened and no network is reached, whatever a chapter, a picture or
a theme asks for.
"""

from __future__ import annotations

import mimetypes
import os
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote, unquote_to_bytes, urlsplit

from builder.faults import why
from builder.source.files import path_inside

# The addresses that stand for our own files. RFC 2606 keeps `.invalid` free of real hosts, so
# that even a fetcher gone wrong would find nobody there.
ORIGIN = "https://booklet.invalid/"
THEME = "theme"
PICTURES = "pictures"
LARGEST = 64 * 1024 * 1024  # bytes; a picture or font beyond this is a mistake or an attack


class Refused(Exception):
    """An address that the PDF must not read, or a file that can't be read; says why."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """Files under some folders, the first folder that holds a file winning.

    `only` lists the files that may be read, relative to the folder; None allows all.
    """

    folders: tuple[Path, ...]
    only: Collection[str] | None = None

    def find(self, name: str) -> Path:
        """The file called `name`. Raises Refused when it is not on the shelf."""
        if self.only is not None and name not in self.only:
            raise Refused("it is not one of the booklet's pictures")
        for folder in self.folders:
            file = path_inside(folder, name)
            if file is None:
                raise Refused("it leads out of its folder")
            if os.path.isfile(file):
                return file
        raise Refused("there is no such file")


def read(address: str, shelves: Mapping[str, Shelf]) -> tuple[bytes, str]:
    """The bytes at `address` and their media type. Raises Refused.

    `shelves` are named by the first part of the address's path. A `data:` address carries its
    own bytes and is read as it stands.
    """
    if address.startswith("data:"):
        return _read_data(address)
    if not address.startswith(ORIGIN):
        raise Refused("only the booklet's own files may be used")
    shelf_name, _, name = unquote(urlsplit(address).path.lstrip("/")).partition("/")
    shelf = shelves.get(shelf_name)
    if shelf is None or not name or "\0" in name:
        raise Refused("there is no such file")
    file = shelf.find(name)
    try:
        if file.stat().st_size > LARGEST:
            raise Refused("it is too large")
        body = file.read_bytes()
    except OSError as error:
        raise Refused(why(error)) from error
    return body, mimetypes.guess_type(file.name)[0] or "application/octet-stream"


def _read_data(address: str) -> tuple[bytes, str]:
    """RFC 2397: `data:[type][;base64],bytes`."""
    head, comma, body = address[len("data:") :].partition(",")
    if not comma:
        raise Refused("it is not a data address")
    if head.endswith(";base64"):
        import base64
        import binascii

        try:
            plain = "".join(unquote(body).split())
            return base64.b64decode(plain, validate=True), head[: -len(";base64")]
        except (binascii.Error, ValueError) as error:
            raise Refused("it is not a data address") from error
    return unquote_to_bytes(body), head.split(";")[0] or "text/plain"
