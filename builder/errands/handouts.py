"""Handouts from a booklet's chapters."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from builder import names
from builder.errands.chapters import chapter_slug
from builder.faults import Faults
from builder.outputs import lay_out
from builder.own_file import OwnFile, is_new, write_own_files
from builder.pipeline import prove
from builder.place import file_place
from builder.progress import Progress, no_progress

if TYPE_CHECKING:
    from builder.press.handouts import Handout, Wanted


@dataclass(frozen=True, slots=True)
class HandoutOrder:
    """What is wanted of the booklet in `folder`, and where it goes.

    `replaces` allows that a handout made earlier stands there. `csv` is where flash cards go as
    CSV, too; `pages` has the booklet laid out, so that a summary can tell its pages.
    """

    folder: Path
    wanted: Wanted
    target: Path
    replaces: bool
    csv: Path | None = None
    pages: bool = False
    drafts: bool = False


@dataclass(frozen=True, slots=True)
class Handed:
    """The handout that was made."""

    handout: Handout
    results: tuple[Path, ...]
    seconds: float


def handout(order: HandoutOrder, faults: Faults,
            progress: Progress = no_progress) -> Handed | None:  # fmt: skip
    """Makes a handout from the booklet's chapters. Raises NoChapter (`builder.errands.chapters`)."""
    from builder.press.handouts import HandoutPress
    from builder.press.pdf_files import PAPERS
    from builder.press.weasy import PressMissing
    from builder.write.cards_csv import CARDS, cards_file

    started = time.monotonic()
    proved = prove(order.folder, faults, order.drafts, progress)
    if proved is None or faults.has_errors:
        return None
    wanted = order.wanted
    if wanted.chapter:
        wanted = replace(wanted, chapter=chapter_slug(proved.booklet, wanted.chapter))
    if not order.replaces and not is_new(order.target, faults):
        return None
    if order.csv and not CARDS.is_free(order.csv, faults):
        return None
    with TemporaryDirectory(prefix="plyleaf-") as temporary:
        made = Path(temporary) / names.PDF_FILE
        page_of: Mapping[str, int] = {}
        try:
            if order.pages:
                facts = lay_out(proved, made, faults)
                if facts is None:
                    return None
                page_of = facts.page_of
            progress("laying out the handout", 0.5)
            press = HandoutPress(proved.booklet, proved.files.folder, faults, page_of)
            found = press.make(wanted, made)
        except PressMissing as error:
            faults.error("pdf-missing", file_place(order.target),
                         f"no handout was made: {error}")  # fmt: skip
            return None
        if found is None or faults.has_errors:
            return None
        files = [OwnFile(PAPERS, order.target, made.read_bytes())]
    if order.csv:
        files.append(cards_file(found.cards, order.csv))
    if not write_own_files(files, faults):
        return None
    return Handed(found, tuple(file.target for file in files), time.monotonic() - started)
