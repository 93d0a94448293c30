"""A chapter's file to its parsed form: front matter, then Markdown with our pieces."""

from __future__ import annotations

import re
from typing import Any

from builder import model, names
from builder.faults import Faults
from builder.place import Source
from builder.settings import SettingKey, check_table, key_place, read_toml
from builder.source.files import BookletFiles
from builder.source.game_files import GameFiles
from builder.source.pieces import PieceReader
from builder.source.prose import plain_text
from builder.source.scan import clean
from builder.source.syntax import Block, ChapterSource

_FRONT_KEYS = {
    "": {
        "title": SettingKey(str),
        "side": SettingKey(str, ("white", "black", "both")),
        "eco": SettingKey(str),
        "summary": SettingKey(str),
        "draft": SettingKey(bool),
    }
}
_FENCE = re.compile(r"^\+\+\+[ \t]*$", re.M)
_DASHES = re.compile(r"---[ \t]*\n([\w-]+)[ \t]*[:=].*\n(?:[\w-]+[ \t]*[:=].*\n)*---[ \t]*$", re.M)


def read_chapter(source: Source, files: BookletFiles, faults: Faults,
                 games: GameFiles | None = None) -> ChapterSource:  # fmt: skip
    """Parses a chapter; faults are told and what can be read is kept.

    `games` holds the PGN files that earlier chapters have read already.
    """
    source = Source(source.file, clean(source.text))
    front, body_at = _front_matter(source, faults)
    blocks, footnotes = PieceReader(
        source, files, games or GameFiles(files), faults
    ).prose.chapter(body_at, len(source.text))
    title = front.get("title", "").strip()
    if not title:
        title, blocks = _title_from_heading(source, blocks)
    eco = front.get("eco", "")
    if eco and not re.fullmatch(r"[A-E]\d\d([-–][A-E]?\d\d)?", eco):
        faults.error("settings-value", key_place(source, "", "eco"),
                     f"eco can't be {eco!r}", "an ECO code is A00 to E99")  # fmt: skip
    return ChapterSource(
        source=source,
        slug=names.chapter_slug(source.file),
        title=title,
        side=front.get("side"),
        eco=eco,
        summary=front.get("summary", ""),
        draft=front.get("draft", False),
        blocks=blocks,
        footnotes=footnotes,
    )


def _front_matter(source: Source, faults: Faults) -> tuple[dict[str, Any], int]:
    """The front matter's values and the offset where the Markdown begins."""
    opening = _FENCE.match(source.text)
    if not opening:
        if dashes := _DASHES.match(source.text):
            faults.warning("front-dashes", source.place(0, 3),
                           "front matter stands between lines +++; this is printed as text",
                           f'write +++, then {dashes.group(1)} = "…", and +++ behind it')  # fmt: skip
        return {}, 0
    closing = _FENCE.search(source.text, opening.end())
    if not closing:
        faults.error("front-open", source.place(0, 3), "the front matter is never closed",
                     "put a line +++ behind it")  # fmt: skip
        return {}, opening.end()
    base = opening.end() + 1
    data = read_toml(source, faults, base, closing.start())
    if data is None:
        return {}, closing.end()
    return check_table(source, data, _FRONT_KEYS, faults, base)[""], closing.end()


def _title_from_heading(source: Source, blocks: tuple[Block, ...]) -> tuple[str, tuple[Block, ...]]:
    """A chapter without a title takes it from a first heading, else from its file's name."""
    if blocks and isinstance(blocks[0], model.Heading) and blocks[0].level == 1:
        return plain_text(blocks[0].inlines), blocks[1:]
    stem = names.chapter_slug(source.file)
    return re.sub(r"^\d+-", "", stem).replace("-", " ").capitalize() or stem, blocks
