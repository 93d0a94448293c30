"""The table [print]: the booklet on paper."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Literal

from builder.faults import Faults, did_you_mean
from builder.place import Source
from builder.settings.lengths import PAGE_SIZES, length_mm, page_size
from builder.settings.tables import SettingKey, key_place, listed_texts

BINDINGS = ("", "stapled", "glued")
VARIANTS = ("plain", "pdf/a", "pdf/ua")
HEADS = ("titles", "openings")
CODES_AT = ("chapters", "exercises", "cover")
PRINT_KEYS = {
    "page": SettingKey(str),
    "theme": SettingKey(str),
    "bleed": SettingKey(str),
    "marks": SettingKey(bool),
    "binding": SettingKey(str, BINDINGS),
    "paper": SettingKey(str),
    "variant": SettingKey(str, VARIANTS),
    "heads": SettingKey(str, HEADS),
    "qr": SettingKey(list),
}
SHEET = 0.1  # mm of office paper of 80 g/m²; common practice, no source
# cm³/g of uncoated book paper, which makes 80 g/m² 0.1 mm thick; common practice, no source
BULK = 1.25


@dataclass(frozen=True, slots=True)
class PrintSettings:
    """Lengths in millimetres. `page_name` is what the author wrote, `paper` a leaf's thickness.

    `binding` is empty where nothing is asked of the number of pages. `qr` tells beside what
    codes stand that lead to the site. `heads` are what stands at the head of left-hand pages: the
    chapters' titles alone, or with their openings in front.
    """

    page_name: str = "A5"
    width: float = 148.0
    height: float = 210.0
    bleed: float = 0.0
    theme: str = "book"
    marks: bool = False
    binding: Literal["", "stapled", "glued"] = ""
    paper: float = SHEET
    variant: Literal["plain", "pdf/a", "pdf/ua"] = "plain"
    heads: Literal["titles", "openings"] = "titles"
    qr: tuple[str, ...] = ()

    @property
    def page_multiple(self) -> int:
        """What must divide the number of pages: a folded sheet has four, a leaf two."""
        return {"": 1, "stapled": 4, "glued": 2}[self.binding]


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
    paper = leaf_thickness(values.get("paper", f"{SHEET}mm"))
    if paper is None:
        faults.error("settings-value", key_place(source, "print", "paper"),
                     f"paper can't be {values.get('paper')!r}",
                     'a leaf\'s thickness as "0.1mm", or its weight as "90 g/m²", with its bulk '
                     'as "90 g/m² 1.5 cm³/g"')  # fmt: skip
        paper = SHEET
    return PrintSettings(
        page, size[0], size[1], bleed, values.get("theme", "") or "book",
        marks=values.get("marks", False), binding=values.get("binding", ""), paper=paper,
        variant=values.get("variant", "plain"), heads=values.get("heads", "titles"),
        qr=_codes_at(source, values.get("qr", []), faults),
    )  # fmt: skip


def leaf_thickness(text: str) -> float | None:
    """A leaf's thickness in millimetres, up to 1: a length, or grams a square metre times bulk
    (ISO 534 calls the latter specific volume, cm³/g). None where it is neither."""
    weight = re.fullmatch(
        r"\s*(\d+(?:\.\d+)?)\s*(?:g|gsm|g/m²|g/m2)(?:\s+(\d+(?:\.\d+)?)\s*(?:cm³/g|cm3/g)?)?\s*", text
    )
    if weight:
        thickness = float(weight.group(1)) * float(weight.group(2) or BULK) / 1000
    else:
        thickness = length_mm(text) or 0.0
    return thickness if 0.01 <= thickness <= 1 else None


def _codes_at(source: Source, value: list[Any], faults: Faults) -> tuple[str, ...]:
    found: list[str] = []
    for entry, place in listed_texts(source, "print", "qr", value, "texts", faults):
        if entry in CODES_AT:
            found.append(entry)
        else:
            faults.error("settings-value", place, f"qr can't hold {entry!r}",
                         did_you_mean(entry, CODES_AT) or "choices: " + ", ".join(CODES_AT))  # fmt: skip
    return tuple(dict.fromkeys(found))
