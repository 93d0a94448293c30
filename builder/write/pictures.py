"""The pictures that a booklet's pages show.

In: a booklet and its folder. Out: the files to copy. Each is looked at: its first bytes must be
those of its kind, and an SVG must not bring a script along. (In a page an SVG's script would
not run, because it is shown by `<img>`; opened by itself it would.)
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from builder.faults import Faults
from builder.model import Booklet
from builder.render.shown import shown_pictures
from builder.source.files import path_inside

# How files of each kind begin. PNG: W3C PNG (third edition) 5.2; GIF89a specification, 17;
# JPEG: ITU-T T.81, B.1.1.3 (SOI); WebP: RFC 9649, 2.4 (RIFF, with WEBP at byte 8).
_BEGINNINGS = {
    ".png": (b"\x89PNG\r\n\x1a\n",),
    ".gif": (b"GIF87a", b"GIF89a"),
    ".jpg": (b"\xff\xd8\xff",),
    ".jpeg": (b"\xff\xd8\xff",),
    ".webp": (b"RIFF",),
}
# What makes an SVG more than a picture: scripts, event attributes, foreign content, addresses
# that run, and entities (which could hide any of these).
_ACTIVE = re.compile(
    rb"<\s*(?:[\w-]+:)?(?:script|foreignObject|iframe|handler)\b"
    rb"|[\s\"'/]on\w+\s*=|javascript\s*:|<!ENTITY|&#",
    re.IGNORECASE,
)


def pictures(booklet: Booklet, folder: Path, faults: Faults) -> Iterator[tuple[str, Path]]:
    """Names relative to the booklet and the files, sorted, each once."""
    shown = shown_pictures(booklet)
    for name in sorted(shown):
        file = path_inside(folder, name)
        if file is None or not os.path.isfile(file):
            faults.error("file-outside", shown[name].place,
                         f"{name} is outside the booklet's folder")  # fmt: skip
        elif problem := _problem(file):
            faults.error("picture-content", shown[name].place, f"{name} {problem}")
        else:
            yield name, file


def _problem(file: Path) -> str:
    """Why the file can't be shown; empty when it can."""
    kind = file.suffix.lower()
    data = file.read_bytes()
    if kind == ".svg":
        if not data.strip() or b"<svg" not in data:
            return "is no SVG"
        return "holds more than a picture: a script or the like" if _ACTIVE.search(data) else ""
    if not data.startswith(_BEGINNINGS[kind]) or (kind == ".webp" and data[8:12] != b"WEBP"):
        return f"is no {kind[1:].upper()} picture"
    return ""
