"""The table [print]: the booklet on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from builder.faults import Faults, did_you_mean
from builder.place import Source
from builder.settings.lengths import PAGE_SIZES, length_mm, page_size
from builder.settings.tables import SettingKey, key_place

PRINT_KEYS = {"page": SettingKey(str), "theme": SettingKey(str), "bleed": SettingKey(str)}


@dataclass(frozen=True, slots=True)
class PrintSettings:
    """Lengths in millimetres. `page_name` is what the author wrote."""

    page_name: str = "A5"
    width: float = 148.0
    height: float = 210.0
    bleed: float = 0.0
    theme: str = "book"


def print_settings(source: Source, values: dict[str, Any], faults: Faults) -> PrintSettings:
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
