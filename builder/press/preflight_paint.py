"""Colours of a PDF as a mono printer sees them.

In: a colour space and its components. Out: a `Paint`, whose darkness is what a printer with one
ink has to show. See ISO 32000-1, 8.6.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Paint:
    """Red, green and blue from 0 to 1, None for a paint that is no single colour."""

    rgb: tuple[float, float, float] | None
    opacity: float = 1.0

    @property
    def darkness(self) -> float:
        """0 for white paper, 1 for black; luma as ITU-R BT.601 weighs it. A paint that is no
        single colour counts as black."""
        if self.rgb is None:
            return self.opacity
        red, green, blue = self.rgb
        return (1 - (0.299 * red + 0.587 * green + 0.114 * blue)) * self.opacity


BLACK = Paint((0.0, 0.0, 0.0))


def paint_of(space: Any, values: list[float]) -> Paint:
    """The paint of a colour's components in a space: a name, or an array that begins with one.

    CMYK is mixed without a profile; spot colours are told by their tint alone.
    """
    family, parts = (str(space), 0) if isinstance(space, str) else _family(space)
    if family in ("/Separation", "/DeviceN"):
        light = 1 - max(values, default=1.0)
        return Paint((light, light, light))
    if family == "/Lab":
        light = values[0] / 100
        return Paint((light, light, light))
    count = parts or len(values)
    if count == 1 and len(values) == 1:
        return Paint((values[0],) * 3)
    if count == 3 and len(values) == 3:
        return Paint((values[0], values[1], values[2]))
    if count == 4 and len(values) == 4:
        key = 1 - values[3]
        return Paint(((1 - values[0]) * key, (1 - values[1]) * key, (1 - values[2]) * key))
    return Paint(None)


def _family(space: Any) -> tuple[str, int]:
    """The family of a colour space, and its number of components where an ICC profile says so."""
    family = str(space[0])
    return family, int(space[1].get_object().get("/N", 0)) if family == "/ICCBased" else 0
