"""A booklet with everything that its outputs and the errands read."""

from __future__ import annotations

from dataclasses import dataclass

from builder.model import Booklet
from builder.proof.report import ProofReport
from builder.settings import Settings
from builder.source.files import BookletFiles
from builder.source.syntax import ChapterSource


@dataclass(frozen=True, slots=True)
class Proved:
    """A booklet that was read, played out and proved as far as that went."""

    files: BookletFiles
    settings: Settings
    booklet: Booklet
    report: ProofReport
    chapters: tuple[ChapterSource, ...]

    def sheet(self) -> str:
        """The proof sheet, an HTML page."""
        from builder.proof.sheet import sheet_html

        texts = {chapter.source.file: chapter.source for chapter in self.chapters}
        return sheet_html(self.booklet, self.report, texts)
