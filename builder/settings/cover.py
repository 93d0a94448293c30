"""The table [cover]: what stands round the booklet."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Literal

from builder.faults import Faults
from builder.place import Place, Source, file_place
from builder.settings.lengths import length_mm
from builder.settings.tables import SettingKey, key_place

KINDS = ("separate", "self")
COVER_KEYS = {
    "kind": SettingKey(str, KINDS),
    "picture": SettingKey(str),
    "position": SettingKey(str),
    "text": SettingKey(str),
    "colour": SettingKey(str),
    "spine": SettingKey(str),
}
LONGEST_TEXT = 1200  # characters; more fits on no back of a small booklet


@dataclass(frozen=True, slots=True)
class CoverSettings:
    """The cover that is asked for.

    `kind` tells whether it is a sheet of its own, or the outer pages of the booklet. `picture` is a
    file of the booklet, `position` a named position without its `@`, either empty. `text` stands on the
    back. `colour` is `#rrggbb`, empty for the theme's. `spine` is its width in millimetres, None to
    have it computed.
    """

    kind: Literal["separate", "self"] = "separate"
    picture: str = ""
    picture_place: Place = file_place("booklet.toml")
    position: str = ""
    position_place: Place = file_place("booklet.toml")
    text: str = ""
    colour: str = ""
    spine: float | None = None


def cover_settings(source: Source, values: dict[str, Any], faults: Faults) -> CoverSettings:
    colour = values.get("colour", "")
    if colour and not re.fullmatch("#[0-9a-fA-F]{6}", colour):
        faults.error("settings-value", key_place(source, "cover", "colour"),
                     f"colour can't be {colour!r}", 'red, green and blue as "#1d4e6b"')  # fmt: skip
        colour = ""
    spine = length_mm(values["spine"]) if "spine" in values else None
    if "spine" in values and (spine is None or spine > 100):
        faults.error("settings-value", key_place(source, "cover", "spine"),
                     f"spine can't be {values['spine']!r}",
                     'a width from "0mm" to "100mm"')  # fmt: skip
        spine = None
    kind = values.get("kind", "separate")
    if spine is not None and kind == "self":
        faults.error("settings-value", key_place(source, "cover", "spine"),
                     'a cover that is folded with the pages has no spine',
                     'leave it out, or write kind = "separate"')  # fmt: skip
    text = values.get("text", "").strip()
    if len(text) > LONGEST_TEXT:
        faults.error("settings-value", key_place(source, "cover", "text"),
                     f"the text has {len(text)} characters, more than a back cover holds",
                     f"keep to {LONGEST_TEXT}")  # fmt: skip
    return CoverSettings(
        kind=kind,
        picture=values.get("picture", ""),
        picture_place=key_place(source, "cover", "picture"),
        position=values.get("position", "").removeprefix("@"),
        position_place=key_place(source, "cover", "position"),
        text=text[:LONGEST_TEXT],
        colour=colour,
        spine=spine,
    )
