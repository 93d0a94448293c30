"""From PGN and positions to chapters.

    bytes ──► lines ──► games ──► trees ──► chapters ──► blocks ──► Markdown
              lines.py  games.py  play.py   split.py     layout.py  write.py

`run.py` goes the whole way. Games are read as a stream, one after another; what is wrong with
them is told by `tell.py` at its line and column, and what can be read is kept.
"""
