"""Finds what is ours in Markdown, before Markdown is read.

In: a stretch of a chapter's text. Out: the same text with each of our pieces replaced by a
mark, and the pieces with their offsets. A Markdown parser moves text about (it strips quote
signs and indents) and tells no offsets; a mark goes through it whole and leads back to the
author's place. Where a mark ends up in code after all, its raw text is put back.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from builder.source.ahead import Ahead
from builder.source.movetext import NAME, SAN

# Private-use code points; `clean` takes them out of what an author writes.
OPEN_MARK, CLOSE_MARK, OPEN_PLACE, CLOSE_PLACE = "\ue000", "\ue001", "\ue002", "\ue003"
_ANY_MARK = re.compile(r"[\ue000\ue002](\d+)[\ue001\ue003]")

PieceKind: TypeAlias = Literal["fence", "moves", "position", "link", "claim", "silent", "diagram"]
OUR_FENCES = ("line", "diagram", "exercise", "game", "table", "played")

_FENCE = re.compile(r"^([ \t>]*(?:(?:[-*+]|\d+[.)])[ \t]+)*)(`{3,}|~{3,})[ \t]*([^\n]*)$", re.M)
_MOVES = re.compile(rf"(?:(?P<line>{NAME}):\s*)?\d+\s*(?:\.|…)")
_UNCLOSED = re.compile(rf"\[(?:{NAME}:\s*)?\d+\s*(?:\.+|…)\s*{SAN.pattern}(?!\w)")
_DEFINITION = re.compile(r"^[ \t>]{0,12}\[[^\]\n]*\]:", re.M)
_SKIP = re.compile(r"\\.|(?P<ticks>`+)|\n[ \t>]*\n|\[|\]|\{%", re.S)


@dataclass(frozen=True, slots=True)
class Piece:
    """Something of ours at `source.text[start:end]`.

    `inner` is the span between the brackets (or a fence's body), `tail` that of what follows in `(…)`
    or `{…}` (or a fence's info string). A silent claim has only `inner`. For a fence, `prefix` is what
    the lines of its body begin with in a list or quotation; one that isn't `closed` goes on to the end.
    """

    kind: PieceKind
    start: int
    end: int
    inner: tuple[int, int]
    tail: tuple[int, int] = (0, 0)
    prefix: str = ""
    closed: bool = True


@dataclass(frozen=True, slots=True)
class OtherFence:
    """A code block; `info` and `inner` are the spans of its info string and its body."""

    kind: Literal["code"]
    start: int
    end: int
    info: tuple[int, int]
    inner: tuple[int, int]


@dataclass(slots=True)
class Scan:
    """Marked text, and what the marks stand for; `places` are the offsets of links.

    `others` are fences that aren't ours, `unclosed` where brackets begin that look like moves and
    never end: both may be slips.
    """

    source_text: str
    marked: str = ""
    pieces: list[Piece] = field(default_factory=list)
    places: list[int] = field(default_factory=list)
    others: list[OtherFence] = field(default_factory=list)
    unclosed: list[tuple[int, int]] = field(default_factory=list)

    def restore(self, text: str) -> str:
        """`text` with the marks in it undone."""

        def raw(match: re.Match[str]) -> str:
            if match.group()[0] == OPEN_PLACE:
                return ""
            piece = self.pieces[int(match.group(1))]
            return self.source_text[piece.start : piece.end]

        return _ANY_MARK.sub(raw, text)


def clean(text: str) -> str:
    """`text` without the code points that serve as marks; same length."""
    return re.sub("[\ue000-\ue003]", "\ufffd", text)


def scan(text: str, start: int, end: int, fences: bool) -> Scan:
    """Marks our pieces in `text[start:end]`; code fences are left alone.

    With `fences` false the text is that of one paragraph (a comment, a caption), in which no
    blocks are looked for.
    """
    result = Scan(text)
    out: list[str] = []
    at = start
    for fence in _fences(text, start, end) if fences else ():
        _scan_inline(text, at, fence.start, result, out)
        if fence.kind == "fence":
            result.pieces.append(fence)
            # A paragraph of its own, in the list or quotation where the fence stands.
            indent = fence.prefix
            mark = f"{OPEN_MARK}{len(result.pieces) - 1}{CLOSE_MARK}"
            out.append(f"{indent.rstrip()}\n{indent}{mark}\n{indent.rstrip()}\n")
        else:
            result.others.append(fence)
            out.append(text[fence.start : fence.end])
        at = fence.end
    _scan_inline(text, at, end, result, out)
    result.marked = "".join(out)
    return result


def _fences(text: str, start: int, end: int) -> Iterator[Piece | OtherFence]:
    """The fenced blocks in order; those that aren't ours too, so that they are left alone."""
    at = start
    while match := _FENCE.search(text, at, end):
        lead, fence, info = match.groups()
        if fence[0] == "`" and "`" in info:
            at = match.end()
            continue
        # Lines that go on with a list item are indented by its marker's width.
        prefix = re.sub(r"[-*+\d.)]", " ", lead)
        close = re.compile(rf"^[ \t>]*{re.escape(fence[0])}{{{len(fence)},}}[ \t]*$", re.M)
        body_start = min(match.end() + 1, end)
        closing = close.search(text, body_start, end)
        body_end = closing.start() if closing else end
        after = min(closing.end() + 1, end) if closing else end
        word = info.split(None, 1)[0] if info.split() else ""
        if word in OUR_FENCES:
            fence_at = match.start(2)
            info_at = match.start(3)
            if lead.strip(" \t>"):  # The block opens a list item: keep the item's marker.
                yield Piece("fence", fence_at, after, (body_start, body_end),
                            (info_at, match.end(3)), prefix, bool(closing))  # fmt: skip
            else:
                yield Piece("fence", match.start(), after, (body_start, body_end),
                            (info_at, match.end(3)), prefix, bool(closing))  # fmt: skip
        else:
            yield OtherFence("code", match.start(), after, match.span(3), (body_start, body_end))
        at = max(after, match.end() + 1)
        if at >= end:
            return


def _scan_inline(text: str, start: int, end: int, result: Scan, out: list[str]) -> None:
    """Marks the brackets of `text[start:end]`, with code spans and escapes passed over."""
    ahead = Ahead(text, start, end)
    closings, silent, left = _closings(ahead)
    unclosed = (_UNCLOSED.match(text, opening, end) for opening in left)
    result.unclosed += [match.span() for match in unclosed if match]
    definitions = {match.end() - 2 for match in _DEFINITION.finditer(text, start, end)}
    at = copied = start
    for opening in sorted((*closings, *silent)):
        if opening < at:
            continue
        if opening in silent:
            claim = Piece("silent", opening, silent[opening] + 2, (opening + 2, silent[opening]))
            at = copied = _mark(text, copied, claim, result, out)
            continue
        closing = closings[opening]
        image = opening > start and text[opening - 1] == "!"
        if image and opening > start + 1 and text[opening - 2] == "\\":
            image = False
        piece = _piece(ahead, opening, closing, image)
        begin = opening - 1 if image else opening
        if piece is None:
            if closing in definitions:
                continue
            out.append(text[copied:begin])
            out.append(f"{OPEN_PLACE}{len(result.places)}{CLOSE_PLACE}")
            result.places.append(begin)
            copied = begin
            continue
        at = copied = _mark(text, copied, piece, result, out)
    out.append(text[copied:end])


def _mark(text: str, copied: int, piece: Piece, result: Scan, out: list[str]) -> int:
    """Puts a mark in a piece's place; the offset behind the piece."""
    out.append(text[copied : piece.start])
    out.append(f"{OPEN_MARK}{len(result.pieces)}{CLOSE_MARK}")
    result.pieces.append(piece)
    return piece.end


def _closings(ahead: Ahead) -> tuple[dict[int, int], dict[int, int], list[int]]:
    """For each `[` its `]`, and for each `{%` its `%}`, in one pass; neither reaches over a blank
    line. Then the `[` that have none."""
    found: dict[int, int] = {}
    silent: dict[int, int] = {}
    left: list[int] = []
    opened: list[int] = []
    at = ahead.start
    while match := _SKIP.search(ahead.text, at, ahead.end):
        at = match.end()
        token = match.group()
        if token == "[":
            opened.append(match.start())
        elif token == "]":
            if opened:
                found[opened.pop()] = match.start()
        elif token == "{%":
            close = ahead.in_paragraph("%}", at)
            if close is not None:
                silent[match.start()] = close
                at = close + 2
        elif token[0] == "\n":
            left += opened
            opened.clear()
            at = match.end() - 1
        elif match.group("ticks"):
            span = ahead.in_paragraph(token, at)
            if span is not None:
                at = span + len(token)
    return found, silent, left + opened


def _piece(ahead: Ahead, opening: int, closing: int, image: bool) -> Piece | None:
    """What the bracket at `opening` is, when it is ours."""
    text, inner = ahead.text, (opening + 1, closing)
    after = text[closing + 1 : closing + 2] if closing + 1 < ahead.end else ""
    if after == "(" and text.startswith("(@", closing + 1):
        close = ahead.round_close_in_paragraph(closing + 2)
        if close is None:
            return None
        kind: PieceKind = "diagram" if image else "link"
        begin = opening - 1 if image else opening
        return Piece(kind, begin, close + 1, inner, (closing + 2, close))
    if image:
        return None
    if after == "{":
        close = ahead.in_paragraph("}", closing + 2)
        if close is None:
            return Piece("claim", opening, closing + 2, inner, (-1, -1))
        return Piece("claim", opening, close + 1, inner, (closing + 2, close))
    if after in ("(", "["):
        return None
    content = text[opening + 1 : closing]
    if re.fullmatch(rf"@{NAME}", content):
        return Piece("position", opening, closing + 1, inner)
    if _MOVES.match(content):
        return Piece("moves", opening, closing + 1, inner)
    return None
