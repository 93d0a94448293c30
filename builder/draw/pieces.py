"""The pieces: one set of outlines that every form of the board is made from.

A square is 1000 by 1000 units, y downwards. `body` is the silhouette, closed, to be stroked
with `OUTLINE` and filled: with paper for White, with ink for Black. `lines` are open strokes
of width `LINE` inside the body, in ink on White's piece, in paper on Black's. `solid` are
areas that are filled with ink on White's piece too. `shade` are areas in ink on White's piece,
on the side away from the light; `shine` areas in paper on Black's, on the lit side: tapering
cuts as a wood engraver makes them, left out of the figurines, which are too small for them.

Five of the pieces are turned on a lathe: their profile is written once, from the axis at the
top to the axis at the foot, and the other half is its mirror. The outlines are this project's
own drawings. They use only the absolute commands M, L, C and Z.
"""

from __future__ import annotations

from dataclasses import dataclass

SQUARE = 1000
OUTLINE = 40
LINE = 28
HALO = 44  # paper round a piece on a dark square, beyond the outline
AXIS = 500
CUT = 30  # the engraver's cuts at their broad end


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece's drawing, as SVG path data."""

    body: str
    lines: str
    shade: str
    shine: str
    solid: str = ""


def _turned(*profile: str) -> str:
    """A closed outline from the right half's profile; x counts from the axis.

    Each step is `x y` (a straight line to there) or `x1 y1 x2 y2 x y` (a curve to there).
    """
    steps = []
    for step in profile:
        numbers = [int(number) for number in step.split()]
        steps.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    right = [_step(points, AXIS, 1) for points in steps[1:]]
    left = []
    for before, points in zip(steps[-2::-1], steps[:0:-1], strict=True):
        left.append(_step([*reversed(points[:-1]), before[-1]], AXIS, -1))
    return f"M{AXIS + steps[0][0][0]} {steps[0][0][1]}{''.join(right + left)}Z"


def _step(points: list[tuple[int, int]], axis: int, side: int) -> str:
    drawn = " ".join(f"{axis + side * x} {y}" for x, y in points)
    return ("L" if len(points) == 1 else "C") + drawn


def _across(*strokes: tuple[int, int]) -> str:
    """Level lines of the given half width at the given height."""
    return "".join(f"M{AXIS - half} {y}L{AXIS + half} {y}" for half, y in strokes)


def _cuts(*cuts: tuple[int, int, int]) -> str:
    """Level cuts on the right: broad at `x` from the axis, at height `y`, `length` long."""
    return "".join(
        f"M{AXIS + x} {y - CUT // 2}L{AXIS + x - length} {y}L{AXIS + x} {y + CUT // 2}Z"
        for x, y, length in cuts
    )


def _gleams(*cuts: tuple[int, int, int]) -> str:
    """Level cuts on the left, as `_cuts`, sharp at both ends."""
    return "".join(
        f"M{AXIS - x} {y}L{AXIS - x + 30} {y - CUT // 2}L{AXIS - x + length} {y}"
        f"L{AXIS - x + 30} {y + CUT // 2}Z"
        for x, y, length in cuts
    )


PAWN = Piece(
    body=_turned(
        "0 262", "64 262 116 312 116 378", "116 420 96 452 66 474", "140 506", "140 544",
        "78 552", "86 640 124 706 176 752", "200 774 240 790 240 820", "240 874", "0 874",
    ),
    lines=_across((60, 550), (214, 820)),
    shade=_cuts((112, 340, 70), (116, 388, 90), (104, 436, 80),
                (90, 610, 60), (104, 656, 80), (130, 702, 110), (170, 748, 140)),
    shine=_gleams((84, 340, 70), (86, 388, 96), (76, 436, 80),
                  (62, 610, 60), (80, 656, 90), (104, 702, 120), (144, 748, 150)),
)  # fmt: skip
ROOK = Piece(
    body=_turned(
        "0 188", "60 188", "60 252", "122 252", "122 188", "224 188", "224 330",
        "164 392", "172 690", "182 742 216 760 250 776", "266 784 276 800 276 820",
        "276 874", "0 874",
    ),
    lines=_across((200, 330), (140, 392), (150, 690), (250, 820)),
    shade=_cuts((164, 444, 110), (166, 492, 90), (167, 540, 120), (168, 588, 90),
                (169, 636, 110), (210, 290, 60)),
    shine=_gleams((132, 444, 110), (134, 492, 90), (135, 540, 120), (136, 588, 90),
                  (137, 636, 110)),
)  # fmt: skip
BISHOP = Piece(
    body=_turned(
        "0 92", "30 92 52 114 52 142", "52 164 40 182 22 192",
        "104 250 176 348 176 444", "176 510 144 560 98 596", "168 622", "168 664", "94 672",
        "104 720 150 750 206 774", "250 790 274 802 274 820", "274 874", "0 874",
    ),
    lines=_across((80, 668), (248, 820)) + "M622 292L530 420",
    shade=_cuts((172, 406, 70), (178, 454, 110), (168, 502, 120), (140, 550, 110),
                (110, 716, 70), (170, 760, 120)),
    shine=_gleams((104, 310, 60), (130, 358, 80), (144, 406, 100), (148, 454, 120),
                  (138, 502, 110), (110, 550, 90), (84, 716, 70), (150, 760, 120)),
)  # fmt: skip
QUEEN = Piece(
    body=_turned(
        "0 98", "30 98 52 120 52 148", "52 170 40 188 22 196",
        "78 410", "150 238", "126 224 122 190 142 170", "164 150 198 156 210 184",
        "220 210 208 234 184 242", "186 432", "288 320", "268 302 272 270 296 256",
        "322 244 350 256 356 282", "360 310 344 332 318 334",
        "232 606", "170 660 166 720 220 776", "260 792 286 804 286 820", "286 874", "0 874",
    ),
    lines=_across((262, 820)) + "M276 612C400 574 600 574 724 612M318 684C420 656 580 656 682 684",
    shade=_cuts((290, 440, 60), (276, 488, 110), (260, 536, 130), (190, 736, 110), (214, 776, 120)),
    shine=_gleams((254, 440, 60), (240, 488, 110), (222, 536, 130), (160, 736, 110)),
)
_CROSS = (
    "M464 58L536 58L524 108L584 92L584 170L524 154L532 230"
    "L468 230L476 154L416 170L416 92L476 108Z"
)
KING = Piece(
    body=_turned(
        "0 58", "36 58", "24 108", "84 92", "84 170", "24 154", "32 238",
        "78 258 86 296 66 330", "116 276 186 254 250 276", "330 306 350 396 300 480",
        "268 528 240 570 230 614", "170 662 168 720 222 776", "260 792 286 804 286 820",
        "286 874", "0 874",
    ),
    lines=_across((262, 820)) + "M278 618C400 580 600 580 722 618M318 686C420 658 580 658 682 686"
    "M500 366L500 560",
    solid=_CROSS,
    shade=_cuts((320, 344, 90), (326, 392, 120), (316, 440, 140), (296, 488, 140),
                (262, 536, 110), (190, 736, 110), (216, 776, 140)),
    shine=_gleams((284, 344, 90), (290, 392, 120), (282, 440, 140), (256, 488, 140),
                  (228, 536, 110), (160, 736, 110)),
)  # fmt: skip
_MANE = (
    "M446 196C540 250 592 330 608 430C624 540 626 690 630 786L602 786C598 690 596 540 580 434"
    "C562 340 522 270 446 196Z"
    "M606 284L524 292L608 314ZM660 344L560 358L676 376ZM700 448L606 440L704 480Z"
    "M722 516L626 518L730 546ZM742 592L640 596L744 622ZM734 658L640 656L736 690Z"
    "M746 732L640 728L748 762Z"
)
_FACE = (
    "M318 386C334 360 364 348 388 360C378 386 346 400 318 386Z"
    "M196 566C204 548 222 544 234 554C228 572 212 578 196 566Z"
)
KNIGHT = Piece(
    body=(
        "M216 874L216 820C216 806 230 796 252 790C256 726 320 672 382 628"
        "C428 596 452 572 458 532C424 560 384 572 350 590C322 606 312 640 282 662"
        "C254 676 228 662 226 638C192 640 162 610 164 572C166 536 194 502 216 462"
        "C238 420 248 378 276 340C292 314 318 290 342 266C336 216 346 152 366 92"
        "C402 118 432 152 446 196C500 176 572 206 614 258L600 290"
        "C664 316 710 372 722 440L692 458C736 510 760 580 758 652L726 664"
        "C748 710 754 752 750 790C772 796 784 806 784 820L784 874Z"
    ),
    lines="M242 820L758 820M458 532C484 500 490 458 474 418",
    solid=_FACE,
    shade=_MANE,
    shine=_FACE + _MANE,
)

PIECES = {"K": KING, "Q": QUEEN, "R": ROOK, "B": BISHOP, "N": KNIGHT, "P": PAWN}
