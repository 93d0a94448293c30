"""Boards as PNG, set in the board font and made smaller from a finer picture.

The same view gives the same bytes with the same version of Pillow.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from builder.draw import glyphs, layout
from builder.draw.board import BoardView
from builder.draw.figures_svg import PLAIN, Palette
from builder.draw.marks import (
    CASE, HALF_CAPITAL, Area, Figure, Point, Ring, Shape, Stroke, Words, circle,
)  # fmt: skip
from builder.draw.marks import figures as figures_of

if TYPE_CHECKING:
    from PIL import Image, ImageDraw
    from PIL.PngImagePlugin import PngInfo

_FINER, _FINE_ENOUGH = 4, 2  # times the size; the latter for large squares, which are smooth already
_LARGE = 80  # pixels
LABEL_FACE = glyphs.FONTS / "SourceSerif4-Regular.ttf"


def board_png(view: BoardView, *, pixels: int = 480, palette: Palette = PLAIN) -> bytes:
    """A PNG file's bytes; `pixels` is its width, at least 100.

    Raises ValueError when the view's placement is malformed or `pixels` too few.
    """
    from PIL import Image

    target = BytesIO()
    small = board_picture(view, pixels, palette)
    shades = small.quantize(palette=shades_of(palette), dither=Image.Dither.NONE)
    shades.save(target, "PNG", optimize=True, pnginfo=_signed())
    return target.getvalue()


def board_picture(view: BoardView, pixels: int, palette: Palette) -> Image.Image:
    """The same in all its shades, as a part of a larger picture."""
    from PIL import Image, ImageDraw, ImageFont

    if pixels < 100:
        raise ValueError(f"a board of {pixels} pixels can't be read")
    square, left, top, height = sizes(view, pixels)
    finer = _FINER if square < _LARGE else _FINE_ENOUGH
    fine = square * finer
    origin = (left * finer, top * finer)
    picture = Image.new("RGB", (pixels * finer, height * finer), palette.paper)
    pen = ImageDraw.Draw(picture)
    face = ImageFont.truetype(glyphs.BOARD_FILE, fine)
    for row, line in enumerate(glyphs.lines(view)):
        pen.text((origin[0], origin[1] + row * fine), line, fill=palette.ink, font=face)
    _frame(pen, origin, fine, palette)
    for figure in figures_of(view):
        _Figures(pen, origin, fine, palette).draw(figure)
    return picture.resize((pixels, height), Image.Resampling.BOX)


def _signed() -> PngInfo:
    """By whom the picture is (PNG, 11.3.3.2: keyword Software)."""
    from PIL.PngImagePlugin import PngInfo

    signed = PngInfo()
    signed.add_text("Software", "Plyleaf")
    return signed


def shades_of(palette: Palette) -> Image.Image:
    """Steps between the three colours, as the palette of a file a third of the size."""
    from PIL import Image, ImageColor

    ink, paper, mark = (
        ImageColor.getrgb(colour)[:3] for colour in (palette.ink, palette.paper, palette.mark)
    )
    colours: list[int] = []
    for one, other, steps in ((ink, paper, 33), (mark, paper, 24), (ink, mark, 7)):
        for step in range(steps):
            colours += [round(a + (b - a) * step / (steps - 1))
                        for a, b in zip(one, other, strict=True)]  # fmt: skip
    made = Image.new("P", (1, 1))
    made.putpalette(colours)
    return made


def sizes(view: BoardView, pixels: int) -> tuple[int, int, int, int]:
    """Side of a square, left and top of the squares, height of the picture, in pixels."""
    furnished = view.coordinates or view.white_to_move is not None
    beside = layout.LEFT + layout.RIGHT if furnished else 2 * layout.TOP
    square = int(pixels / (8 + beside))
    top = round(square * layout.TOP)
    below = round(square * (layout.BOTTOM if view.coordinates else layout.TOP))
    return square, (pixels - 8 * square) // 2, top, top + 8 * square + below


def _frame(pen: ImageDraw.ImageDraw, origin: Point, fine: int, palette: Palette) -> None:
    for inner, width in ((0.0, layout.THIN), (layout.THIN + layout.GAP, layout.BOLD)):
        outer, thick = round((inner + width) * fine), max(1, round(width * fine))
        x, y, far = origin[0] - outer, origin[1] - outer, 8 * fine + 2 * outer - 1
        pen.rectangle((x, y, x + far, y + far), outline=palette.ink, width=thick)


class _Figures:
    """Draws annotation figures over a board."""

    def __init__(self, pen: ImageDraw.ImageDraw, origin: Point, fine: int,
                 palette: Palette) -> None:  # fmt: skip
        self._pen = pen
        self._origin = origin
        self._fine = fine
        self._palette = palette

    def draw(self, figure: Figure) -> None:
        colour = self._palette.ink if figure.kind == "last" else self._palette.mark
        for shape in figure.shapes:
            self._shape(shape, self._palette.paper, 2 * CASE)
        for shape in figure.shapes:
            self._shape(shape, colour, 0.0)

    def _shape(self, shape: Shape, colour: str, wider: float) -> None:
        if isinstance(shape, Stroke):
            for path in shape.paths:
                self._line(path, colour, shape.width + wider)
        elif isinstance(shape, Ring):
            rim = circle(shape.centre, shape.radius)
            if shape.full and not wider:
                self._pen.polygon([self._at(point) for point in rim], fill=self._palette.paper)
            self._line((*rim, rim[0]), colour, shape.width + wider)
        elif isinstance(shape, Area):
            self._area(shape, colour, wider)
        elif not wider:
            self._words(shape)

    def _area(self, area: Area, colour: str, wider: float) -> None:
        around = (*area.corners, area.corners[0])
        ground = self._palette.paper if area.line else colour
        self._pen.polygon([self._at(point) for point in area.corners], fill=ground)
        if area.line or wider:
            self._line(around, colour, area.line + wider)

    def _words(self, words: Words) -> None:
        from PIL import ImageFont

        face = ImageFont.truetype(LABEL_FACE, round(words.size * self._fine))
        x, y = self._at((words.centre[0], words.centre[1] + words.size * HALF_CAPITAL))
        self._pen.text((x, y), words.text, fill=self._palette.ink, font=face, anchor="ms")

    def _line(self, path: tuple[Point, ...], colour: str, width: float) -> None:
        points = [self._at(point) for point in path]
        radius = width * self._fine / 2
        for x, y in points:
            self._pen.ellipse((x - radius, y - radius, x + radius, y + radius), fill=colour)
        self._pen.line(points, fill=colour, width=round(2 * radius))

    def _at(self, point: Point) -> Point:
        return (self._origin[0] + point[0] * self._fine, self._origin[1] + point[1] * self._fine)
