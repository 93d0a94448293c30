"""The graphics state of a content stream, as far as a preflight needs it.

In: an operator that sets something, and the resources that it may name. Out: the state after it.
See ISO 32000-1, 8.4 and 9.3.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from pypdf.generic import StreamObject

from builder.press.geometry import Box, Matrix
from builder.press.preflight_fonts import FontFacts, font_facts
from builder.press.preflight_paint import BLACK, Paint, paint_of

_TEXT_STATE = {
    "Tc": ("letter_space", 1.0), "Tw": ("word_space", 1.0), "Tz": ("stretch", 0.01),
    "TL": ("leading", 1.0), "Ts": ("rise", 1.0),
}  # fmt: skip
_DEVICE = {
    "g": "/DeviceGray", "rg": "/DeviceRGB", "k": "/DeviceCMYK",
    "G": "/DeviceGray", "RG": "/DeviceRGB", "K": "/DeviceCMYK",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Resources:
    """What names in a content stream stand for. `fonts` keeps those that were read before."""

    named: Any
    fonts: dict[int, FontFacts]

    def get(self, kind: str, name: Any) -> Any:
        """Raises KeyError."""
        return self.named[kind].get_object()[name].get_object()

    def font(self, font: Any) -> FontFacts:
        reference = getattr(font, "indirect_reference", None)
        key = reference.idnum if reference is not None else -id(font)
        if key not in self.fonts:
            self.fonts[key] = font_facts(font)
        return self.fonts[key]


@dataclass(frozen=True, slots=True)
class State:
    """All of it is kept by `q` and brought back by `Q`."""

    matrix: Matrix
    clip: Box
    group: float = 1.0  # the opacity of the transparency groups round it
    fill: Paint = BLACK
    stroke: Paint = BLACK
    fill_space: Any = "/DeviceGray"
    stroke_space: Any = "/DeviceGray"
    pattern: StreamObject | None = None  # that areas are filled with
    line_width: float = 1.0
    dashed: bool = False
    font: FontFacts | None = None
    font_size: float = 0.0
    letter_space: float = 0.0
    word_space: float = 0.0
    stretch: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    mode: int = 0

    def shown(self, paint: Paint) -> Paint:
        """The paint as it comes through the groups round it."""
        return replace(paint, opacity=paint.opacity * self.group)

    def after(self, name: str, operands: Any, resources: Resources) -> State:
        """The state after an operator; itself after one that sets nothing here."""
        if name == "cm":
            return replace(self, matrix=Matrix(*map(float, operands)).then(self.matrix))
        if name == "w":
            return replace(self, line_width=float(operands[0]))
        if name == "d":
            return replace(self, dashed=any(map(float, operands[0])))
        if name == "gs":
            return self._external(resources.get("/ExtGState", operands[0]), resources)
        if name in ("g", "rg", "k", "cs", "sc", "scn", "G", "RG", "K", "CS", "SC", "SCN"):
            return self._coloured(name, operands, resources)
        if name == "Tf":
            font = resources.font(resources.get("/Font", operands[0]))
            return replace(self, font=font, font_size=float(operands[1]))
        if name in _TEXT_STATE:
            key, scale = _TEXT_STATE[name]
            return replace(self, **{key: float(operands[0]) * scale})
        if name == "Tr":
            return replace(self, mode=int(operands[0]))
        return self

    def _external(self, settings: Any, resources: Resources) -> State:
        state = self
        if "/ca" in settings:
            state = replace(state, fill=replace(state.fill, opacity=float(settings["/ca"])))
        if "/CA" in settings:
            state = replace(state, stroke=replace(state.stroke, opacity=float(settings["/CA"])))
        if "/LW" in settings:
            state = replace(state, line_width=float(settings["/LW"]))
        if "/Font" in settings:
            font, size = settings["/Font"]
            state = replace(state, font=resources.font(font.get_object()), font_size=float(size))
        return state

    def _coloured(self, name: str, operands: Any, resources: Resources) -> State:
        stroke = name.isupper()
        old, space = (self.stroke, self.stroke_space) if stroke else (self.fill, self.fill_space)
        space = _DEVICE.get(name, space)
        pattern = None
        if name in ("cs", "CS"):
            space = operands[0]
            if space not in ("/DeviceGray", "/DeviceRGB", "/DeviceCMYK", "/Pattern"):
                space = resources.get("/ColorSpace", space)
            paint = BLACK
        elif operands and isinstance(operands[-1], str):  # a pattern's name
            pattern = resources.get("/Pattern", operands[-1])
            paint = Paint(None)
        else:
            paint = paint_of(space, [float(value) for value in operands])
        paint = replace(paint, opacity=old.opacity)
        if stroke:
            return replace(self, stroke=paint, stroke_space=space)
        tiling = pattern if isinstance(pattern, StreamObject) else None
        return replace(self, fill=paint, fill_space=space, pattern=tiling)


@dataclass(slots=True)
class Path:
    """A path being built, in the page's points. A part that is only begun draws nothing."""

    points: list[tuple[float, float]] = field(default_factory=list)
    parts: int = 0
    lengths: bool = False  # whether any part has a length
    curved: bool = False
    closed: bool = False
    rectangles: int = 0
    begun: tuple[float, float] | None = None

    def begin(self, point: tuple[float, float]) -> None:
        self.begun = point

    def go(self, point: tuple[float, float]) -> None:
        if self.begun is not None:
            self.points.append(self.begun)
            self.parts += 1
            self.begun = None
        if self.points:
            x, y = self.points[-1]
            self.lengths |= abs(x - point[0]) + abs(y - point[1]) > 0.01
        self.points.append(point)
