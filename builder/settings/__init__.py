"""booklet.toml to typed settings.

In: the booklet's folder. Out: `Settings`, or faults at the keys' own lines. Here is the whole of
the file; its larger tables have a file each.
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from builder.faults import Faults
from builder.place import Place, Source, file_place
from builder.settings.cover import COVER_KEYS, CoverSettings, cover_settings
from builder.settings.lengths import PAGE_SIZES, length_mm, page_size
from builder.settings.print import PRINT_KEYS, PrintSettings, print_settings
from builder.settings.tables import (
    SettingKey, check_table, key_place, listed_texts, read_toml,
)  # fmt: skip

__all__ = [
    "ENGINE_NODES", "LANGUAGES", "PAGE_SIZES", "SETTINGS_FILE", "CoverSettings", "PrintSettings",
    "SettingKey", "Settings", "check_table", "key_place", "length_mm", "page_size", "read_settings",
    "read_toml",
]  # fmt: skip

SETTINGS_FILE = "booklet.toml"
ENGINE_NODES = 400_000  # of the engine's, for a position: a second or so on a small machine
LANGUAGES = ("en", "de", "fr", "es", "it", "nl", "pt")


@dataclass(frozen=True, slots=True)
class Settings:
    """What booklet.toml says. `date` is ISO 8601 (RFC 3339 full-date) or empty. `address` is where
    the site's folder will stand on the web, ending in a slash, or empty; `news` is for its feed.
    `cover` is None where there is no table of it."""

    title: str
    subtitle: str = ""
    author: str = ""
    edition: str = ""
    date: str = ""
    language: str = "en"
    side: Literal["white", "black", "both"] = "both"
    notation: Literal["figurine", "letters"] = "figurine"
    chapters: tuple[tuple[str, Place], ...] | None = None
    print: PrintSettings = field(default_factory=PrintSettings)
    cover: CoverSettings | None = None
    site_theme: str = "leaf"
    address: str = ""
    news: str = ""
    engine: str = ""
    engine_place: Place = file_place(SETTINGS_FILE)
    accept: tuple[tuple[str, Place], ...] = ()


_DATE_TYPES = (datetime.date, str)
_TABLES: dict[str, dict[str, SettingKey]] = {
    "": {
        "title": SettingKey(str),
        "subtitle": SettingKey(str),
        "author": SettingKey(str),
        "edition": SettingKey(str),
        "date": SettingKey(_DATE_TYPES),
        "language": SettingKey(str, LANGUAGES),
        "side": SettingKey(str, ("white", "black", "both")),
        "notation": SettingKey(str, ("figurine", "letters")),
        "chapters": SettingKey(list),
    },
    "print": PRINT_KEYS,
    "cover": COVER_KEYS,
    "site": {"theme": SettingKey(str), "address": SettingKey(str), "news": SettingKey(str)},
    "proof": {"engine": SettingKey(str), "accept": SettingKey(list)},
}


def read_settings(source: Source, faults: Faults) -> Settings | None:
    """Settings from the text of booklet.toml; None when it can't be read at all."""
    data = read_toml(source, faults)
    if data is None:
        return None
    values = check_table(source, data, _TABLES, faults)
    top = values[""]
    if not str(top.get("title", "")).strip():
        faults.error("title-missing", source.place(0), "the booklet has no title",
                     'write title = "…" at the top')  # fmt: skip
    address = _address(source, values["site"].get("address", ""), faults)
    _check_codes(source, values["print"], address, faults)
    cover = cover_settings(source, values["cover"], faults) if "cover" in data else None
    return Settings(
        title=top.get("title", ""),
        subtitle=top.get("subtitle", ""),
        author=top.get("author", ""),
        edition=top.get("edition", ""),
        date=_date(source, top.get("date"), faults),
        language=top.get("language", "en"),
        side=top.get("side", "both"),
        notation=top.get("notation", "figurine"),
        chapters=_chapter_files(source, top.get("chapters"), faults),
        print=_bound(source, print_settings(source, values["print"], faults), cover, faults),
        cover=cover,
        site_theme=values["site"].get("theme", "") or "leaf",
        address=address,
        news=values["site"].get("news", ""),
        engine=values["proof"].get("engine", ""),
        engine_place=_engine_place(source),
        accept=_accept_entries(source, values["proof"].get("accept", []), faults),
    )


def _date(source: Source, value: Any, faults: Faults) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    if isinstance(value, datetime.date):
        return value.isoformat()
    try:
        return datetime.date.fromisoformat(value).isoformat()
    except ValueError:
        faults.error("settings-value", key_place(source, "", "date"),
                     f"date can't be {value!r}", "write it as 2026-11-25")  # fmt: skip
        return ""


def _chapter_files(source: Source, value: Any,
                   faults: Faults) -> tuple[tuple[str, Place], ...] | None:  # fmt: skip
    if value is None:
        return None
    files: list[tuple[str, Place]] = []
    for entry, place in listed_texts(source, "", "chapters", value, "file names", faults):
        if any(entry == file for file, _ in files):
            faults.error("chapter-twice", place, f"{entry} is listed twice")
            continue
        files.append((entry, place))
    return tuple(files)


def _accept_entries(source: Source, value: list[Any],
                    faults: Faults) -> tuple[tuple[str, Place], ...]:  # fmt: skip
    return tuple(listed_texts(source, "proof", "accept", value, "texts", faults))


def _address(source: Source, value: str, faults: Faults) -> str:
    """The site's web address with a slash at the end, so that a page's name can follow it."""
    if not value or re.fullmatch(r"https?://[^\s/?#\"'<>\\@]+(/[^\s?#\"'<>\\]*)?", value):
        return value if value.endswith("/") or not value else f"{value}/"
    faults.error("settings-value", key_place(source, "site", "address"),
                 f"address can't be {value!r}",
                 'the folder of the site on the web, as "https://example.org/scotch/"')  # fmt: skip
    return ""


def _check_codes(source: Source, values: dict[str, Any], address: str, faults: Faults) -> None:
    """Codes need somewhere to lead to."""
    if values.get("qr") and not address:
        faults.error("settings-value", key_place(source, "print", "qr"),
                     "qr needs the address that the codes lead to",
                     'write address = "https://…" under [site]')  # fmt: skip


def _bound(source: Source, page: PrintSettings, cover: CoverSettings | None,
           faults: Faults) -> PrintSettings:  # fmt: skip
    """A cover that is folded with the pages is stapled with them."""
    if cover is None or cover.kind != "self":
        return page
    if page.binding == "glued":
        faults.error("settings-value", key_place(source, "cover", "kind"),
                     "the pages of a glued booklet can't be folded with its cover",
                     'write binding = "stapled" under [print], or kind = "separate"')  # fmt: skip
    return replace(page, binding="stapled")


def _engine_place(source: Source) -> Place:
    """The engine key, else its table, else the file's first line."""
    place = key_place(source, "proof", "engine")
    return place if place.line > 1 else key_place(source, "", "proof")
