"""Boards for print: lines of text in the board font, which a layout engine sets as fast as
any text. Annotations, where there are any, are one SVG picture over them.

`board_html` gives an element of the class `pboard`, whose font size is the side of a square; with its
coordinates it is `layout.WIDTH` squares wide and `layout.HEIGHT` high, so that a board 55 mm
wide over all takes `.pboard { font-size: calc(55mm / 9.24) }`. `print_css` gives the rest.
"""

from __future__ import annotations

from builder.draw import glyphs, layout
from builder.draw.board import BoardView
from builder.draw.figures_svg import INHERITED, PLAIN, UNIT, Palette, figures_svg, xml_text
from builder.draw.marks import figures

CLASS = "pboard"


def board_html(view: BoardView, *, ident: str = "", palette: Palette = PLAIN,
               alt: str = "") -> str:  # fmt: skip
    """The board as HTML. `ident`, if any, is its id; `alt` its text alternative, which makes it an
    `article` with that label, as `builder.press.tags` wants it. Raises ValueError when the view's
    placement is malformed."""
    text = "\n".join(glyphs.lines(view))
    overlay = ""
    if view.marks or view.last_move:
        size = 8 * UNIT
        overlay = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" '
            f"{INHERITED}>{figures_svg(figures(view), palette, classed=False)}</svg>"
        )
    named = f' id="{xml_text(ident)}"' if ident else ""
    bare = "" if view.coordinates else " pboard-bare"
    if not alt:
        return f'<div class="{CLASS}{bare}"{named}>{text}{overlay}</div>'
    label = f' aria-label="{xml_text(alt)}"'
    return f'<article class="{CLASS}{bare}"{named}{label}>{text}{overlay}</article>'


def print_css(font_url: str) -> str:
    """The style sheet of printed boards; `font_url` is where the board font lies."""
    css = _CSS
    for name in ("TOP", "RIGHT", "BOTTOM", "LEFT", "THIN", "GAP", "BOLD"):
        css = css.replace(f"{name}em", f"{getattr(layout, name):g}em")
    return css.replace("FONT_URL", font_url.replace('"', "%22"))


_CSS = """\
@font-face { font-family: "Plyleaf Board"; src: url("FONT_URL"); }
.pboard {
  font: normal 5mm/1 "Plyleaf Board";
  position: relative; width: 8em; min-height: 8em; max-height: 8em;
  margin: TOPem RIGHTem BOTTOMem LEFTem; padding: 0;
  border: THINem solid; outline: BOLDem solid; outline-offset: GAPem;
  white-space: pre; text-align: left; text-indent: 0;
  letter-spacing: 0; word-spacing: 0; font-kerning: none; hyphens: none;
  break-inside: avoid;
}
.pboard-bare { margin-left: TOPem; margin-bottom: TOPem; }
.pboard svg { position: absolute; top: 0; left: 0; width: 8em; height: 8em; }
"""
