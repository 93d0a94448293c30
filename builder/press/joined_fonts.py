"""A font of a joined document: made once, with the glyphs that all parts use.

Glyphs keep the numbers that they have in the font's file, so that the parts' pages stay as they
are (ISO 32000-1, 9.7: a Type 0 font with the encoding Identity-H).
"""

from __future__ import annotations

import io
from codecs import BOM_UTF16_BE
from collections.abc import Iterable, Mapping
from dataclasses import replace

from builder.press.laid import FontUse
from builder.press.pdf_file import PdfFile

_FIXED_PITCH = 1  # a bit of the flags (9.8.2)
_NOT_SHOWN = ("BASE", "DSIG", "GDEF", "GPOS", "GSUB", "JSTF", "MATH", "OS/2", "PCLT", "STAT", "cmap",
              "gasp", "name", "post")  # fmt: skip


def united(uses: Iterable[FontUse]) -> FontUse:
    """What several parts use of one font. The first says what a glyph means."""
    first, *others = uses
    text, widths = dict(first.text), dict(first.widths)
    for other in others:
        text = {**other.text, **text}
        widths = {**other.widths, **widths}
    return replace(first, text=dict(sorted(text.items())), widths=dict(sorted(widths.items())))


def subset(file: bytes, glyphs: Iterable[int]) -> bytes:
    """The TrueType file with these glyphs alone, under their own numbers, and without what only
    layout needs."""
    from fontTools import subset as tools
    from fontTools.ttLib import TTFont

    options = tools.Options(
        retain_gids=True, hinting=False, notdef_outline=True, glyph_names=False, layout_features=[],
        name_IDs=[], ignore_missing_glyphs=True, recalc_timestamp=False,
    )  # fmt: skip
    options.drop_tables += _NOT_SHOWN
    font = TTFont(io.BytesIO(file), lazy=True, recalcTimestamp=False)
    subsetter = tools.Subsetter(options)
    subsetter.populate(gids=sorted(glyphs))
    subsetter.subset(font)
    written = io.BytesIO()
    font.save(written, reorderTables=None)
    return written.getvalue()


def write_font(pdf: PdfFile, number: int, use: FontUse, file: bytes) -> None:
    """Writes the font under its number; `file` is its subset."""
    stream, text = pdf.number(), pdf.number()
    pdf.pack_stream(stream, b"<</Length1 %d>>" % len(file), file)
    pdf.pack_stream(text, b"<<>>", _to_unicode(use.text))
    same = len(use.widths) > 1 and len(set(use.widths.values())) == 1
    descriptor = pdf.add(_ascii(
        f"<</Type/FontDescriptor/FontName {use.base_font}/FontFamily {_string(use.family)}"
        f"/Flags {use.flags | _FIXED_PITCH if same else use.flags}"
        f"/FontBBox[0 {use.descent} {max(use.widths.values(), default=0)} {use.ascent}]"
        f"/ItalicAngle 0/Ascent {use.ascent}/Descent {use.descent}/CapHeight {use.ascent}"
        f"/StemV 80/FontFile2 {stream} 0 R>>"
    ))  # fmt: skip
    descendant = pdf.add(_ascii(
        f"<</Type/Font/Subtype/CIDFontType2/BaseFont {use.base_font}"
        "/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>"
        f"/CIDToGIDMap/Identity/W[{_widths(use.widths)}]/FontDescriptor {descriptor} 0 R>>"
    ))  # fmt: skip
    pdf.write(number, _ascii(
        f"<</Type/Font/Subtype/Type0/BaseFont {use.base_font}/Encoding/Identity-H"
        f"/DescendantFonts[{descendant} 0 R]/ToUnicode {text} 0 R>>"
    ))  # fmt: skip


def _ascii(text: str) -> bytes:
    return text.encode("latin-1")


def _string(text: str) -> str:
    return f"<{BOM_UTF16_BE.hex()}{text.encode('utf-16-be').hex()}>"


def _widths(widths: Mapping[int, int]) -> str:
    """Runs of glyphs that follow each other (9.7.4.3)."""
    written = ""
    for glyph in sorted(widths):
        follows = glyph - 1 in widths
        written += f" {widths[glyph]}" if follows else f"{']' if written else ''}{glyph}[{widths[glyph]}"
    return written + "]" if written else ""


def _to_unicode(text: Mapping[int, str]) -> bytes:
    """The map from glyphs to text (9.10.3)."""
    rows = [f"<{glyph:04x}> <{letters.encode('utf-16-be').hex()}>" for glyph, letters in text.items()]
    blocks = [rows[at : at + 100] for at in range(0, len(rows), 100)]
    mapped = "\n".join(
        "\n".join((f"{len(block)} beginbfchar", *block, "endbfchar")) for block in blocks
    )
    return _ascii(
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
        "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
        "1 begincodespacerange\n<0000> <ffff>\nendcodespacerange\n"
        f"{mapped}\nendcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    )
