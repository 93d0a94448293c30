"""booklet.toml to typed settings.

In: the booklet's folder. Out: `Settings`, or faults at the keys' own lines.
"""

from __future__ import annotations

import datetime
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from builder.faults import Faults, did_you_mean
from builder.place import Place, Source

SETTINGS_FILE = "booklet.toml"
ENGINE_NODES = 400_000  # of the engine's, for a position: a second or so on a small machine
LANGUAGES = ("en", "de", "fr", "es", "it", "nl", "pt")

# Millimetres, portrait. A4, A5, B5: ISO 216. Letter, Half-Letter: ANSI/ASME Y14.1 (8.5 x 11 in
# and its half, 5.5 x 8.5 in).
PAGE_SIZES: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
    "B5": (176.0, 250.0),
    "Letter": (215.9, 279.4),
    "Half-Letter": (139.7, 215.9),
}


@dataclass(frozen=True, slots=True)
class PrintSettings:
    """Lengths in millimetres. `page_name` is what the author wrote."""

    page_name: str = "A5"
    width: float = 148.0
    height: float = 210.0
    bleed: float = 0.0
    theme: str = "book"


@dataclass(frozen=True, slots=True)
class Settings:
    """What booklet.toml says. `date` is ISO 8601 (RFC 3339 full-date) or empty. `address` is where
    the site's folder will stand on the web, ending in a slash, or empty."""

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
    site_theme: str = "leaf"
    address: str = ""
    engine: str = ""
    engine_place: Place = Place(SETTINGS_FILE, 1, 1, 2)
    accept: tuple[tuple[str, Place], ...] = ()


@dataclass(frozen=True, slots=True)
class SettingKey:
    """A key that a table of booklet.toml may hold: its type, and its choices if closed."""

    kind: type | tuple[type, ...]
    choices: tuple[str, ...] = ()


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
    "print": {"page": SettingKey(str), "theme": SettingKey(str), "bleed": SettingKey(str)},
    "site": {"theme": SettingKey(str), "address": SettingKey(str)},
    "proof": {"engine": SettingKey(str), "accept": SettingKey(list)},
}
_TYPE_WORDS = {str: "text in quotes", list: "a list", bool: "true or false"}


def read_settings(source: Source, faults: Faults) -> Settings | None:
    """Settings from the text of booklet.toml; None when it can't be read at all."""
    try:
        data = tomllib.loads(source.text)
    except tomllib.TOMLDecodeError as error:
        faults.error("toml", toml_error_place(source, error), toml_error_text(error))
        return None
    values = check_table(source, data, _TABLES, faults)
    top = values[""]
    if not str(top.get("title", "")).strip():
        faults.error("title-missing", source.place(0), "the booklet has no title",
                     'write title = "…" at the top')  # fmt: skip
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
        print=_print_settings(source, values["print"], faults),
        site_theme=values["site"].get("theme", "") or "leaf",
        address=_address(source, values["site"].get("address", ""), faults),
        engine=values["proof"].get("engine", ""),
        engine_place=_engine_place(source),
        accept=_accept_entries(source, values["proof"].get("accept", []), faults),
    )


def check_table(
    source: Source,
    data: dict[str, Any],
    tables: dict[str, dict[str, SettingKey]],
    faults: Faults,
    base: int = 0,
) -> dict[str, dict[str, Any]]:
    """The known, well-typed values of each table in `tables` (the key '' is the top level).

    Everything else is an error at its own line. `base` is the offset in `source` where the
    TOML text begins.
    """
    found: dict[str, dict[str, Any]] = {name: {} for name in tables}
    for key, value in data.items():
        if key in tables and key:
            if isinstance(value, dict):
                for inner, inner_value in value.items():
                    _check_key(source, tables[key], key, inner, inner_value, found[key],
                               faults, base)  # fmt: skip
            else:
                place = key_place(source, "", key, base)
                faults.error("settings-type", place, f"{key} must be a table: [{key}]")
        else:
            known = {**tables[""], **{name: SettingKey(dict) for name in tables if name}}
            _check_key(source, known, "", key, value, found[""], faults, base)
    return found


def _check_key(source: Source, known: dict[str, SettingKey], table: str, key: str, value: Any,
               found: dict[str, Any], faults: Faults, base: int) -> None:  # fmt: skip
    place = key_place(source, table, key, base)
    if key not in known:
        within = f" in [{table}]" if table else ""
        hint = did_you_mean(key, known) or "known keys: " + ", ".join(sorted(known))
        faults.error("settings-key", place, f"unknown key {key}{within}", hint)
        return
    spec = known[key]
    kinds = spec.kind if isinstance(spec.kind, tuple) else (spec.kind,)
    if not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds):
        wanted = " or ".join(_TYPE_WORDS.get(kind, "a date") for kind in kinds)
        faults.error("settings-type", place, f"{key} must be {wanted}")
        return
    if spec.choices and value not in spec.choices:
        hint = did_you_mean(value, spec.choices) or "choices: " + ", ".join(spec.choices)
        faults.error("settings-value", place, f"{key} can't be {value!r}", hint)
        return
    found[key] = value


def key_place(source: Source, table: str, key: str, base: int = 0) -> Place:
    """The place of a key in TOML text: tomllib keeps none, so its line is looked for."""
    current = ""
    offset = base
    for line in source.text[base:].split("\n"):
        header = re.match(r"\s*\[\s*([\w-]+)\s*\]", line)
        if header:
            current = header.group(1)
            if not table and current == key:
                return source.place(offset + header.start(1), offset + header.end(1))
        else:
            match = re.match(rf"""\s*(["']?)({re.escape(key)})\1\s*(?:=|\.)""", line)
            if match and current == table:
                return source.place(offset + match.start(2), offset + match.end(2))
        offset += len(line) + 1
    return source.place(base)


def toml_error_place(source: Source, error: tomllib.TOMLDecodeError, base: int = 0) -> Place:
    """Where a TOML syntax error is; `base` as in `check_table`."""
    match = re.search(r"at line (\d+), column (\d+)", str(error))
    if not match:
        return source.place(len(source.text) if not base else base)
    first = source.place(base).line
    line = first + int(match.group(1)) - 1
    start = source.line_starts[min(line, len(source.line_starts)) - 1]
    return source.place(start + int(match.group(2)) - 1)


def toml_error_text(error: tomllib.TOMLDecodeError) -> str:
    return "not valid TOML: " + re.sub(r" \(at .*\)$", "", str(error))


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


def _chapter_files(source: Source, value: Any, faults: Faults):
    if value is None:
        return None
    files: list[tuple[str, Place]] = []
    for entry, place in _texts(source, "", "chapters", value, "file names", faults):
        if any(entry == file for file, _ in files):
            faults.error("chapter-twice", place, f"{entry} is listed twice")
            continue
        files.append((entry, place))
    return tuple(files)


def _accept_entries(source: Source, value: list[Any], faults: Faults):
    return tuple(_texts(source, "proof", "accept", value, "texts", faults))


def _texts(source: Source, table: str, key: str, value: list[Any], what: str,
           faults: Faults) -> Iterator[tuple[str, Place]]:  # fmt: skip
    """The texts of a list, each with its place: the next one of its kind behind the key."""
    here = key_place(source, table, key)
    cursor = source.line_starts[here.line - 1] + here.column - 1
    for entry in value:
        if not isinstance(entry, str):
            faults.error("settings-type", here, f"{key} must be a list of {what}")
            continue
        at = source.text.find(entry, cursor)
        place = source.place(at, at + len(entry)) if at >= 0 else here
        cursor = at + len(entry) if at >= 0 else cursor
        yield entry, place


def _address(source: Source, value: str, faults: Faults) -> str:
    """The site's web address with a slash at the end, so that a page's name can follow it."""
    if not value or re.fullmatch(r"https?://[^\s/?#\"'<>\\@]+(/[^\s?#\"'<>\\]*)?", value):
        return value if value.endswith("/") or not value else f"{value}/"
    faults.error("settings-value", key_place(source, "site", "address"),
                 f"address can't be {value!r}",
                 'the folder of the site on the web, as "https://example.org/scotch/"')  # fmt: skip
    return ""


def _engine_place(source: Source) -> Place:
    """The engine key, else its table, else the file's first line."""
    place = key_place(source, "proof", "engine")
    return place if place.line > 1 else key_place(source, "", "proof")


def _print_settings(source: Source, values: dict[str, Any], faults: Faults) -> PrintSettings:
    page = values.get("page", "A5")
    size = page_size(page)
    if size is None:
        hint = did_you_mean(page, PAGE_SIZES) or (
            "choices: " + ", ".join(PAGE_SIZES) + ', or a size as "148mm x 210mm"'
        )
        faults.error("settings-value", key_place(source, "print", "page"),
                     f"page can't be {page!r}", hint)  # fmt: skip
        size = PAGE_SIZES["A5"]
    bleed = length_mm(values.get("bleed", "0mm"))
    if bleed is None or not 0 <= bleed <= 20:
        faults.error("settings-value", key_place(source, "print", "bleed"),
                     f"bleed can't be {values.get('bleed')!r}",
                     'a length from "0mm" to "20mm"')  # fmt: skip
        bleed = 0.0
    return PrintSettings(page, size[0], size[1], bleed, values.get("theme", "") or "book")


_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72}


def length_mm(text: str) -> float | None:
    """A length with its unit (mm, cm, in, pt) in millimetres; None when it isn't one."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(mm|cm|in|pt)?\s*", text)
    if not match or (match.group(2) is None and float(match.group(1)) != 0):
        return None
    return float(match.group(1)) * _UNITS[match.group(2) or "mm"]


def page_size(text: str) -> tuple[float, float] | None:
    """Width and height in millimetres: a name of `PAGE_SIZES`, or `148mm x 210mm`, each side
    from 70 to 500 mm; None for anything else."""
    if text in PAGE_SIZES:
        return PAGE_SIZES[text]
    parts = re.split(r"\s*[x×]\s*", text.strip())
    sides = [length_mm(part) for part in parts] if len(parts) == 2 else []
    if len(sides) == 2 and all(side is not None and 70 <= side <= 500 for side in sides):
        return sides[0], sides[1]  # type: ignore[return-value]
    return None
