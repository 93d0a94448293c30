"""Lengths and paper sizes, as an author writes them."""

from __future__ import annotations

import re

# Millimetres, portrait. A4, A5, B5: ISO 216. Letter, Half-Letter: ANSI/ASME Y14.1 (8.5 x 11 in
# and its half, 5.5 x 8.5 in).
PAGE_SIZES: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
    "B5": (176.0, 250.0),
    "Letter": (215.9, 279.4),
    "Half-Letter": (139.7, 215.9),
}
_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72}


def length_mm(text: str) -> float | None:
    """A length with its unit (mm, cm, in, pt) in millimetres; None when it isn't one."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(mm|cm|in|pt)?\s*", text)
    if not match or (match.group(2) is None and float(match.group(1)) != 0):
        return None
    return float(match.group(1)) * _UNITS[match.group(2) or "mm"]


def page_size(text: str) -> tuple[float, float] | None:
    """Width and height in millimetres: a name of `PAGE_SIZES`, or `148mm x 210mm`, each side
    from 70 to 500 mm; None for anything else."""
    if text in PAGE_SIZES:
        return PAGE_SIZES[text]
    parts = re.split(r"\s*[x×]\s*", text.strip())
    sides = [length_mm(part) for part in parts] if len(parts) == 2 else []
    if len(sides) == 2 and all(side is not None and 70 <= side <= 500 for side in sides):
        return sides[0], sides[1]  # type: ignore[return-value]
    return None
