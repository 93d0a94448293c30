"""plyleaf diagram: one position as a picture, or as text on the terminal."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from builder.commands import Misuse, Subparsers, add_parser, tell_faults, whole_number
from builder.faults import Faults
from builder.terminal import Terminal

_MORE = """\
Without -o the board is printed as text; -o board.png and -o board.svg write pictures.
The marks are those of (D …) in a chapter:

  plyleaf diagram "r1bqkbnr/pppp1ppp/2n5/4p3/4P3/5N2/PPPP1PPP/RNBQKB1R w KQkq - 2 3" \\
      --marks 'plan f1-b5 key e5' -o board.png
"""
SUFFIXES = (".png", ".svg", ".txt")
_RANKS = re.compile(rb"[^\n]*(\n[^\n]*){7,8}\n  (a b c d e f g h|h g f e d c b a)\n")


def add(subparsers: Subparsers) -> None:
    parser = add_parser(subparsers, "diagram", "Draw one position", _MORE)
    parser.add_argument("fen", metavar="FEN", help="the position, in quotes")
    parser.add_argument("-o", "--out", type=Path, metavar="FILE",
                        help="the file to write: its name ends in .png, .svg or .txt")  # fmt: skip
    parser.add_argument("--flip", action="store_true", help="show it from Black's side")
    parser.add_argument("--size", type=whole_number(100, 4000), default=480, metavar="PIXELS",
                        help="the width of a PNG, 100 to 4000 (default: 480)")  # fmt: skip
    parser.add_argument(
        "--marks", default="", metavar="WORDS",
        help="annotations by meaning, as in a chapter: 'plan c1-f4 key d4 e5'",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    from builder.draw.board import BoardView, Mark
    from builder.own_file import Kind, OwnFile, beginning, write_own_files
    from builder.place import Place, Source
    from builder.source.options import parse_options
    from builder.source.fen import read_fen

    out = arguments.out
    if out is not None and out.suffix.lower() not in SUFFIXES:
        raise Misuse(f"{out} should end in {', '.join(SUFFIXES[:-1])} or {SUFFIXES[-1]}")
    faults = Faults()
    fen = Source("FEN", arguments.fen)
    marks = Source("--marks", arguments.marks)
    faults.add_source(fen)
    faults.add_source(marks)
    position = read_fen(fen.text, Place("FEN", 1, 1, len(fen.text) + 1), faults)
    options, _ = parse_options(marks, 0, len(marks.text), faults, lambda start, end: ())
    if position is None or faults.has_errors:
        tell_faults(faults, "text", terminal)
        return 2
    view = BoardView(
        position.placement,
        white_to_move=position.white_to_move,
        flip=arguments.flip or options.flip,
        marks=tuple(Mark(mark.kind, mark.squares, mark.text) for mark in options.marks),
    )
    if out is None:
        from builder.draw.text import board_text

        terminal.say(board_text(view))
        return 0
    picture = OwnFile(Kind(beginning(_is_board), "this is no board that Plyleaf drew"), out,
                      _picture(view, position.fen, out.suffix.lower(), arguments.size))  # fmt: skip
    if not write_own_files([picture], faults):
        tell_faults(faults, "text", terminal)
        return 1
    return 0


def _is_board(head: bytes) -> bool:
    """Whether a file begins as one of our boards: PNG, SVG, or text with a rank a line."""
    return b"Software\0Plyleaf" in head or b' class="board" id="board"' in head or bool(_RANKS.match(head))


def _picture(view, fen: str, suffix: str, pixels: int) -> bytes:
    if suffix == ".png":
        from builder.draw.png import board_png

        return board_png(view, pixels=pixels)
    from builder.draw import text

    if suffix == ".txt":
        return (text.board_text(view) + "\n").encode()
    from builder.draw.svg import board_svg

    svg = board_svg(view, title=fen, ident="board", desc=text.describe(view), standalone=True)
    return svg.encode()
