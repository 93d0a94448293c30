"""The pieces: one set of outlines that every form of the board is made from.

A square is 1000 by 1000 units, y downwards. `body` is the silhouette, closed, to be stroked
with `OUTLINE` and filled: with paper for White, with ink for Black. `lines` are open strokes
of width `LINE` inside the body, in ink on White's piece, in paper on Black's. `shade` are
filled areas in ink, on White's piece only; `shine` filled areas in paper, on Black's only.

Five of the pieces are turned on a lathe: their profile is written once, from the axis at the
top to the axis at the foot, and the other half is its mirror. The outlines are this project's
own drawings. They use only the absolute commands M, L, C and Z.
"""

from __future__ import annotations

from dataclasses import dataclass

SQUARE = 1000
OUTLINE = 44
LINE = 30
HALO = 46  # paper round a piece on a dark square, beyond the outline
AXIS = 500


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece's drawing, as SVG path data."""

    body: str
    lines: str = ""
    shade: str = ""
    shine: str = ""


def _turned(*profile: str) -> str:
    """A closed outline from the right half's profile; x counts from the axis.

    Each step is `x y` (a straight line to there) or `x1 y1 x2 y2 x y` (a curve to there).
    """
    steps = [tuple(int(number) for number in step.split()) for step in profile]
    right = [f"M{AXIS + steps[0][0]} {steps[0][1]}"]
    for step in steps[1:]:
        points = [f"{AXIS + step[at]} {step[at + 1]}" for at in range(0, len(step), 2)]
        right.append(("L" if len(step) == 2 else "C") + " ".join(points))
    left = []
    for index in range(len(steps) - 1, 0, -1):
        step, end = steps[index], steps[index - 1][-2:]
        back = [(step[at], step[at + 1]) for at in range(0, len(step) - 2, 2)][::-1] + [end]
        points = [f"{AXIS - x} {y}" for x, y in back]
        left.append(("L" if len(step) == 2 else "C") + " ".join(points))
    return "".join(right + left) + "Z"


def _across(*strokes: tuple[int, int]) -> str:
    """Level lines of the given half width at the given height."""
    return "".join(f"M{AXIS - half} {y}L{AXIS + half} {y}" for half, y in strokes)


_FOOT = ("214 772", "236 800", "262 812", "262 868", "0 868")

PAWN = Piece(
    body=_turned(
        "0 300", "60 300 108 348 108 406", "108 446 88 478 62 496", "128 524", "128 556",
        "72 562", "78 650 112 718 176 762", "196 788", "222 806", "222 868", "0 868",
    ),
    lines=_across((64, 560), (170, 790)),
)
ROOK = Piece(
    body=_turned(
        "0 222", "54 222", "54 280", "112 280", "112 222", "206 222", "206 352",
        "150 410", "160 690", "214 772", *_FOOT[1:],
    ),
    lines=_across((200, 352), (146, 410), (158, 694), (214, 790)),
)
BISHOP = Piece(
    body=_turned(
        "0 124", "28 124 48 144 48 170", "48 190 38 206 22 214",
        "96 262 158 352 158 432", "158 490 132 540 92 576", "150 600", "150 636", "84 642",
        "92 700 130 740 190 768", *_FOOT[1:],
    ),
    lines=_across((76, 640), (200, 790)) + "M604 300L500 430",
)
QUEEN = Piece(
    body=_turned(
        "0 150", "26 150 46 170 46 194", "46 212 36 226 22 234",
        "70 420", "140 262", "116 250 112 216 132 198", "152 180 184 186 196 212",
        "204 236 194 258 172 266", "170 440", "262 340", "244 320 248 288 272 276",
        "296 266 322 278 328 302", "332 328 316 348 294 350",
        "220 600", "150 660 150 720 200 770", *_FOOT[1:],
    ),
    lines=_across((190, 600), (165, 660), (210, 790)),
)
KING = Piece(
    body=_turned(
        "0 70", "34 70", "34 122", "86 122", "86 182", "34 182", "34 250",
        "70 268 76 300 60 330", "110 280 180 262 240 282", "310 308 326 390 280 470",
        "256 512 226 560 214 610", "160 670 160 720 206 770", *_FOOT[1:],
    ),
    lines=_across((200, 610), (172, 664), (210, 790)),
)
KNIGHT = Piece(
    body=(
        "M262 868L262 812C262 740 300 690 360 640C410 600 446 580 452 546"
        "C408 560 372 572 340 596C322 612 310 640 284 650C262 658 250 640 246 632"
        "C228 640 206 634 196 612C186 588 196 566 208 548C236 500 262 452 284 396"
        "C296 362 316 330 348 306C352 270 366 206 388 156C412 180 440 206 452 236"
        "C600 260 730 420 738 640C740 700 738 760 738 812L762 812L762 868Z"
    ),
    lines="M300 790L700 790M330 420C345 400 365 395 380 400",
)

PIECES = {"K": KING, "Q": QUEEN, "R": ROOK, "B": BISHOP, "N": KNIGHT, "P": PAWN}
