"""Pages with bleed, and marks round them for cutting, folding and register.

In: the pages of a PDF of pydyf's that have a trim box. Out: their boxes as a printer's shop needs
them (ISO 32000-1, 14.11.2): the media box holds the bleed box, which holds the trim box. Marks
stand outside the bleed, as an artifact (14.8.2.2), so that nobody has them read out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pydyf

from builder.press.geometry import POINTS, Box

# Millimetres; common practice, no source.
OFF = 3.0  # from the cut, where the bleed is narrower
LENGTH = 5.0
EDGE = 2.0  # from the marks to the sheet's edge
CIRCLE = 1.5  # a register mark's radius
WIDTH = 0.25  # points, as thin as a preflight allows


@dataclass(frozen=True, slots=True)
class Cut:
    """How pages are to be cut, in millimetres: the bleed, whether marks stand round them, and
    `folds` from the left edge of the trimmed page."""

    bleed: float = 0.0
    marks: bool = False
    folds: tuple[float, ...] = ()

    @property
    def margin(self) -> float:
        """From the trimmed page to the sheet's edge."""
        return max(OFF, self.bleed) + LENGTH + EDGE if self.marks else self.bleed


def cut_pages(pdf: pydyf.PDF, cut: Cut) -> None:
    """Sets the pages' boxes and draws the marks."""
    for reference in pdf.page_references:
        page = pdf.objects[int(reference.split()[0])]
        trim = Box(*map(float, page["TrimBox"]))
        page["BleedBox"] = _rectangle(trim.grown(cut.bleed * POINTS))
        page["MediaBox"] = _rectangle(trim.grown(cut.margin * POINTS))
        if cut.marks:
            marks = pydyf.Stream([marks_round(trim, cut)], compress=True)
            pdf.add_object(marks)
            # First, so that the page's own drawing can't leave them another state.
            page["Contents"] = pydyf.Array([marks.reference, page["Contents"]])


def _rectangle(box: Box) -> pydyf.Array:
    sides = (box.left, box.bottom, box.right, box.top)
    return pydyf.Array([round(side, 4) for side in sides])


def marks_round(trim: Box, cut: Cut) -> bytes:
    """PDF operators that draw the marks round a trimmed page."""
    off = max(OFF, cut.bleed) * POINTS
    out = off + LENGTH * POINTS
    cuts = "".join(_line(*line) for line in _cuts(trim, off, out))
    folds = "".join(
        _line(x, y, x, y + way * LENGTH * POINTS)
        for x in (trim.left + fold * POINTS for fold in cut.folds)
        for y, way in ((trim.bottom - off, -1), (trim.top + off, 1))
    )
    registers = "".join(_register(x, y) for x, y in _middles(trim, (off + out) / 2, cut.folds))
    return (f"/Artifact <</Type /Page>> BDC\nq 0 G {WIDTH} w\n{cuts}{registers}"
            f"[2 1.5] 0 d\n{folds}Q\nEMC\n").encode("ascii")  # fmt: skip


def _cuts(trim: Box, off: float, out: float) -> Iterator[tuple[float, float, float, float]]:
    """Two lines at each corner, which stop short of the bleed."""
    for x, way in ((trim.left, -1), (trim.right, 1)):
        for y in (trim.bottom, trim.top):
            yield x + way * off, y, x + way * out, y
    for y, way in ((trim.bottom, -1), (trim.top, 1)):
        for x in (trim.left, trim.right):
            yield x, y + way * off, x, y + way * out


def _middles(trim: Box, away: float, folds: Sequence[float]) -> Iterator[tuple[float, float]]:
    """Register marks in the middle of each side; where a fold is marked there, beside it."""
    across, up = (trim.left + trim.right) / 2, (trim.bottom + trim.top) / 2
    if folds:
        across = trim.left + folds[0] * POINTS / 2
    for y in (trim.bottom - away, trim.top + away):
        yield across, y
        if folds:
            yield trim.right - (across - trim.left), y
    for x in (trim.left - away, trim.right + away):
        yield x, up


def _line(x: float, y: float, to_x: float, to_y: float) -> str:
    return f"{x:.3f} {y:.3f} m {to_x:.3f} {to_y:.3f} l S\n"


def _register(x: float, y: float) -> str:
    """A cross in a circle; the circle of four Bézier curves (0.5523 of the radius)."""
    r, k = CIRCLE * POINTS, 0.5523 * CIRCLE * POINTS
    reach = LENGTH / 2 * POINTS
    curves = "".join(
        f"{x + a:.3f} {y + b:.3f} {x + c:.3f} {y + d:.3f} {x + e:.3f} {y + f:.3f} c "
        for a, b, c, d, e, f in ((r, k, k, r, 0, r), (-k, r, -r, k, -r, 0),
                                 (-r, -k, -k, -r, 0, -r), (k, -r, r, -k, r, 0))
    )  # fmt: skip
    return (f"{x + r:.3f} {y:.3f} m {curves}s\n"
            + _line(x - reach, y, x + reach, y) + _line(x, y - reach, x, y + reach))  # fmt: skip
