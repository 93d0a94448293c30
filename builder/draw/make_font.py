"""Makes the fonts in themes/fonts from the pieces' outlines: python -m builder.draw.make_font

Needs fonttools with brotli, and skia-pathops. The same outlines give the same bytes: the
fonts carry a fixed date. The coordinates in the board font are taken from Source Serif 4
(SIL Open Font License 1.1), which lies beside them.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from io import BytesIO

import pathops
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

from builder.draw import glyphs, layout, outlines, pieces
from builder.draw.board import EMPTY

COORDINATE_FACE = glyphs.FONTS / "SourceSerif4-It.ttf"
DESCENT = 200  # of a square's 1000 units
TEXT_SPACE = 233  # as in Source Serif 4, of 1000 units an em
MADE = 3_786_912_000  # 2024-01-01, in seconds since 1904: a date must stand in a font
COPYRIGHT = "Copyright 2026 The Plyleaf authors"
LICENCE = (
    "This Font Software is licensed under the SIL Open Font License, Version 1.1. "
    "This license is available with a FAQ at: https://openfontlicense.org"
)

Drawn = tuple[int, pathops.Path]  # advance width, outline in font units (y upwards)


def main() -> None:
    glyphs.BOARD_FILE.write_bytes(board_font())
    glyphs.FIGURINE_FILE.write_bytes(figurine_font("woff2"))
    glyphs.FIGURINE_FILE.with_suffix(".ttf").write_bytes(figurine_font(None))
    sys.stdout.write(f"made the fonts in {glyphs.FONTS}\n")


# --- the board font ------------------------------------------------------------------------


def board_font() -> bytes:
    """'Plyleaf Board' as TrueType: one letter a square."""
    drawn: dict[str, Drawn] = {" ": (300, pathops.Path())}
    hatch = outlines.hatch()
    for letter in pieces.PIECES:
        piece = pieces.PIECES[letter]
        clear = outlines.silhouette(piece, pieces.OUTLINE + 2 * pieces.HALO)
        ground = outlines.without(hatch, clear)
        for shown, ink in (
            (letter, outlines.white_ink(piece)),
            (letter.lower(), outlines.black_ink(piece)),
        ):
            drawn[shown] = (1000, _upright(ink))
            drawn[glyphs.dark(shown)] = (1000, _upright(outlines.joined(ground, ink)))
    drawn[EMPTY] = (1000, pathops.Path())
    drawn[glyphs.dark(EMPTY)] = (1000, _upright(hatch))
    drawn.update(_coordinates())
    drawn.update(_movers())
    return _font(glyphs.BOARD_FAMILY, drawn, ascent=1000 - DESCENT, descent=-DESCENT)


def _coordinates() -> dict[str, Drawn]:
    """Digits hang left of the line without width; letters stand under a square each."""
    drawn: dict[str, Drawn] = {}
    scale = layout.COORDINATE
    with TTFont(COORDINATE_FACE) as face:
        names, outline_of = face.getBestCmap(), face.getGlyphSet()
        for text in "12345678abcdefgh":
            glyph = outline_of[names[ord(text)]]
            width = glyph.width * scale
            if text.isdigit():
                middle, foot, advance = -1000 * layout.DIGITS_AT, 500 - CAP_HEIGHT * scale / 2, 0
            else:
                middle, foot, advance = 500, 1000 * (1 - layout.LETTERS_AT), 1000
            recorded = DecomposingRecordingPen(outline_of)
            glyph.draw(recorded)
            made = pathops.Path()
            matrix = (scale, 0, 0, scale, middle - width / 2, foot - DESCENT)
            recorded.replay(TransformPen(made.getPen(glyphSet=outline_of), matrix))
            made.simplify(fix_winding=True)
            drawn[glyphs.circled(text)] = (advance, made)
    return drawn


def _movers() -> dict[str, Drawn]:
    """A small square beside the mover's first rank, open for White, full for Black."""
    left, size, rim = (1000 * part for part in (layout.MOVER_AT, layout.MOVER, layout.MOVER_RIM))
    box = outlines.rectangle(left, 500 - size / 2, left + size, 500 + size / 2)
    hole = outlines.rectangle(
        left + rim, 500 - size / 2 + rim, left + size - rim, 500 + size / 2 - rim
    )
    return {
        glyphs.WHITE_TO_MOVE: (0, _upright(outlines.without(box, hole))),
        glyphs.BLACK_TO_MOVE: (0, _upright(box)),
    }


# --- the figurine font ---------------------------------------------------------------------

CAP_HEIGHT = 670
FIGURINE_OUTLINE, FIGURINE_LINE = 60, 42  # of a square's 1000: as heavy as the text's stems
TALLEST = 700  # the king's height: a little over the capitals, as round letters are


def figurine_font(flavor: str | None) -> bytes:
    """'Plyleaf Figurine': the twelve chess signs of Unicode, to stand among serif text.

    The letters K Q R B N are drawn as White's figurines too, so that a move's text can stay
    its SAN. Other letters, digits and the space are left to the text face behind this font.
    """
    drawn: dict[str, Drawn] = {}
    for number, letter in enumerate(pieces.PIECES):
        piece = pieces.PIECES[letter]
        for first, ink in (
            (0x2654, outlines.white_ink(piece, FIGURINE_OUTLINE, FIGURINE_LINE, False)),
            (0x265A, outlines.black_ink(piece, FIGURINE_OUTLINE, FIGURINE_LINE, False)),
        ):
            drawn[chr(first + number)] = _figurine(ink)
        if letter != "P":
            drawn[letter] = drawn[chr(0x2654 + number)]
    drawn.update(_judgements())
    # A layout engine may take the space before a sign from the sign's font.
    drawn.update({space: (TEXT_SPACE, pathops.Path()) for space in " \u00a0"})
    return _font(glyphs.FIGURINE_FAMILY, drawn, ascent=800, descent=-200, flavor=flavor)


def _judgements() -> dict[str, Drawn]:
    """The signs of annotated games that Source Serif 4 lacks, to the measures of its `±`."""
    left, right, bar, stem = 29, 502, 58, 61
    middle = (left + right) / 2

    def bars(*feet: float) -> list[pathops.Path]:
        return [outlines.rectangle(left, foot, right, foot + bar) for foot in feet]

    def cross(foot: float, height: float) -> list[pathops.Path]:
        upright = outlines.rectangle(middle - stem / 2, foot, middle + stem / 2, foot + height)
        return [upright, *bars(foot + (height - bar) / 2)]

    signs = {
        "\u2213": [*cross(0, 460), *bars(500)],
        "\u2a71": [*cross(0, 350), *bars(396, 532)],
        "\u2a72": [*bars(0, 136), *cross(240, 350)],
    }
    return {sign: (530, outlines.joined(*parts)) for sign, parts in signs.items()}


def _figurine(ink: pathops.Path) -> Drawn:
    left, top, right, bottom = ink.bounds
    scale = TALLEST / 840
    side = 42
    made = _transformed(ink, (scale, 0, 0, -scale, side - left * scale, bottom * scale))
    return round((right - left) * scale) + 2 * side, made


# --- fonts in general ----------------------------------------------------------------------


def _transformed(shape: pathops.Path, matrix: tuple[float, ...]) -> pathops.Path:
    made = pathops.Path()
    shape.draw(TransformPen(made.getPen(), matrix))
    return made


def _upright(shape: pathops.Path) -> pathops.Path:
    """From a square's units (y downwards) to the font's (y upwards, from the baseline)."""
    return _transformed(shape, (1, 0, 0, -1, 0, 1000 - DESCENT))


def _font(family: str, drawn: Mapping[str, Drawn], ascent: int, descent: int,
          flavor: str | None = None) -> bytes:  # fmt: skip
    """A font of these glyphs, byte for byte the same for the same glyphs."""
    order = [".notdef", *(f"uni{ord(letter):04X}" for letter in drawn)]
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap({ord(letter): f"uni{ord(letter):04X}" for letter in drawn})
    made = {".notdef": TTGlyphPen(None).glyph()}
    widths = {".notdef": 1000}
    for letter, (width, outline) in drawn.items():
        name = f"uni{ord(letter):04X}"
        pen = TTGlyphPen(None)
        outline.draw(Cu2QuPen(pen, max_err=0.6, reverse_direction=False))
        made[name], widths[name] = pen.glyph(), width
    builder.setupGlyf(made)
    builder.setupHorizontalMetrics(
        {name: (widths[name], getattr(made[name], "xMin", 0)) for name in order}
    )
    builder.setupHorizontalHeader(ascent=ascent, descent=descent, lineGap=0)
    builder.setupOS2(
        sTypoAscender=ascent, sTypoDescender=descent, sTypoLineGap=0,
        version=4, usWinAscent=ascent, usWinDescent=-descent, sCapHeight=CAP_HEIGHT, sxHeight=450,
        fsSelection=0x40 | 0x80, fsType=0,
    )  # fmt: skip
    postscript = family.replace(" ", "") + "-Regular"
    builder.setupNameTable({
        "copyright": COPYRIGHT, "familyName": family, "styleName": "Regular",
        "uniqueFontIdentifier": f"{postscript}-1.0", "fullName": family,
        "version": "Version 1.000", "psName": postscript, "licenseDescription": LICENCE,
        "licenseInfoURL": "https://openfontlicense.org",
    })  # fmt: skip
    builder.setupPost()
    builder.font["head"].created = builder.font["head"].modified = MADE
    builder.font.recalcTimestamp = False
    builder.font.flavor = flavor
    target = BytesIO()
    builder.font.save(target)
    return target.getvalue()


if __name__ == "__main__":
    main()
