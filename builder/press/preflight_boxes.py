"""Checks of what a PDF says of itself: where its pages are cut, and what standards it claims.

In: a reader of pypdf and the `Document` of the other checks. Out: a `Row` each.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject

from builder.press.geometry import POINTS, Box
from builder.press.preflight_checks import BLEED, Document, Finding, Row

_NEAR = 0.1 * POINTS  # rounding
_CLAIM = re.compile(rb"pdf(a|ua)id:part(?:>|=[\"'])\s*(\d)")
_MOST = 500_000  # tags


def page_boxes(reader: PdfReader, document: Document) -> Row:
    """Whether the page is inside its bleed, that inside the sheet, and the bleed is wide enough
    (ISO 32000-1, 14.11.2)."""
    found: list[Finding] = []
    bleeds: set[float] = set()
    for page, known in zip(reader.pages, document.pages, strict=True):
        media, bleed, trim = (_box(page, name) for name in ("/MediaBox", "/BleedBox", "/TrimBox"))
        bleed, trim = bleed or media, trim or media
        if not media or not bleed or not trim:
            continue
        if not bleed.grown(_NEAR).holds(trim):
            found.append(Finding(known.label, "the trim box reaches out of the bleed box"))
        elif not media.grown(_NEAR).holds(bleed):
            found.append(Finding(known.label, "the bleed box reaches out of the media box"))
        width = min(trim.left - bleed.left, trim.bottom - bleed.bottom,
                    bleed.right - trim.right, bleed.top - trim.top) / POINTS  # fmt: skip
        bleeds.add(round(max(0.0, width), 1))
        if 0.1 < width < BLEED:
            found.append(Finding(known.label, f"a bleed of {width:.1f} mm is too narrow to cut in"))
    widths = " or ".join(f"{width:g} mm" for width in sorted(bleeds))
    words = f"a bleed of {widths}" if bleeds - {0.0} else "no bleed"
    return Row("page boxes", words, tuple(found))


def _box(page: Any, name: str) -> Box | None:
    values = page.get(name)
    if values is None or len(values) != 4:
        return None
    return Box(*(float(value) for value in values))


def claims(reader: PdfReader) -> Row:
    """Whether a document that says it is PDF/A or PDF/UA has what a reader first looks for. The
    whole of these standards is for a validator."""
    metadata = reader.root_object.get("/Metadata")
    packet = metadata.get_object().get_data() if metadata is not None else b""
    said = sorted({f"PDF/{kind.decode().upper()}-{part.decode()}"
                   for kind, part in _CLAIM.findall(packet)})  # fmt: skip
    if not said:
        return Row("claims", "says to be neither PDF/A nor PDF/UA")
    return Row("claims", f"says to be {' and '.join(said)}",
               tuple(Finding("", words) for words in _lacking(reader, said)))  # fmt: skip


def _lacking(reader: PdfReader, said: list[str]) -> Iterator[str]:
    root = reader.root_object
    if not str((reader.metadata or {}).get("/Title") or "").strip():
        yield "it has no title"
    if not str(root.get("/Lang") or "").strip():
        yield "its language is not said"
    if any("PDF/A" in one for one in said) and "/OutputIntents" not in root:
        yield "it does not say what its colours mean"
    marked = root.get("/MarkInfo")
    if not (isinstance(marked, DictionaryObject) and marked.get("/Marked")):
        yield "it is not tagged"
        return
    bare = _bare_figures(root.get("/StructTreeRoot"))
    if bare:
        yield f"{bare} of its figures have no text alternative"


def _bare_figures(root: Any) -> int:
    """How many figures of the structure have neither an alternative nor a text of their own."""
    bare, seen, waiting = 0, set(), [root]
    while waiting and len(seen) < _MOST:
        tag = waiting.pop()
        number = getattr(tag, "idnum", None)
        if number in seen and number is not None:
            continue
        if number is not None:
            seen.add(number)
        tag = tag.get_object() if tag is not None else None
        if isinstance(tag, ArrayObject):
            waiting.extend(list.__iter__(tag))
        elif isinstance(tag, DictionaryObject):
            if tag.get("/S") == "/Figure" and not (tag.get("/Alt") or tag.get("/ActualText")):
                bare += 1
            if "/K" in tag:
                waiting.append(tag.raw_get("/K"))
    return bare
