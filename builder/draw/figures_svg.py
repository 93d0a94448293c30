"""Annotation figures as SVG elements, for the site's boards and the print's overlays alike.

Units are hundredths of a square. Colours are presentation attributes, which any style sheet
may override by the classes `pb-case` (paper round a figure), `pb-line` (what is drawn by
line), `pb-fill` (filled areas), `pb-card` (a label's ground) and `pb-words`; each figure is a
group of the class `pb-mark` and its meaning: `pb-plan`, `pb-threat`, `pb-guard`, `pb-key`,
`pb-weak`, `pb-label`, `pb-last`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from builder.draw.marks import (
    CASE, HALF_CAPITAL, Area, Figure, Point, Ring, Stroke, Words,
)  # fmt: skip

UNIT = 100


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours as CSS writes them, and the family that coordinates and labels are set in."""

    ink: str = "#1a1714"
    paper: str = "#fff"
    mark: str = "#7a2e1d"
    family: str = "serif"


PLAIN = Palette()


# What an element that holds figures says for all of them.
INHERITED = 'fill="none" stroke-linecap="round" stroke-linejoin="round"'


def figures_svg(drawn: Sequence[Figure], palette: Palette = PLAIN, classed: bool = True) -> str:
    """The figures as SVG elements.

    Not `classed`, they are bare and few, for a layout engine to which every element is work
    and no style sheet applies; the element around them then says `INHERITED`.
    """
    return "".join([_figure(figure, palette, classed) for figure in drawn])


def xml_text(text: str) -> str:
    """Text made safe for XML and HTML: escaped, without the characters that XML 1.0 bars."""
    return escape(without_barred(text))


def without_barred(text: str) -> str:
    """Text without the characters that XML 1.0 bars."""
    return _BARRED.sub("", text)


_BARRED = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def _figure(figure: Figure, palette: Palette, classed: bool) -> str:
    colour = xml_text(palette.ink if figure.kind == "last" else palette.mark)
    paper = xml_text(palette.paper)
    cases, inks = [], []
    for shape in figure.shapes:
        if isinstance(shape, Words):
            inks.append(_words(shape, palette, classed))
            continue
        outline, width = _outline(shape), _width(shape)
        case, line, fill, card = _CLASSED if classed else _BARE
        cases.append(f'{outline}{case} stroke="{paper}" stroke-width="{_n(width + 2 * CASE)}"/>')
        if isinstance(shape, Area) and not width:
            inks.append(f'{outline}{fill} fill="{colour}"/>')
            continue
        full = isinstance(shape, Area) or (isinstance(shape, Ring) and shape.full)
        ground = f'{card} fill="{paper}"' if full else line
        inks.append(f'{outline}{ground} stroke="{colour}" stroke-width="{_n(width)}"/>')
    drawn = "".join(cases + inks)
    return f'<g class="pb-mark pb-{figure.kind}" {INHERITED}>{drawn}</g>' if classed else drawn


_CLASSED = (' class="pb-case"', ' class="pb-line"', ' class="pb-fill"', ' class="pb-line pb-card"')
_BARE = ("", "", "", "")


def _outline(shape: Stroke | Area | Ring) -> str:
    """The shape's element up to its colours and its width, which differ."""
    if isinstance(shape, Ring):
        x, y = shape.centre
        return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(shape.radius)}"'
    if isinstance(shape, Area):
        return f'<path d="M{_points(shape.corners)}Z"'
    paths = (f"M{_points(path)}" + ("h0" if len(path) == 1 else "") for path in shape.paths)
    return f'<path d="{"".join(paths)}"'


def _width(shape: Stroke | Area | Ring) -> float:
    return shape.line if isinstance(shape, Area) else shape.width


def _words(words: Words, palette: Palette, classed: bool) -> str:
    x, y = words.centre
    named = ' class="pb-words"' if classed else ""
    return (
        f'<text{named} x="{_n(x)}" y="{_n(y + words.size * HALF_CAPITAL)}" '
        f'font-size="{_n(words.size)}" text-anchor="middle" '
        f'fill="{xml_text(palette.ink)}" font-family="{xml_text(palette.family)}">'
        f"{xml_text(words.text)}</text>"
    )


def _points(path: Sequence[Point]) -> str:
    return " ".join([f"{_n(x)} {_n(y)}" for x, y in path])


def _n(squares: float) -> str:
    """A length in hundredths of a square, to a tenth of that."""
    return f"{squares * UNIT:.1f}".removesuffix(".0")
