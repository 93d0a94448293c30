"""What a booklet says of itself, as pages show it.

In: the booklet, whose words are as their author typed them. Out: the same with its title and what
goes with it in the marks of print, and with moves in its own letters. Every page that is read takes
these; tags of PGN, file names and ids keep what was typed.
"""

from __future__ import annotations

from dataclasses import replace

from builder.model import Booklet
from builder.render.moves import titled_text
from builder.render.notation import Notation


def typeset(booklet: Booklet) -> Booklet:
    notation = Notation(booklet.language, booklet.figurines)
    return replace(
        booklet,
        title=titled_text(booklet.title, notation), subtitle=titled_text(booklet.subtitle, notation),
        author=titled_text(booklet.author, notation), edition=titled_text(booklet.edition, notation),
    )  # fmt: skip
