"""A page for whoever prints: how to set the printer, what to try first, how to fold and bind.

In: what was imposed, and the name of its file. Out: a PDF of one page, in the language of the
document where there are words for it. It is a file of its own, so that the other one can be
printed as it is, every page of it, both sides.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from builder.draw import glyphs
from builder.faults import Faults
from builder.press import fetch, weasy
from builder.press.impose import Imposed
from builder.press.job import Layout
from builder.press.kept import Kept
from builder.press.paginate import Copy, press
from builder.press.pdf_files import OURS, PdfFile
from builder.press.plan import Side, Turn
from builder.render.theme_files import ThemeFiles
from builder.render.typography import signs_kept

WORDS = Path(__file__).parent / "instructions"
TEMPLATES = glyphs.FONTS.parent / "press"
_FACES = glyphs.FONTS.parent / "print" / "base"  # where faces.css is
_PAGES = {"A4": "210mm 297mm", "Letter": "215.9mm 279.4mm"}


@dataclass(frozen=True, slots=True)
class PrintWords:
    """What the page says; `{…}` is filled in by `str.format`. The files beside this one hold it,
    one a language; a key that is missing or unknown there raises ValueError."""

    heading: str
    untitled: str
    page: str
    pages: str  # {number}
    sheet: str
    sheets: str  # {number}
    lead_booklet: str  # {pages} {sheets} {paper}, as in all leads
    lead_parts: str  # {parts}
    lead_stack: str
    lead_sides: str
    window: str
    file: str
    paper: str
    paper_about: str  # {sheets}
    size: str
    size_value: str
    size_about: str
    sides: str
    sides_short: str
    sides_long: str
    sides_short_about: str
    sides_long_about: str
    per_sheet: str
    per_sheet_about: str
    colour: str
    colour_value: str
    first: str
    first_sideways: str
    first_upwards: str
    front: str
    back: str
    counted: str
    by_hand: str
    by_hand_text: str
    finish_booklet: str
    finish_parts: str
    finish_stack: str
    finish_sides: str
    steps_booklet: tuple[str, ...]
    steps_parts: tuple[str, ...]  # {signature}
    steps_stack: tuple[str, ...]
    steps_sides: tuple[str, ...]
    smaller: str  # {percent} {paper}
    blank: str
    blanks: str  # {number}


@dataclass(frozen=True, slots=True)
class Setting:
    """A row of the print window: what it is called, what to choose, and a gloss."""

    name: str
    value: str
    about: str


def instructions_file(sheets: Path) -> Path:
    """Where the page goes, beside the sheets: `x-to-print.pdf` has `x-how-to-print.pdf`."""
    return sheets.with_name(f"{sheets.stem.removesuffix('-to-print')}-how-to-print.pdf")


def read_print_words(language: str) -> tuple[str, PrintWords]:
    """The words of a language tag (`de-AT` is `de`), English where there are none, and the tag
    that they are in."""
    code = language.split("-")[0].lower()
    path = WORDS / f"{code}.toml"
    if not code.isalpha() or not path.is_file():
        code, path = "en", WORDS / "en.toml"
    data: dict[str, Any] = tomllib.loads(signs_kept(path.read_text(encoding="utf-8"), code))
    known = {field.name for field in fields(PrintWords)}
    if set(data) != known:
        raise ValueError(f"{path}: missing {known - set(data)}, unknown {set(data) - known}")
    return code, PrintWords(**{key: tuple(value) if isinstance(value, list) else value
                               for key, value in data.items()})  # fmt: skip


def instructions_pdf(imposed: Imposed, file: str, faults: Faults) -> bytes | None:
    """The page for the imposed PDF called `file`; None, and a warning, when it can't be made.

    Raises weasy.PressMissing.
    """
    theme = ThemeFiles((TEMPLATES, _FACES))
    page = _PAGES["Letter" if imposed.job.sheet in ("Letter", "Tabloid", "Ledger") else "A4"]
    sheets = [weasy.Sheet("how-to.css", f"@page {{ size: {page} }}")]
    sheets += [weasy.Sheet(name, theme.text(name)) for name in ("faces.css", "how-to.css")]
    shelves = {fetch.THEME: fetch.Shelf((TEMPLATES, glyphs.FONTS.parent))}
    found = Faults()
    with TemporaryDirectory(prefix="plyleaf-") as folder:
        target = Path(folder) / "how-to.pdf"
        try:
            setting = weasy.Setting(tuple(sheets), shelves, {})
            press(Copy(instructions_html(imposed, file)), setting, target, found, Kept(None))
            return target.read_bytes()
        except (weasy.PressFailed, OSError) as error:
            faults.warning("press-how-to", PdfFile(Path(file)).place,
                           f"the page that tells how to print couldn't be made: {error}")  # fmt: skip
            return None


def instructions_html(imposed: Imposed, file: str) -> str:
    """The page as HTML."""
    language, words = read_print_words(imposed.language)
    kind, parts = _kind(imposed)
    counts = _counts(imposed, words)
    sideways = (imposed.turn is Turn.SHORT) == imposed.grid.is_wide
    first = imposed.sheets[0]
    return ThemeFiles((TEMPLATES,)).environment().get_template("how-to.html").render(
        language=language,
        keyword=OURS,
        words=words,
        title=imposed.title or words.untitled,
        lead=getattr(words, f"lead_{kind}").format(parts=parts, **counts),
        settings=_settings(imposed, file, words, counts["sheets"]),
        first=words.first_sideways if sideways else words.first_upwards,
        wide=imposed.grid.is_wide,
        folded=imposed.job.layout is Layout.BOOKLET,
        stapled=kind == "booklet",
        sides=((words.front, _numbers(first.front)), (words.back, _numbers(first.back))),
        finish=getattr(words, f"finish_{kind}"),
        steps=[step.format(signature=imposed.job.signature)
               for step in getattr(words, f"steps_{kind}")],
        notes=_notes(imposed, words),
    )  # fmt: skip


def _kind(imposed: Imposed) -> tuple[str, int]:
    """Which words fit, and how many parts are folded."""
    if imposed.job.layout is Layout.BOOKLET:
        signature = imposed.job.signature or len(imposed.sheets)
        parts = -(-len(imposed.sheets) // signature)
        return ("parts" if parts > 1 else "booklet"), parts
    return ("stack" if imposed.job.layout is Layout.STACK else "sides"), 0


def _counts(imposed: Imposed, words: PrintWords) -> dict[str, str]:
    pages, sheets = imposed.pages, len(imposed.sheets)
    return {
        "pages": words.page if pages == 1 else words.pages.format(number=pages),
        "sheets": words.sheet if sheets == 1 else words.sheets.format(number=sheets),
        "paper": imposed.job.sheet,
    }


def _settings(imposed: Imposed, file: str, words: PrintWords, sheets: str) -> list[Setting]:
    short = imposed.turn is Turn.SHORT
    return [
        Setting(words.file, file, ""),
        Setting(words.paper, imposed.job.sheet, words.paper_about.format(sheets=sheets)),
        Setting(words.size, words.size_value, words.size_about),
        Setting(words.sides, words.sides_short if short else words.sides_long,
                words.sides_short_about if short else words.sides_long_about),
        Setting(words.per_sheet, "1", words.per_sheet_about),
        Setting(words.colour, words.colour_value, ""),
    ]  # fmt: skip


def _numbers(side: Side) -> list[list[str]]:
    """The pages of a side, as somebody sees them who has turned it upright."""
    return [["" if cell.page is None else str(cell.page + 1) for cell in row] for row in side.rows]


def _notes(imposed: Imposed, words: PrintWords) -> list[str]:
    notes = []
    if imposed.grid.scale < 1:
        notes.append(words.smaller.format(percent=round(100 * imposed.grid.scale),
                                          paper=imposed.job.sheet))  # fmt: skip
    if imposed.blanks:
        notes.append(words.blank if imposed.blanks == 1
                     else words.blanks.format(number=imposed.blanks))  # fmt: skip
    return notes
