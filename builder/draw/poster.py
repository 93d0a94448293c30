"""A picture of words and a board: an EPUB's cover, and what a shared link shows.

In: a few short texts and a view of a board. Out: a PNG. Words that don't fit are set smaller, and
at the smallest size cut with an ellipsis. The same input gives the same bytes with the same
version of Pillow.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from builder.draw import glyphs
from builder.draw.board import BoardView
from builder.draw.figures_svg import Palette
from builder.draw.png import board_picture, shades_of

if TYPE_CHECKING:
    from PIL import Image, ImageFont

PALETTE = Palette(ink="#221e19", paper="#fcfaf5", mark="#8a2c1b")
_FADED = "#665d51"
_FACES = {"roman": "SourceSerif4-Regular.ttf", "italic": "SourceSerif4-It.ttf"}
_LEADING = 1.16  # from line to line, in sizes


@dataclass(frozen=True, slots=True)
class Poster:
    """`over` stands above the title, `under` below it, `foot` at the foot; each may be empty, and
    `board` None."""

    title: str
    over: str = ""
    under: str = ""
    foot: str = ""
    board: BoardView | None = None


def plain_view(view: BoardView) -> BoardView:
    """The same position without coordinates, marks and the sign of the side to move."""
    return BoardView(view.placement, flip=view.flip, coordinates=False)


@dataclass(frozen=True, slots=True)
class _Box:
    """Where words go, in pixels."""

    left: int
    top: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class _Type:
    """A face, its size in pixels, and the part of the size down to which it may be set smaller."""

    face: str
    size: int
    least: float = 0.5

    def sizes(self) -> range:
        return range(self.size, int(self.size * self.least) - 1, -max(1, self.size // 20))


@dataclass(frozen=True, slots=True)
class _Room:
    """What words must fit into; lengths in pixels."""

    width: int
    lines: int
    height: int = 10_000


@dataclass(frozen=True, slots=True)
class _Set:
    """Words in lines, at a size in pixels; `step` is from line to line."""

    lines: tuple[str, ...]
    size: int
    step: int

    @property
    def height(self) -> int:
        return self.step * len(self.lines)


def wide(poster: Poster) -> bytes:
    """1200 × 630 pixels, what pages that show links expect (common practice): the board at the
    right, the words beside it."""
    picture = _blank(1200, 630)
    edge = 72
    board = 0 if poster.board is None else 500
    if poster.board is not None:
        _put_board(picture, poster.board, board, (1200 - edge - board + 22, None))
    _Words(picture).column(poster, _Box(edge, edge, 1200 - 2 * edge - (board and board + 36),
                                        630 - 2 * edge), 76)  # fmt: skip
    return _png(picture)


def tall(poster: Poster) -> bytes:
    """1200 × 1800 pixels, a book's cover: the words above, the board below."""
    picture = _blank(1200, 1800)
    edge = 130
    words = _Words(picture)
    if poster.board is None:
        words.column(poster, _Box(edge, 260, 1200 - 2 * edge, 1280), 150)
        return _png(picture)
    _put_board(picture, poster.board, 946, (127, 690))
    words.column(poster, _Box(edge, 150, 1200 - 2 * edge, 510), 128, foot_at=1740)
    return _png(picture)


class _Words:
    """Sets a poster's words on a picture."""

    def __init__(self, picture: Image.Image) -> None:
        from PIL import ImageDraw

        self._pen = ImageDraw.Draw(picture)

    def column(self, poster: Poster, box: _Box, size: int, foot_at: int | None = None) -> None:
        """The texts under each other, a red rule under the title; the foot by itself at the end
        of the box, or with its base line at `foot_at`."""
        small, gap = round(size * 0.36), round(size * 0.5)
        over = self._fitted(poster.over, _Type("roman", small), _Room(box.width, 1))
        foot = self._fitted(poster.foot, _Type("roman", small), _Room(box.width, 1))
        under_size = round(size * 0.44)
        free = box.height - over.height - 3 * gap
        free -= foot.height + gap if foot_at is None else 0
        kept = round(2 * under_size * _LEADING) if poster.under else 0
        title = self._fitted(poster.title, _Type("roman", size), _Room(box.width, 5, free - kept))
        under = self._fitted(poster.under, _Type("italic", under_size, least=0.8),
                             _Room(box.width, 3, free - title.height))  # fmt: skip
        top = self._lines(over, "roman", _FADED, box.left, box.top)
        top = self._lines(title, "roman", PALETTE.ink, box.left, top + (gap if over.lines else 0))
        rule = top + round(gap * 0.7)
        self._pen.rectangle((box.left, rule, box.left + size, rule + max(1, size // 40)),
                            fill=PALETTE.mark)  # fmt: skip
        self._lines(under, "italic", _FADED, box.left, rule + round(gap * 0.8))
        base = box.top + box.height if foot_at is None else foot_at
        self._lines(foot, "roman", _FADED, box.left, base - foot.height)

    def _lines(self, words: _Set, face: str, colour: str, left: int, top: int) -> int:
        """Draws the lines; where the next thing may begin."""
        font = _font(face, words.size)
        for number, line in enumerate(words.lines):
            base = top + words.step * number + round(words.size * 0.94)
            self._pen.text((left, base), line, fill=colour, font=font, anchor="ls")
        return top + words.height

    def _fitted(self, text: str, type_: _Type, room: _Room) -> _Set:
        """The text as large as it fits without a broken word."""
        text = " ".join(text.split())
        if not text:
            return _Set((), type_.size, 0)
        for tried in type_.sizes():
            font = _font(type_.face, tried)
            lines, step = tuple(_broken(text, font, room.width)), round(tried * _LEADING)
            whole = " ".join(lines) == text
            if whole and len(lines) <= room.lines and step * len(lines) <= room.height:
                return _Set(lines, tried, step)
        most = max(1, min(room.lines, room.height // step))
        return _Set(lines if len(lines) <= most else _cut(lines[:most], font, room.width), tried,
                    step)  # fmt: skip


def _broken(text: str, font: ImageFont.FreeTypeFont, width: int) -> Iterator[str]:
    """The lines of a text; a word wider than the line is broken where the line ends."""
    line = ""
    for word in text[:400].split(" "):
        longer = f"{line} {word}".strip()
        if font.getlength(longer) <= width:
            line = longer
            continue
        if line:
            yield line
        while font.getlength(word) > width and len(word) > 1:
            fits = next(count for count in range(len(word) - 1, 0, -1)
                        if count == 1 or font.getlength(word[:count]) <= width)  # fmt: skip
            yield word[:fits]
            word = word[fits:]
        line = word
    yield line


def _cut(lines: Sequence[str], font: ImageFont.FreeTypeFont, width: int) -> tuple[str, ...]:
    last = lines[-1]
    while last and font.getlength(f"{last}…") > width:
        last = last[:-1]
    return (*lines[:-1], f"{last.rstrip(' ,;:.')}…")


def _font(face: str, size: int) -> ImageFont.FreeTypeFont:
    from PIL import ImageFont

    return ImageFont.truetype(glyphs.FONTS / _FACES[face], size)


def _blank(width: int, height: int) -> Image.Image:
    from PIL import Image

    return Image.new("RGB", (width, height), PALETTE.paper)


def _put_board(picture: Image.Image, view: BoardView, pixels: int,
               corner: tuple[int, int | None]) -> None:  # fmt: skip
    """At that corner; without a top in the middle of the height."""
    left, top = corner
    board = board_picture(view, pixels, PALETTE)
    picture.paste(board, (left, (picture.height - board.height) // 2 if top is None else top))


def _png(picture: Image.Image) -> bytes:
    """In the shades of a board's picture: a third of the bytes."""
    from PIL import Image

    target = BytesIO()
    shades = picture.quantize(palette=shades_of(PALETTE), dither=Image.Dither.NONE)
    shades.save(target, "PNG", optimize=True)
    return target.getvalue()
