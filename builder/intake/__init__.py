"""From PGN and positions to chapters.

    games ──► trees ──► chapters ──► blocks ──► Markdown
    (pgn/)    play.py   split.py     layout.py  writing.py

`run.py` goes the whole way. Games are read as a stream, one after another; what is wrong with
them is told by `tell.py` at its line and column, and what can be read is kept.
"""
