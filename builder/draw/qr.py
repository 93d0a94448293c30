"""Codes for phones (ISO/IEC 18004), as vector pictures.

In: an address. Out: SVG whose dark modules are one path, with the quiet zone inside.
"""

from __future__ import annotations

from dataclasses import dataclass

import segno

from builder.draw.figures_svg import xml_text

QUIET = 4  # modules that stay white all round (ISO/IEC 18004)
# Millimetres a side of a module. GS1 asks for at least 0.396 mm where goods are scanned (General
# Specifications; from memory): phones read less, but not from every printer.
MODULE = 0.4


@dataclass(frozen=True, slots=True)
class DrawnCode:
    """A code's SVG, and its side in millimetres with the quiet zone."""

    svg: str
    side: float


def qr_code(address: str, alt: str) -> DrawnCode:
    """The code of an address, with error correction M (about 15 % may be lost)."""
    rows = tuple(segno.make_qr(address, error="m", boost_error=False).matrix)
    side = len(rows) + 2 * QUIET
    path = "".join(f"M{left} {top}h{length}v1h-{length}z"
                   for top, row in enumerate(rows, QUIET) for left, length in _runs(row))  # fmt: skip
    millimetres = round(side * MODULE, 2)
    return DrawnCode(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" '
        f'width="{millimetres:g}mm" height="{millimetres:g}mm"><title>{xml_text(alt)}</title>'
        f'<path fill="#000" d="{path}"/></svg>',
        millimetres,
    )


def _runs(row: bytearray) -> list[tuple[int, int]]:
    """Where dark modules begin, and how many follow one another."""
    found: list[tuple[int, int]] = []
    for column, dark in enumerate(row, QUIET):
        if not dark:
            continue
        if found and sum(found[-1]) == column:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((column, 1))
    return found
