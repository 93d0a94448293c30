"""Files in the Portable Game Notation: bytes to lines, lines to games, movetext to tokens.

    bytes ──► lines ──► games ──► tokens
              lines.py  games.py  tokens.py

Both readers of such files stand on this: `builder.source.games`, which sets a game of the booklet
as it is, and `builder.intake`, which writes chapters. Files may be hostile: memory is bounded,
faults are told by `tell.py`, and only so many.
"""
