"""The pieces' paths as ink: strokes widened, areas joined, everything ready to be filled.

Used when the fonts are made, and only then: it needs skia-pathops.
"""

from __future__ import annotations

import re

import pathops

from builder.draw import layout, pieces


def path(data: str) -> pathops.Path:
    """A path from SVG path data that uses the absolute commands M, L, C and Z."""
    made = pathops.Path()
    pen = made.getPen(allow_open_paths=True)
    is_open = False
    for command, numbers in re.findall(r"([MLCZ])([^MLCZ]*)", data):
        values = [float(number) for number in numbers.split()]
        points = list(zip(values[::2], values[1::2], strict=True))
        if command == "M":
            if is_open:
                pen.endPath()
            pen.moveTo(points[0])
            is_open = True
        elif command == "L":
            for point in points:
                pen.lineTo(point)
        elif command == "C":
            for at in range(0, len(points), 3):
                pen.curveTo(*points[at : at + 3])
        else:
            pen.closePath()
            is_open = False
    if is_open:
        pen.endPath()
    return made


def widened(shape: pathops.Path, width: float) -> pathops.Path:
    """The shape's outline as a stroke of that width with round ends and corners."""
    made = pathops.Path(shape)
    made.stroke(width, pathops.LineCap.ROUND_CAP, pathops.LineJoin.ROUND_JOIN, 4)
    made.convertConicsToQuads()
    made.simplify(fix_winding=True)
    return made


def joined(*shapes: pathops.Path) -> pathops.Path:
    made = pathops.Path()
    for shape in shapes:
        made = pathops.op(made, shape, pathops.PathOp.UNION)
    return made


def without(shape: pathops.Path, *cuts: pathops.Path) -> pathops.Path:
    for cut in cuts:
        shape = pathops.op(shape, cut, pathops.PathOp.DIFFERENCE)
    return shape


def within(shape: pathops.Path, frame: pathops.Path) -> pathops.Path:
    return pathops.op(shape, frame, pathops.PathOp.INTERSECTION)


def silhouette(piece: pieces.Piece, outline: float = pieces.OUTLINE) -> pathops.Path:
    """The piece out to the outer edge of its outline."""
    body = path(piece.body)
    body.simplify(fix_winding=True)
    return joined(body, widened(body, outline))


def white_ink(piece: pieces.Piece, outline: float = pieces.OUTLINE,
              line: float = pieces.LINE, engraved: bool = True) -> pathops.Path:  # fmt: skip
    """What is printed of White's piece, with or without the engraver's cuts."""
    body = path(piece.body)
    body.simplify(fix_winding=True)
    inner = joined(widened(path(piece.lines), line), path(piece.solid),
                   path(piece.shade if engraved else ""))  # fmt: skip
    return joined(widened(body, outline), within(inner, body))


def black_ink(piece: pieces.Piece, outline: float = pieces.OUTLINE,
              line: float = pieces.LINE, engraved: bool = True) -> pathops.Path:  # fmt: skip
    """What is printed of Black's piece, with or without the engraver's cuts."""
    body = path(piece.body)
    body.simplify(fix_winding=True)
    inner = joined(widened(path(piece.lines), line),
                   path(piece.shine if engraved else ""))  # fmt: skip
    # Keep a rim as wide as White's outline, so that no white line runs into the paper.
    core = without(body, widened(body, outline * 0.9))
    return without(silhouette(piece, outline), within(inner, core))


def hatch() -> pathops.Path:
    """The lines of a dark square, rising to the right, clipped to the square."""
    size = pieces.SQUARE
    half = layout.HATCH * size * 2**0.5 / 2  # half the line's width along the rank
    made = pathops.Path()
    pen = made.getPen()
    for middle in range(0, 2 * size + 1, round(layout.HATCH_STEP * size)):
        # the band middle - half <= x + y <= middle + half
        pen.moveTo((middle - half + 2 * size, -2 * size))
        pen.lineTo((middle + half + 2 * size, -2 * size))
        pen.lineTo((middle + half - 2 * size, 2 * size))
        pen.lineTo((middle - half - 2 * size, 2 * size))
        pen.closePath()
    made.simplify(fix_winding=True)
    return within(made, rectangle(0, 0, size, size))


def rectangle(left: float, top: float, right: float, bottom: float) -> pathops.Path:
    return path(f"M{left} {top}L{right} {top}L{right} {bottom}L{left} {bottom}Z")
