"""What a PDF's fonts say of themselves: embedded or not, widths of codes, codes as text.

In: a font dictionary of pypdf. Out: `FontFacts`. See ISO 32000-1, 9.5 to 9.10.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from pypdf.generic import DictionaryObject, StreamObject

_FILES = ("/FontFile", "/FontFile2", "/FontFile3")
_MOST_CODES = 65536


@dataclass(frozen=True, slots=True)
class Glyph:
    """A shown code: its width in ems, its text (empty where unknown), and whether the word
    spacing counts for it."""

    width: float
    text: str
    is_word_space: bool


@dataclass(frozen=True, slots=True, eq=False)
class FontFacts:
    """`name` is without the tag of a subset. Widths are in ems."""

    name: str
    is_embedded: bool
    lengths: tuple[int, ...]  # bytes that a code may have, the shorter first
    widths: Mapping[int, float]
    width: float  # of a code that has none of its own
    texts: Mapping[int, str]
    cids: Mapping[int, int] = field(default_factory=dict)

    def glyphs(self, shown: bytes) -> Iterator[Glyph]:
        """The codes of a string one by one."""
        at = 0
        while at < len(shown):
            length = self._length(shown, at)
            code = int.from_bytes(shown[at : at + length], "big")
            at += length
            text = self.texts.get(code, "")
            yield Glyph(self.widths.get(self.cids.get(code, code), self.width), text,
                        length == 1 and code == 32)  # fmt: skip

    def _length(self, shown: bytes, at: int) -> int:
        for length in self.lengths[:-1]:
            if int.from_bytes(shown[at : at + length], "big") in self.cids:
                return length
        return self.lengths[-1]


def font_facts(font: DictionaryObject) -> FontFacts:
    """Reads a font; what is missing or broken in it is left at a likely value."""
    name = str(font.get("/BaseFont", font.get("/Name", "a font without a name"))).lstrip("/")
    name = re.sub(r"^[A-Z]{6}\+", "", name).rstrip(",")
    to_unicode = _stream_text(font.get("/ToUnicode"))
    texts = {code: _utf16(target) for code, _, target in _mappings(to_unicode, "bf")}
    if font.get("/Subtype") == "/Type0":
        return _composite(font, name, texts)
    simple_texts = {code: bytes([code]).decode("cp1252", "replace") for code in range(32, 256)}
    is_type3 = font.get("/Subtype") == "/Type3"
    scale = abs(float(font["/FontMatrix"][0])) if is_type3 and "/FontMatrix" in font else 0.001
    first = int(font.get("/FirstChar", 0))
    widths = {first + number: float(width) * scale
              for number, width in enumerate(list(font.get("/Widths") or ())[:256])}  # fmt: skip
    embedded = is_type3 or _has_file(font.get("/FontDescriptor"))
    return FontFacts(name, embedded, (1,), widths, 0.5, simple_texts | texts)


def _composite(font: DictionaryObject, name: str, texts: Mapping[int, str]) -> FontFacts:
    descendants = font.get("/DescendantFonts") or ()
    descendant = descendants[0].get_object() if len(descendants) else DictionaryObject()
    embedded = _has_file(descendant.get("/FontDescriptor"))
    lengths: tuple[int, ...] = (2,)
    cids: dict[int, int] = {}
    cmap = _stream_text(font.get("/Encoding"))
    if cmap:
        cids = {code: _number(target) + offset for code, offset, target in _mappings(cmap, "cid")}
        lengths = _code_lengths(cmap) or (2,)
    default = float(descendant.get("/DW", 1000)) / 1000
    return FontFacts(name, embedded, lengths, _cid_widths(descendant), default, texts, cids)


def _cid_widths(descendant: DictionaryObject) -> dict[int, float]:
    """The /W array: `first [w w …]` or `first last w` (9.7.4.3)."""
    found: dict[int, float] = {}
    entries = [entry.get_object() for entry in descendant.get("/W") or ()]
    at = 0
    while at + 1 < len(entries) and len(found) < _MOST_CODES:
        first = int(entries[at])
        if isinstance(entries[at + 1], list):
            found |= {first + n: float(w) / 1000 for n, w in enumerate(entries[at + 1])}
            at += 2
        elif at + 2 < len(entries):
            last = min(int(entries[at + 1]), first + _MOST_CODES)
            found |= dict.fromkeys(range(first, last + 1), float(entries[at + 2]) / 1000)
            at += 3
        else:
            break
    return found


def _has_file(descriptor: Any) -> bool:
    descriptor = descriptor.get_object() if descriptor is not None else None
    return isinstance(descriptor, DictionaryObject) and any(name in descriptor for name in _FILES)


# --- character maps ---------------------------------------------------------------------------

_TOKEN = re.compile(r"<([0-9A-Fa-f\s]*)>|\[|\]|(-?\d+)")


def _code_lengths(cmap: str) -> tuple[int, ...]:
    """How many bytes a code may have, by the code space ranges."""
    ranges = "".join(re.findall(r"begincodespacerange(.*?)endcodespacerange", cmap, re.S))
    ends = re.findall(r"<([0-9A-Fa-f]+)>", ranges)
    return tuple(sorted({len(end) // 2 for end in ends if len(end) >= 2}))


def _mappings(cmap: str, kind: str) -> Iterator[tuple[int, int, str]]:
    """Code, offset and target of each entry of `beginbfchar`, `beginbfrange` and their `cid`
    kin. The target of a range stands for its first code; the offset is to be added."""
    count = 0
    for form, body in re.findall(rf"begin{kind}(char|range)(.*?)end{kind}\1", cmap, re.S):
        for code, offset, target in _entries(body, form == "range"):
            count += 1
            if count > _MOST_CODES:
                return
            yield code, offset, _raised(target, offset) if kind == "bf" else target


def _entries(body: str, ranges: bool) -> Iterator[tuple[int, int, str]]:
    tokens = [match.group(0) if match.group(0) in "[]" else match.group(1) or match.group(2) or ""
              for match in _TOKEN.finditer(body)]  # fmt: skip
    at = 0
    while at + (2 if ranges else 1) < len(tokens):
        if "[" in tokens[at : at + 2] or "]" in tokens[at : at + 2] or not tokens[at]:
            return
        low = int(tokens[at].replace(" ", ""), 16)
        if not ranges:
            yield low, 0, tokens[at + 1]
            at += 2
            continue
        high = min(int(tokens[at + 1] or "0", 16), low + _MOST_CODES)
        if tokens[at + 2] == "[":
            end = tokens.index("]", at) if "]" in tokens[at:] else len(tokens)
            for number, target in enumerate(tokens[at + 3 : end]):
                yield low + number, 0, target
            at = end + 1
        else:
            for code in range(low, high + 1):
                yield code, code - low, tokens[at + 2]
            at += 3


def _raised(target: str, offset: int) -> str:
    """A target in hexadecimal with `offset` added to its last two bytes."""
    target = re.sub(r"\s", "", target)
    if not offset or len(target) < 2:
        return target
    return f"{int(target, 16) + offset:0{len(target)}X}"


def _utf16(target: str) -> str:
    digits = re.sub(r"\s", "", target)
    return bytes.fromhex(digits if len(digits) % 2 == 0 else "0" + digits).decode(
        "utf-16-be", "replace"
    )


def _number(target: str) -> int:
    return int(target) if target.lstrip("-").isdigit() else 0


def _stream_text(value: Any) -> str:
    value = value.get_object() if value is not None else None
    return value.get_data().decode("latin-1") if isinstance(value, StreamObject) else ""
