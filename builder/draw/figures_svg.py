"""Annotation figures as SVG elements, for the site's boards and the print's overlays alike.

Units are hundredths of a square. Colours are presentation attributes, which any style sheet
may override by the classes `pb-case` (paper round a figure), `pb-line` (what is drawn by
line), `pb-fill` (filled areas), `pb-card` (a label's ground) and `pb-words`; each figure is a
group of the class `pb-mark` and its meaning: `pb-plan`, `pb-threat`, `pb-guard`, `pb-key`,
`pb-weak`, `pb-label`, `pb-last`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from builder.draw.marks import CASE, Area, Figure, Point, Ring, Shape, Stroke, Words

UNIT = 100


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours as CSS writes them, and the family that coordinates and labels are set in."""

    ink: str = "#1a1714"
    paper: str = "#fff"
    mark: str = "#7a2e1d"
    family: str = "serif"


PLAIN = Palette()


def figures_svg(drawn: Sequence[Figure], palette: Palette = PLAIN) -> str:
    """The figures as SVG elements."""
    return "".join(_figure(figure, palette) for figure in drawn)


def _figure(figure: Figure, palette: Palette) -> str:
    colour = escape(palette.ink if figure.kind == "last" else palette.mark)
    paper = escape(palette.paper)
    cases = "".join(_case(shape) for shape in figure.shapes)
    inks = "".join(_ink(shape, palette) for shape in figure.shapes)
    return (
        f'<g class="pb-mark pb-{figure.kind}" fill="none" stroke-linecap="round" '
        f'stroke-linejoin="round"><g class="pb-case" stroke="{paper}">{cases}</g>'
        f'<g class="pb-line" stroke="{colour}">{inks}</g></g>'
    )


def _case(shape: Shape) -> str:
    if isinstance(shape, Stroke):
        return f'<path d="{_paths(shape)}" stroke-width="{_n(shape.width + 2 * CASE)}"/>'
    if isinstance(shape, Area):
        return f'<path d="{_polygon(shape)}" stroke-width="{_n(shape.line + 2 * CASE)}"/>'
    if isinstance(shape, Ring):
        return _circle(shape, shape.width + 2 * CASE)
    return ""


def _ink(shape: Shape, palette: Palette) -> str:
    if isinstance(shape, Stroke):
        return f'<path d="{_paths(shape)}" stroke-width="{_n(shape.width)}"/>'
    if isinstance(shape, Ring):
        return _circle(shape, shape.width)
    if isinstance(shape, Words):
        x, y = shape.centre
        return (
            f'<text class="pb-words" x="{_n(x)}" y="{_n(y + shape.size * 0.34)}" '
            f'font-size="{_n(shape.size)}" text-anchor="middle" stroke="none" '
            f'fill="{escape(palette.ink)}" font-family="{escape(palette.family)}">'
            f"{escape(shape.text)}</text>"
        )
    if shape.line:
        return (
            f'<path class="pb-card" d="{_polygon(shape)}" fill="{escape(palette.paper)}" '
            f'stroke-width="{_n(shape.line)}"/>'
        )
    return f'<path class="pb-fill" d="{_polygon(shape)}" fill="{escape(palette.mark)}" stroke="none"/>'


def _circle(ring: Ring, width: float) -> str:
    x, y = ring.centre
    return (
        f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(ring.radius)}" stroke-width="{_n(width)}"/>'
    )


def _paths(stroke: Stroke) -> str:
    return "".join(
        f"M{_points(path)}" + ("h0" if len(path) == 1 else "") for path in stroke.paths
    )


def _polygon(area: Area) -> str:
    return f"M{_points(area.corners)}Z"


def _points(path: Sequence[Point]) -> str:
    return " ".join(f"{_n(x)} {_n(y)}" for x, y in path)


def _n(squares: float) -> str:
    """A length in hundredths of a square, to a tenth of that."""
    return f"{squares * UNIT:.1f}".removesuffix(".0")
