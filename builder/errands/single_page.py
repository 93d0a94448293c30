"""One chapter as a page to send."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from builder.errands.chapters import chapter_slug
from builder.faults import Faults
from builder.own_file import OwnFile, is_new, write_own_files
from builder.pipeline import prove
from builder.progress import Progress, no_progress


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
    (`builder.errands.chapters`)."""
    from builder.write.single_page import PAGE, page_text

    proved = prove(order.folder, faults, order.drafts, progress)
    if proved is None or faults.has_errors:
        return None
    slug = chapter_slug(proved.booklet, order.chapter)
    target = order.target or Path(f"{slug}.html")
    if not (is_new(target, faults) if order.target is None else PAGE.is_free(target, faults)):
        return None
    progress("making the page", 0.9)
    text = page_text(proved.booklet, proved.settings, proved.files, slug, faults)
    if text is None or not write_own_files([OwnFile(PAGE, target, text.encode("utf-8"))], faults):
        return None
    return target
