"""Whole games counted at the booklet's positions.

    files ──► chunks ──► games ──► a walk by known moves ──► counts ──► kept in .plyleaf
              text.py    text.py   follow.py, reach.py                 store.py

`booklet.py` is the way in: what a booklet's files say about its positions.
"""
