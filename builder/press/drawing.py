"""Pages being drawn by WeasyPrint, and where their page numbers are to come.

`Drawing.paint` stands in for a page's own `paint`: it lets the page draw itself and then looks
for the texts that have room for numbers. Each text is drawn between marks that name it
(ISO 32000-1, 14.7.4.2), so that what was drawn for it is found for certain.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from types import SimpleNamespace
from typing import Any

from builder.press.greys import stream_in_black
from builder.press.numbers import SPECIMEN, Content, Digits, find, named, specimen
from builder.press.take import stream_bytes

_NAME = re.compile(rb"<</MCID (\d+)>>")


def without_blanks(page: Any) -> None:
    """Takes the boxes out of a page that show nothing: spaces between words, and the hundred
    spaces of a line that leads to a page number. WeasyPrint would draw, mark and tag each one."""
    from weasyprint.formatting_structure.boxes import ParentBox, TextBox

    waiting = [page._page_box]
    while waiting:
        box = waiting.pop()
        if any(isinstance(child, TextBox) for child in box.children):
            box.children = [child for child in box.children
                            if not isinstance(child, TextBox) or _is_seen(child)]  # fmt: skip
        waiting += (child for child in box.children if isinstance(child, ParentBox))


def _is_seen(text: Any) -> bool:
    return bool(text.text.strip()) or text.style["text_decoration_line"] != "none"


class Drawing:
    """The pages of one part. `contents` are the contents with holes by the identity of their
    stream; `files` the fonts' files, which WeasyPrint cuts down when all is drawn, by names."""

    def __init__(self, anchors: Sequence[str]) -> None:
        self.contents: dict[int, Content] = {}
        self.files: dict[str, bytes] = {}
        self._anchors = anchors
        self._digits: dict[object, Digits] = {}

    def paint(self, page: int, paint: Callable[..., None], stream: Any, scale: float = 1) -> None:
        """Draws the part's page of that number. Raises NotFound when a number is not where it must be."""
        groups = stream._resources["XObject"]
        known = set(groups)
        paint(stream, scale)
        stream_in_black(stream.stream)
        texts = {mark["mcid"]: box for box, mark in stream._tags.items()
                 if named(getattr(box, "text", ""))}  # fmt: skip
        if texts:
            drawn = [stream, *(groups[name] for name in groups if name not in known)]
            for one in drawn:
                if one is not None and any(_named_by(item) in texts for item in one.stream):
                    stream_in_black(one.stream)
                    self.contents[id(one)] = tuple(self._holed(one, texts, page))
        for font in stream._fonts.values():
            self.files.setdefault(font.hash, font.file_content)

    def _holed(self, stream: Any, texts: dict[int, Any], page: int) -> Iterator[Any]:
        """The content of a stream, with the holes of the texts that it shows."""
        items, start = stream.stream, 0
        for at, item in enumerate(items):
            box = texts.get(_named_by(item))
            if box is None:
                continue
            end = next(number for number in range(at, len(items)) if items[number] == b"EMC")
            shown = stream_bytes(items[at:end])
            yield stream_bytes(items[start:at]) + b"\n"
            digits = partial(self._digits_of, stream, box)
            yield from find(shown, box.text, self._anchors, page, digits)
            yield b"\n"
            start = end
        yield stream_bytes(items[start:])

    def _digits_of(self, stream: Any, box: Any) -> Digits:
        """The digits as the text of the box is set, which its style may have changed."""
        from weasyprint.draw.text import draw_first_line
        from weasyprint.matrix import Matrix
        from weasyprint.text.line_break import Layout

        style = box.style
        key = tuple(str(style[name]) for name in (
            "font_family", "font_style", "font_stretch", "font_weight", "font_variant_caps",
            "font_variant_numeric", "font_variant_ligatures", "font_feature_settings",
            "font_variation_settings", "font_size", "font_language_override", "lang",
        ))  # fmt: skip
        if key not in self._digits:
            scratch = stream.clone()
            layout = Layout(style)
            layout.set_text(SPECIMEN)
            shown = SimpleNamespace(text=SPECIMEN, style=style, pango_layout=layout)
            draw_first_line(scratch, shown, "clip", "none", Matrix())
            name = next(iter(re.findall(rb"/(\w+) \S+ Tf", stream_bytes(scratch.stream))))
            widths = {glyph: width for font in stream._fonts.values()
                      if font.hash == name.decode() for glyph, width in font.widths.items()}  # fmt: skip
            self._digits[key] = specimen(stream_bytes(scratch.stream), widths)
        return self._digits[key]


def _named_by(item: Any) -> int | None:
    """The number of the text whose mark an item of a stream is."""
    found = _NAME.fullmatch(item.data) if isinstance(item, dict) else None
    return int(found[1]) if found else None
