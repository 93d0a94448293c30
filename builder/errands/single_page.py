"""One chapter as a page to send."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from builder.faults import Faults
from builder.own_file import OwnFile, write_own_files
from builder.pipeline import Progress, no_progress, prove
from builder.place import Place


@dataclass(frozen=True, slots=True)
class PageOrder:
    """The chapter that is wanted of the booklet in `folder`, and the file that it goes to; None is
    a file of the chapter's name here, which replaces nothing."""

    folder: Path
    chapter: str
    target: Path | None = None
    drafts: bool = False


def send_page(order: PageOrder, faults: Faults, progress: Progress = no_progress) -> Path | None:
    """Makes the page; its path, or None after an error. Raises NoChapter
    (`builder.press.handouts`)."""
    from builder.press.handouts import chapter_slug
    from builder.write.single_page import PAGE, page_text

    proved = prove(order.folder, faults, order.drafts, progress)
    if proved is None or faults.has_errors:
        return None
    slug = chapter_slug(proved.booklet, order.chapter)
    target = order.target or Path(f"{slug}.html")
    if order.target is None and os.path.lexists(target):
        faults.error("out-stranger", Place(str(target), 1, 1, 2), "this is there already",
                     f"to replace it, name it: -o {target}")  # fmt: skip
        return None
    if not PAGE.is_free(target, faults):
        return None
    progress("making the page", 0.9)
    text = page_text(proved.booklet, proved.settings, proved.files, slug, faults)
    if text is None or not write_own_files([OwnFile(PAGE, target, text.encode("utf-8"))], faults):
        return None
    return target
