"""The pictures that a booklet's pages show.

In: a booklet and its folder. Out: the files to copy. Each is looked at: its first bytes must be
those of its kind, and an SVG must not bring a script along. (In a page an SVG's script would
not run, because it is shown by `<img>`; opened by itself it would.)
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from builder.faults import Faults
from builder.model import (
    Block, Booklet, ClaimedWords, Comment, Diagram, Emphasis, Exercise, Heading, Inline, ItemList,
    Line, Link, Moves, Paragraph, Picture, PositionLink, Quote, Strike, Strong, Table,
)  # fmt: skip

# How files of each kind begin. PNG: W3C PNG (third edition) 5.2; GIF89a specification, 17;
# JPEG: ITU-T T.81, B.1.1.3 (SOI) ; WebP: RFC 9649, 2.4 (RIFF, with WEBP at byte 8).
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
    rb"<\s*(?:[\w-]+:)?(?:script|foreignObject|iframe|handler)\b|\son\w+\s*=|javascript\s*:|<!ENTITY"
    rb"|&#",
    re.IGNORECASE,
)


def pictures(booklet: Booklet, folder: Path, faults: Faults) -> Iterator[tuple[str, Path]]:
    """Names relative to the booklet and the files, sorted, each once."""
    root = folder.resolve()
    shown = {picture.file: picture for picture in reversed(list(all_pictures(booklet)))}
    for name in sorted(shown):
        file = (root / name).resolve()
        if not file.is_relative_to(root) or not file.is_file():
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


def all_pictures(booklet: Booklet) -> Iterator[Picture]:
    """Every picture in the booklet's text, in reading order of blocks."""
    for chapter in booklet.chapters:
        yield from _in_blocks(chapter.blocks)
        for note in chapter.footnotes:
            yield from _in_blocks(note.blocks)


def _in_blocks(blocks: Iterable[Block]) -> Iterator[Picture]:
    stack = list(blocks)[::-1]
    while stack:
        block = stack.pop()
        match block:
            case Paragraph() | Heading():
                yield from _in_inlines(block.inlines)
            case ItemList():
                stack.extend(inner for item in block.items[::-1] for inner in item[::-1])
            case Quote():
                stack.extend(block.blocks[::-1])
            case Table():
                for row in (block.head, *block.rows):
                    for cell in row:
                        yield from _in_inlines(cell)
            case Line():
                yield from _in_line(block)
            case Diagram():
                yield from _in_inlines(block.caption)
            case Exercise():
                yield from _in_inlines(block.diagram.caption)
                yield from _in_line(block.solution)
                stack.extend((*block.hint[::-1], *block.task[::-1]))


def _in_line(line: Line) -> Iterator[Picture]:
    for item in line.items:
        if isinstance(item, Comment):
            yield from _in_inlines(item.inlines)
        elif isinstance(item, Diagram):
            yield from _in_inlines(item.caption)


def _in_inlines(nodes: Iterable[Inline]) -> Iterator[Picture]:
    stack = list(nodes)[::-1]
    while stack:
        node = stack.pop()
        match node:
            case Picture():
                yield node
            case Emphasis() | Strong() | Strike() | Link():
                stack.extend(node.children[::-1])
            case ClaimedWords() | PositionLink():
                stack.extend((node.words or ())[::-1])
            case Diagram():
                stack.extend(node.caption[::-1])
            case Moves():
                pass
