"""Tables of TOML checked against the keys that are known, with the place of everything.

In: TOML text of an author's, booklet.toml or front matter. Out: well-typed values, or faults at
the keys' own lines.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from builder.faults import Faults, did_you_mean
from builder.place import Place, Source


@dataclass(frozen=True, slots=True)
class SettingKey:
    """A key that a table of booklet.toml may hold: its type, and its choices if closed."""

    kind: type | tuple[type, ...]
    choices: tuple[str, ...] = ()


_TYPE_WORDS = {str: "text in quotes", list: "a list", bool: "true or false"}


def check_table(source: Source, data: dict[str, Any], tables: dict[str, dict[str, SettingKey]],
                faults: Faults, base: int = 0) -> dict[str, dict[str, Any]]:  # fmt: skip
    """The known, well-typed values of each table in `tables` (the key '' is the top level).

    Everything else is an error at its own line. `base` is the offset in `source` where the
    TOML text begins.
    """
    checker = _Checker(source, faults, base)
    top = {**tables[""], **{name: SettingKey(dict) for name in tables if name}}
    found: dict[str, dict[str, Any]] = {name: {} for name in tables}
    for key, value in data.items():
        if not key or key not in tables:
            if checker.fits(top, "", key, value):
                found[""][key] = value
        elif isinstance(value, dict):
            found[key] = {
                inner: one for inner, one in value.items()
                if checker.fits(tables[key], key, inner, one)
            }  # fmt: skip
        else:
            place = key_place(source, "", key, base)
            faults.error("settings-type", place, f"{key} must be a table: [{key}]")
    return found


@dataclass(frozen=True, slots=True)
class _Checker:
    """Tells of keys that aren't known, and of values that don't fit them."""

    source: Source
    faults: Faults
    base: int

    def fits(self, known: dict[str, SettingKey], table: str, key: str, value: Any) -> bool:
        place = key_place(self.source, table, key, self.base)
        if key not in known:
            within = f" in [{table}]" if table else ""
            hint = did_you_mean(key, known) or "known keys: " + ", ".join(sorted(known))
            self.faults.error("settings-key", place, f"unknown key {key}{within}", hint)
            return False
        spec = known[key]
        kinds = spec.kind if isinstance(spec.kind, tuple) else (spec.kind,)
        if not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds):
            wanted = " or ".join(_TYPE_WORDS.get(kind, "a date") for kind in kinds)
            quoted = str in kinds and type(value) in (int, float)
            self.faults.error("settings-type", place, f"{key} must be {wanted}",
                              f'write {key} = "{value}"' if quoted else "")  # fmt: skip
            return False
        if spec.choices and value not in spec.choices:
            hint = did_you_mean(str(value), spec.choices) or "choices: " + ", ".join(spec.choices)
            self.faults.error("settings-value", place, f"{key} can't be {value!r}", hint)
            return False
        return True


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


def read_toml(source: Source, faults: Faults, start: int = 0,
              end: int | None = None) -> dict[str, Any] | None:  # fmt: skip
    """The TOML in `source.text[start:end]`; None when it can't be read, which is told."""
    text = source.text[start:end]
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place = _error_place(source, error, start)
        reason = re.sub(r" \(at .*\)$", "", str(error))
    except RecursionError:
        place, reason = source.place(start), "it is nested too deep"
    except ValueError:  # Python reads no number of more than 4,300 digits.
        number = re.search(r"[\d_]{4300,}", text)
        place = source.place(start + (number.start() if number else 0))
        reason = "a number has too many digits"
    faults.error("toml", place, f"not valid TOML: {reason}", _REMEDIES.get(reason, ""))
    return None


_REMEDIES = {
    "Invalid value": 'text stands in straight quotes: title = "…"',
    "Cannot overwrite a value": "each key may stand once",
}


def _error_place(source: Source, error: tomllib.TOMLDecodeError, start: int) -> Place:
    match = re.search(r"at line (\d+), column (\d+)", str(error))
    if not match:  # at the end
        return source.place(len(source.text) if not start else start)
    line = source.place(start).line + int(match.group(1)) - 1
    first = source.line_starts[min(line, len(source.line_starts)) - 1]
    return source.place(first + int(match.group(2)) - 1)


def listed_texts(source: Source, table: str, key: str, value: list[Any], what: str,
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
