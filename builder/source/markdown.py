"""Markdown as mistune reads it: CommonMark with tables, footnotes and strikethrough, and the marks
that `builder.source.scan` has set come out as inline tokens of their own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.entities import html5
from typing import Any

import mistune
from mistune.plugins.footnotes import parse_footnote_item

from builder.source.scan import CLOSE_MARK, CLOSE_PLACE, OPEN_MARK, OPEN_PLACE, clean

Token = dict[str, Any]  # mistune's own form; it goes no further than `prose.py`

_MARK = rf"{OPEN_MARK}(?P<piece_number>\d+){CLOSE_MARK}"
_PLACE = rf"{OPEN_PLACE}(?P<origin_number>\d+){CLOSE_PLACE}"
_FOOTNOTES = "footnotes"


def make_markdown() -> mistune.Markdown:
    """A parser whose tokens are `piece` and `origin` besides mistune's own."""
    markdown = mistune.create_markdown(
        renderer=None, plugins=["table", "footnotes", "strikethrough"]
    )

    def parse_mark(_inline: Any, match: re.Match[str], state: Any) -> int:
        state.append_token({"type": "piece", "raw": match.group("piece_number")})
        return match.end()

    def parse_place(_inline: Any, match: re.Match[str], state: Any) -> int:
        state.append_token({"type": "origin", "raw": match.group("origin_number")})
        return match.end()

    markdown.inline.register("piece", _MARK, parse_mark, before="link")
    markdown.inline.register("origin", _PLACE, parse_place, before="link")
    # The plugin's own hook makes its list of notes before it reads their words, and so loses those
    # that only another note marks: `parse` puts them there.
    markdown.after_render_hooks.clear()
    return markdown


def parse(markdown: mistune.Markdown, text: str) -> tuple[list[Token], list[list[Token]]]:
    """The tokens of the blocks, and those of each footnote in the order of their first marks."""
    tokens, state = markdown.parse(text)
    assert isinstance(tokens, list)  # without a renderer
    return tokens, [note["children"] for note in _notes(markdown, state)]


def parse_inline(markdown: mistune.Markdown, text: str) -> list[Token]:
    """The tokens of running words, which belong to no block here."""
    tokens: list[Token] = markdown.inline(text, {"ref_links": {}})
    return tokens


def _notes(markdown: mistune.Markdown, state: mistune.BlockState) -> Iterator[Token]:
    """The footnotes, also those that only another note marks."""
    number = 0
    while number < len(notes := state.env.get(_FOOTNOTES) or ()):
        number += 1
        part = mistune.BlockState(parent=state)
        part.tokens = [parse_footnote_item(markdown.block, notes[number - 1], number, state)]
        rendered = markdown.render_state(part)
        assert not isinstance(rendered, str)
        yield from rendered


# --- references to characters ---------------------------------------------------------------------

_REFERENCE = re.compile(r"&(?:#[xX]([0-9a-fA-F]{1,6})|#([0-9]{1,7})|([A-Za-z][A-Za-z0-9]{0,31}));")
_NONE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def with_characters(text: str) -> str:
    """`text` with the characters that `&eacute;`, `&#233;` and `&#xE9;` stand for (CommonMark 0.31.2,
    2.5; the names are HTML's). What stands for no character that a page can hold (XML 1.0, 2.2), or
    for one of our marks, becomes U+FFFD."""
    return _REFERENCE.sub(_character, text) if "&" in text else text


def _character(match: re.Match[str]) -> str:
    hexadecimal, decimal, name = match.groups()
    if name:
        return html5.get(f"{name};", match.group())
    code = int(hexadecimal, 16) if hexadecimal else int(decimal)
    return clean(_NONE.sub("\ufffd", chr(code))) if code <= 0x10FFFF else "\ufffd"
