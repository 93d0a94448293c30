"""Boards as SVG: a sheet of symbols once a page, and about a kilobyte a board.

A board stands in HTML as `<svg class="board">` and draws its pieces from the sheet by
`<use>`. Without any style sheet it is ink on white. `STYLE` lets a theme restyle it through
custom properties, each with a default: `--board-ink`, `--board-paper`, `--board-shade` (the
ground of dark squares), `--board-hatch` (their lines), `--board-white` and `--board-black`
(the pieces), `--board-frame`, `--board-mark` (annotations), `--board-words` (coordinates).
"""

from __future__ import annotations

from builder.draw import layout, pieces
from builder.draw.board import PIECES, BoardView, file_letters, rank_digits, rows
from builder.draw.figures_svg import PLAIN, UNIT, figures_svg, xml_text
from builder.draw.marks import figures

STYLE = """\
.board { --_ink: var(--board-ink, #1a1714); --_paper: var(--board-paper, #fff);
  --_mark: var(--board-mark, #7a2e1d); }
.pb-ground { fill: var(--_paper); }
.pb-shade { fill: var(--board-shade, none); }
.pb-hatch { stroke: var(--board-hatch, var(--_ink)); }
.pb-frame { stroke: var(--board-frame, var(--_ink)); }
.pb-coordinates { fill: var(--board-words, var(--_ink)); font-family: inherit; }
.pb-mover { stroke: var(--board-words, var(--_ink)); }
.pb-full { fill: var(--board-words, var(--_ink)); }
.pb-halo { stroke: var(--board-halo, var(--_paper)); }
.pb-white { fill: var(--board-white, var(--_paper)); stroke: var(--board-black, var(--_ink)); }
.pb-black { fill: var(--board-black, var(--_ink)); stroke: var(--board-black, var(--_ink)); }
.pb-white-lines { stroke: var(--board-black, var(--_ink)); }
.pb-black-lines { stroke: var(--board-white, var(--_paper)); }
.pb-white-area { fill: var(--board-black, var(--_ink)); }
.pb-black-area { fill: var(--board-white, var(--_paper)); }
.pb-case { stroke: var(--board-case, var(--_paper)); }
.pb-line { stroke: var(--_mark); }
.pb-fill { fill: var(--_mark); }
.pb-last .pb-line { stroke: var(--_ink); }
.pb-card { fill: var(--_paper); }
.pb-words { fill: var(--_ink); font-family: inherit; }
"""

_SIZE = 8 * UNIT
_PIECE_SCALE = UNIT / pieces.SQUARE


def symbols() -> str:
    """The sheet that the boards of one page draw from; put it once into the page's body."""
    parts = "".join(_piece_symbol(letter) for letter in PIECES)
    return (
        '<svg class="board-symbols" width="0" height="0" '
        f'aria-hidden="true" focusable="false"><defs>{_ground()}{_coordinates(False)}'
        f"{_coordinates(True)}{_mover()}{parts}</defs></svg>"
    )


def board_svg(view: BoardView, *, title: str, ident: str, desc: str = "",
              standalone: bool = False, shade: str = "") -> str:  # fmt: skip
    """A board as an `<svg>` element, or (standalone) as an SVG file's text.

    `title` is the picture's accessible name, which is short, `desc` its description, which tells the
    position (see `builder.draw.text.describe`): a screen reader says the name in passing and the rest
    when it is asked. `ident` is unique in the page and makes their ids. With a `shade` a standalone
    board stands on a card of paper, its dark squares in that colour instead of hatched: for a page of
    unknown ground and coarse pixels. Raises ValueError when the view's placement is malformed.
    """
    used: list[str] = []
    squares: list[str] = []
    for row, letters in enumerate(rows(view)):
        for column, letter in enumerate(letters):
            if letter != ".":
                squares.append(_USES[letter][row * 8 + column])
                used.append(letter)
    extras = ""
    if view.coordinates:
        extras += _USE_COORDINATES[view.flip]
    if view.white_to_move is not None:
        at_foot = view.white_to_move != view.flip
        extras += _USE_MOVER[view.white_to_move, at_foot]
    overlay = figures_svg(figures(view)) if view.marks or view.last_move else ""
    ident = xml_text(ident)
    named, told, described = f'<title id="{ident}-t">{xml_text(title)}</title>', "", ""
    if desc:
        told = f'<desc id="{ident}-d">{xml_text(desc)}</desc>'
        described = f' aria-describedby="{ident}-d"'
    sheet = _own_symbols(view, used, shade) if standalone else ""
    head = ' xmlns="http://www.w3.org/2000/svg"' if standalone else ""
    return (
        f'<svg{head} class="board" id="{ident}" viewBox="{_VIEW_BOX}" role="img" '
        f'aria-labelledby="{ident}-t"{described}>{named}{told}{sheet}<use href="#pb-ground"/>{extras}'
        f'{"".join(squares)}{overlay}</svg>'
    )


def _own_symbols(view: BoardView, used: list[str], shade: str) -> str:
    """Only the symbols that this board draws from; with a shade, the card in front of them."""
    parts = [_ground(shade)]
    if view.coordinates:
        parts.append(_coordinates(view.flip))
    if view.white_to_move is not None:
        parts.append(_mover())
    parts += [_piece_symbol(letter) for letter in PIECES if letter in used]
    card = _CARD if shade else ""
    return f"{card}<defs>{''.join(parts)}</defs>"


# --- symbols -------------------------------------------------------------------------------


def _symbol_id(letter: str) -> str:
    return f"pb-{'w' if letter.isupper() else 'b'}{letter.lower()}"


def _piece_symbol(letter: str) -> str:
    piece = pieces.PIECES[letter.upper()]
    white = letter.isupper()
    side = "white" if white else "black"
    ink, paper = PLAIN.ink, PLAIN.paper
    halo = pieces.OUTLINE + 2 * pieces.HALO
    fill, detail = (paper, ink) if white else (ink, paper)
    areas = piece.solid + piece.shade if white else piece.shine
    lines = area = ""
    if piece.lines:
        lines = (
            f'<path class="pb-{side}-lines" d="{piece.lines}" fill="none" stroke="{detail}" '
            f'stroke-width="{pieces.LINE}"/>'
        )
    if areas:
        area = f'<path class="pb-{side}-area" d="{areas}" fill="{detail}" stroke="none"/>'
    return (
        f'<g id="{_symbol_id(letter)}" transform="scale({_PIECE_SCALE:g})" '
        'stroke-linejoin="round" stroke-linecap="round">'
        f'<path class="pb-halo" d="{piece.body}" fill="none" stroke="{paper}" '
        f'stroke-width="{halo}"/>'
        f'<path class="pb-{side}" d="{piece.body}" fill="{fill}" stroke="{ink}" '
        f'stroke-width="{pieces.OUTLINE}"/>{lines}{area}</g>'
    )


def _ground(shade: str = "") -> str:
    """The empty board in its frame; its dark squares hatched, or else in the colour `shade`."""
    dark = "".join(
        f"M{column * UNIT} {row * UNIT}h{UNIT}v{UNIT}h-{UNIT}z"
        for row in range(8) for column in range(8) if (row + column) % 2
    )  # fmt: skip
    hatched = "" if shade else (
        f'<path class="pb-hatch" d="{_hatch()}" fill="none" stroke="{PLAIN.ink}" '
        f'transform="scale({layout.HATCH_STEP * UNIT:g})" '
        f'stroke-width="{layout.HATCH / layout.HATCH_STEP:g}"/>'
    )
    return (
        f'<g id="pb-ground"><path class="pb-ground" d="{_box(layout.FRAME)}" '
        f'fill="{PLAIN.paper}"/><path class="pb-shade" d="{dark}" fill="{shade or "none"}"/>'
        f"{hatched}{_rule(0, layout.THIN)}{_rule(layout.THIN + layout.GAP, layout.BOLD)}</g>"
    )


def _rule(inner: float, width: float) -> str:
    """A rule round the squares, from `inner` squares outside them."""
    return (
        f'<path class="pb-frame" d="{_box(inner + width / 2)}" fill="none" '
        f'stroke="{PLAIN.ink}" stroke-width="{width * UNIT:g}"/>'
    )


def _box(outside: float) -> str:
    """A square round the squares, that far outside them."""
    near = -round(outside * UNIT, 2)
    far = round(_SIZE - near, 2)
    return f"M{near:g} {near:g}H{far:g}V{far:g}H{near:g}Z"


def _hatch() -> str:
    """Hatch lines clipped to the dark squares, in steps of the hatch."""
    count = round(1 / layout.HATCH_STEP)
    parts = []
    for row in range(8):
        for column in range(8):
            if (row + column) % 2:
                for along in range(1, 2 * count):
                    x = column * count + min(along, count)
                    y = row * count + max(0, along - count)
                    length = min(along, 2 * count - along)
                    parts.append(f"M{x} {y}l-{length} {length}")
    return "".join(parts)


def _coordinates(flip: bool) -> str:
    size = layout.COORDINATE * UNIT
    columns = " ".join(str(column * UNIT + UNIT // 2) for column in range(8))
    levels = " ".join(str(round(row * UNIT + UNIT / 2 + 0.33 * size)) for row in range(8))
    foot = _SIZE + layout.LETTERS_AT * UNIT
    aside = " ".join([f"{-layout.DIGITS_AT * UNIT:g}"] * 8)
    return (
        f'<g id="pb-{"flipped" if flip else "coordinates"}" class="pb-coordinates" '
        f'fill="{PLAIN.ink}" font-family="{PLAIN.family}" font-style="italic" font-size="{size:g}" '
        f'text-anchor="middle"><text x="{columns}" y="{foot:g}">{file_letters(flip)}</text>'
        f'<text x="{aside}" y="{levels}">{rank_digits(flip)}</text></g>'
    )


def _mover() -> str:
    rim = layout.MOVER_RIM * UNIT
    side = layout.MOVER * UNIT - rim
    left, top = layout.MOVER_AT * UNIT + rim / 2, UNIT / 2 - side / 2
    drawn = f'd="M{left:g} {top:g}h{side:g}v{side:g}h-{side:g}z" stroke="{PLAIN.ink}" '
    return (
        f'<path id="pb-mover-w" class="pb-mover" {drawn}stroke-width="{rim:g}" fill="none"/>'
        f'<path id="pb-mover-b" class="pb-mover pb-full" {drawn}stroke-width="{rim:g}" '
        f'fill="{PLAIN.ink}"/>'
    )


# --- what a board is put together from ------------------------------------------------------

_VIEW = tuple(
    round(part * UNIT)
    for part in (
        -layout.LEFT, -layout.TOP, layout.LEFT + 8 + layout.RIGHT, layout.TOP + 8 + layout.BOTTOM,
    )
)  # fmt: skip
_VIEW_BOX = " ".join(map(str, _VIEW))
_CARD = (
    f'<rect x="{_VIEW[0]}" y="{_VIEW[1]}" width="{_VIEW[2]}" height="{_VIEW[3]}" '
    f'fill="{PLAIN.paper}"/>'
)
_USES = {
    letter: tuple(
        f'<use href="#{_symbol_id(letter)}" x="{square % 8 * UNIT}" y="{square // 8 * UNIT}"/>'
        for square in range(64)
    )
    for letter in PIECES
}
_USE_COORDINATES = {False: '<use href="#pb-coordinates"/>', True: '<use href="#pb-flipped"/>'}
_USE_MOVER = {
    (white, at_foot): f'<use href="#pb-mover-{"w" if white else "b"}" x="{_SIZE}" '
    f'y="{7 * UNIT if at_foot else 0}"/>'
    for white in (True, False)
    for at_foot in (True, False)
}
