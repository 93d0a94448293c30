"""What a page puts on paper, read from the operators of its content stream.

In: a page of pypdf. Out: its ink, in the order of painting. Forms and tiling patterns are walked
into. See ISO 32000-1, annex A for the operators.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream, DictionaryObject, StreamObject

from builder.press.geometry import Box, Matrix, PageShape, box_of, moved
from builder.press.preflight_fonts import FontFacts
from builder.press.preflight_ink import Drawn, Form, Image, Ink, Text
from builder.press.preflight_paint import Paint
from builder.press.preflight_state import Path, Resources, State

DEEPEST = 12  # forms in one another
MOST_OPERATORS = 5_000_000  # of a document; a book of 500 pages has about a million
ASCENT, DESCENT = 0.75, 0.22  # of the font size: about what letters reach (common practice)


class TooMuch(Exception):
    """A document that would take for ever; the text says what is too much."""


@dataclass(slots=True)
class Budget:
    """How much of a document may still be walked, and the fonts that were read."""

    reader: PdfReader
    operators: int = MOST_OPERATORS
    fonts: dict[int, FontFacts] = field(default_factory=dict)


def page_ink(page: Any, shape: PageShape, budget: Budget) -> list[Ink]:
    """Everything that the page prints, in the order of painting. Raises TooMuch."""
    contents = page.get_contents()
    if contents is None:
        return []
    resources = page.get("/Resources") or DictionaryObject()
    state = State(shape.upright, shape.bleed)
    return list(_Walk(budget, resources.get_object(), state, 0).walk(contents))


class _Walk:
    """One content stream. Forms inside are walked by a walk of their own."""

    def __init__(self, budget: Budget, named: Any, state: State, depth: int) -> None:
        self._budget = budget
        self._resources = Resources(named, budget.fonts)
        self._state = state
        self._base = state.matrix
        self._depth = depth
        self._saved: list[State] = []
        self._path = Path()
        self._clipping = False
        self._text = self._line = Matrix()

    def walk(self, contents: ContentStream) -> Iterator[Ink]:
        for operands, operator in contents.operations:
            self._budget.operators -= 1
            if self._budget.operators < 0:
                raise TooMuch("it draws more than a preflight can look through")
            try:
                found = self._one(operator.decode("latin-1"), operands)
            except (ValueError, TypeError, IndexError, KeyError, AttributeError, OverflowError):
                continue  # a reader passes over what it can't make out
            for ink in found:
                if _meet(ink.box, self._state.clip):
                    yield replace(ink, box=ink.box.within(self._state.clip))

    def _one(self, name: str, operands: Any) -> list[Ink]:
        if name in _PAINTING:
            return self._paint(*_PAINTING[name])
        if name in _TEXT_SHOWING:
            return self._show(name, operands)
        if name == "Do":
            return self._do(operands[0])
        if name == "INLINE IMAGE":
            settings = operands["settings"]
            size = [settings.get(short, settings.get(long))
                    for short, long in (("/W", "/Width"), ("/H", "/Height"))]  # fmt: skip
            return [self._image(int(size[0]), int(size[1]))]
        if name == "sh":
            paint = self._state.shown(Paint(None, self._state.fill.opacity))
            return [Drawn(self._state.clip, paint, Form(True, "one", False, True, False), None)]
        if name in _PATH:
            self._build(name, [float(value) for value in operands])
        elif name in _TEXT_PLACING:
            self._place(name, [float(value) for value in operands])
        else:
            self._set(name, operands)
        return []

    def _set(self, name: str, operands: Any) -> None:
        if name == "q":
            self._saved.append(self._state)
        elif name == "Q":
            if self._saved:
                self._state = self._saved.pop()
        elif name in ("W", "W*"):
            self._clipping = True
        else:
            self._state = self._state.after(name, operands, self._resources)

    # --- paths --------------------------------------------------------------------------------

    def _build(self, name: str, values: list[float]) -> None:
        path, point = self._path, self._state.matrix.point
        if name == "m":
            path.begin(point(*values))
        elif name == "l":
            path.go(point(*values))
        elif name == "re":
            x, y, width, height = values
            path.begin(point(x, y))
            for corner in ((x + width, y), (x + width, y + height), (x, y + height)):
                path.go(point(*corner))
            path.rectangles += 1
            path.closed = True
        elif name == "h":
            path.closed = True
        else:  # c, v, y; the control points make the box a little too large, never too small
            path.curved = True
            for number in range(0, len(values), 2):
                path.go(point(values[number], values[number + 1]))

    def _paint(self, fill: bool, stroke: bool, close: bool) -> list[Ink]:
        path, state = self._path, self._state
        self._path = Path()
        if not path.points:
            self._clipping = False
            return []
        box = box_of(path.points)
        found: list[Ink] = []
        parts = "one" if path.parts < 2 else "many"
        closed = path.closed or close
        if fill and state.pattern is not None:
            found += self._tiles(state.pattern, box)
        elif fill:
            form = Form(True, parts, path.curved, True, False)
            alone = path.rectangles == path.parts == 1
            thin = min(box.size.width, box.size.height) if alone else None
            found.append(Drawn(box, state.shown(state.fill), form, thin))
        if stroke:
            matrix = state.matrix
            width = state.line_width * min(matrix.across, matrix.up)
            form = Form(False, parts if path.lengths else "dots", path.curved, closed, state.dashed)
            found.append(Drawn(box.grown(width / 2), state.shown(state.stroke), form, width))
        if self._clipping:  # what is painted with this very operator is clipped as before
            self._clipping = False
            self._state = replace(state, clip=box.within(state.clip))
        return found

    def _tiles(self, pattern: StreamObject, box: Box) -> list[Ink]:
        """What a tiling pattern holds, each thing as large as the area that is filled."""
        if pattern.get("/PatternType") != 1:
            return []
        inks = self._inside(pattern, self._base, Box(-1e6, -1e6, 1e6, 1e6), self._state)
        return [replace(ink, box=box) for ink in inks]

    # --- pictures and forms -------------------------------------------------------------------

    def _do(self, name: Any) -> list[Ink]:
        thing = self._resources.get("/XObject", name)
        if thing.get("/Subtype") == "/Image":
            return [self._image(int(thing["/Width"]), int(thing["/Height"]))]
        if thing.get("/Subtype") != "/Form":
            return []
        return self._inside(thing, self._state.matrix, self._state.clip, self._state)

    def _inside(self, thing: StreamObject, matrix: Matrix, clip: Box, state: State) -> list[Ink]:
        """A form or pattern walked in its own space. Raises TooMuch."""
        if self._depth >= DEEPEST:
            raise TooMuch("its drawings are nested too deep")
        if "/Matrix" in thing:
            matrix = Matrix(*map(float, thing["/Matrix"])).then(matrix)
        if "/BBox" in thing:
            left, bottom, right, top = map(float, thing["/BBox"])
            clip = matrix.box(box_of(((left, bottom), (right, top)))).within(clip)
        named = thing["/Resources"] if "/Resources" in thing else self._resources.named
        inner = replace(state, matrix=matrix, clip=clip, pattern=None)
        if "/Group" in thing:  # is painted as one, so that the opacity counts for all of it
            inner = replace(inner, group=state.group * state.fill.opacity,
                            fill=replace(state.fill, opacity=1.0),
                            stroke=replace(state.stroke, opacity=1.0))  # fmt: skip
        walk = _Walk(self._budget, named.get_object(), inner, self._depth + 1)
        return list(walk.walk(ContentStream(thing, self._budget.reader)))

    def _image(self, width: int, height: int) -> Image:
        matrix = self._state.matrix
        across = width / (matrix.across / 72) if matrix.across else 0.0
        down = height / (matrix.up / 72) if matrix.up else 0.0
        return Image(matrix.box(Box(0, 0, 1, 1)), min(across, down), (width, height))

    # --- text ---------------------------------------------------------------------------------

    def _place(self, name: str, values: list[float]) -> None:
        if name == "BT":
            self._text = self._line = Matrix()
        elif name == "Tm":
            self._text = self._line = Matrix(*values)
        else:
            if name == "TD":
                self._state = replace(self._state, leading=-values[1])
            x, y = values if name in ("Td", "TD") else (0.0, -self._state.leading)
            self._text = self._line = moved(x, y).then(self._line)

    def _show(self, name: str, operands: Any) -> list[Ink]:
        if name == '"':
            self._state = replace(self._state, word_space=float(operands[0]),
                                  letter_space=float(operands[1]))  # fmt: skip
        if name in ("'", '"'):
            self._place("T*", [])
        pieces = operands[0] if name == "TJ" else operands[-1:]
        text = self._run(pieces)
        return [text] if text else []

    def _run(self, pieces: Any) -> Text | None:
        """Shows strings and moves (in thousandths of an em, backwards) one after another."""
        state = self._state
        font, size = state.font, state.font_size
        if font is None:
            return None
        at = 0.0
        first: float | None = None
        last = 0.0
        letters: list[str] = []
        for piece in pieces:
            if not isinstance(piece, str | bytes):
                at -= float(piece) / 1000 * size * state.stretch
                continue
            for glyph in font.glyphs(_bytes(piece)):
                width = glyph.width * size * state.stretch
                if not glyph.text.isspace():
                    first = at if first is None else first
                    last = at + width
                letters.append(glyph.text)
                space = state.letter_space + (state.word_space if glyph.is_word_space else 0.0)
                at += width + space * state.stretch
        matrix = self._text.then(state.matrix)
        self._text = moved(at, 0).then(self._text)
        if first is None or state.mode in (3, 7):
            return None
        paint = state.shown(state.stroke if state.mode in (1, 5) else state.fill)
        corners = ((first, state.rise - DESCENT * size), (last, state.rise + ASCENT * size))
        return Text(matrix.box(box_of(corners)), "".join(letters).strip(), abs(size) * matrix.up,
                    font, paint, matrix.point(first, state.rise))  # fmt: skip


_PAINTING = {
    "S": (False, True, False), "s": (False, True, True), "f": (True, False, True),
    "F": (True, False, True), "f*": (True, False, True), "B": (True, True, False),
    "B*": (True, True, False), "b": (True, True, True), "b*": (True, True, True),
    "n": (False, False, False),
}  # fmt: skip
_PATH = frozenset(("m", "l", "c", "v", "y", "h", "re"))
_TEXT_SHOWING = frozenset(("Tj", "TJ", "'", '"'))
_TEXT_PLACING = frozenset(("BT", "Tm", "Td", "TD", "T*"))


def _bytes(piece: Any) -> bytes:
    """A string's bytes as they stand in the file."""
    return piece.original_bytes if hasattr(piece, "original_bytes") else bytes(piece)


def _meet(box: Box, clip: Box) -> bool:
    """Whether they share anything, be it the length of a line."""
    return (clip.left <= box.right and box.left <= clip.right
            and clip.bottom <= box.top and box.bottom <= clip.top)  # fmt: skip
