"""What a page prints, as a preflight sees it: texts, lines and areas, pictures.

Boxes are on the trimmed page as it is shown, in points, with the origin at the lower left.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from builder.press.geometry import Box
from builder.press.preflight_fonts import FontFacts
from builder.press.preflight_paint import Paint


@dataclass(frozen=True, slots=True)
class Text:
    """What one operator shows, without the spaces at its ends. `size` is the font size on the
    page, `start` where its base line begins."""

    box: Box
    text: str
    size: float
    font: FontFacts
    paint: Paint
    start: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Form:
    """How a line or area looks, apart from its place, size and colour."""

    filled: bool
    parts: str  # "one", "many", or "dots" where no part has a length
    curved: bool
    closed: bool
    dashed: bool


@dataclass(frozen=True, slots=True)
class Drawn:
    """A painted path. `thickness` is a line's width or the smaller side of an upright area,
    None where that is not known."""

    box: Box
    paint: Paint
    form: Form
    thickness: float | None


@dataclass(frozen=True, slots=True)
class Image:
    """A picture; `dpi` is the lower of its resolutions across and down, `pixels` its size."""

    box: Box
    dpi: float
    pixels: tuple[int, int]


Ink: TypeAlias = Text | Drawn | Image
