"""What changed between two editions, and an errata sheet of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from builder import names
from builder.editions.compare import Change, page_changes
from builder.editions.compare import compare as compare_editions
from builder.faults import Faults
from builder.outputs import write_pdf_part
from builder.own_file import OwnFile, write_own_files
from builder.pipeline import prove
from builder.place import file_place
from builder.progress import Progress, no_progress
from builder.proved import Proved


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two editions' folders; whether to lay both out for their pages; where to write an errata
    sheet, None for nowhere."""

    old: Path
    new: Path
    pages: bool = False
    errata: Path | None = None


def compare(order: Comparison, faults: Faults,
            progress: Progress = no_progress) -> list[Change] | None:  # fmt: skip
    """What changed between two editions; None, and faults, where one of them has errors."""
    editions: list[Proved] = []
    for words, folder in (("reading the old edition", order.old),
                          ("reading the new edition", order.new)):  # fmt: skip
        progress(words, 0.1 + 0.1 * len(editions))
        proved = prove(folder, faults, drafts=False)
        if proved is None or faults.has_errors:
            return None
        editions.append(proved)
    old, new = editions
    changes = compare_editions(old.booklet, new.booklet)
    if order.pages:
        pages: list[Mapping[str, int]] = []
        for proved in editions:
            progress("laying out both editions", 0.3 + 0.3 * len(pages))
            with TemporaryDirectory(prefix="plyleaf-") as temporary:
                facts = write_pdf_part(proved, Path(temporary), faults, alone=True)
            if facts is None:
                return None
            pages.append(facts.page_of)
        changes += page_changes(old.booklet, new.booklet, pages[0], pages[1])
    if order.errata is not None and not _write_errata(old, new, changes, order.errata, faults):
        return None
    return changes


def _write_errata(old: Proved, new: Proved, changes: list[Change], target: Path,
                  faults: Faults) -> bool:  # fmt: skip
    """The errata sheet in the new edition's page size; whether it was written."""
    from builder.press.errata import write_errata
    from builder.press.pdf_files import PAPERS
    from builder.press.weasy import PressMissing

    with TemporaryDirectory(prefix="plyleaf-") as temporary:
        made = Path(temporary) / names.PDF_FILE
        try:
            facts = write_errata(old.booklet, new.booklet, changes, new.files.folder,
                                 new.settings.print, made, faults)  # fmt: skip
        except PressMissing as error:
            faults.error("pdf-missing", file_place(target), f"no PDF was made: {error}")
            return False
        return facts is not None and write_own_files(
            [OwnFile(PAPERS, target, made.read_bytes())], faults
        )
