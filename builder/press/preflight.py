"""Preflight: whether a PDF will come out of an office's mono printer as it was meant.

In: a PDF. Out: a `Preflight`, a row for each check with pass or fail and what was found. Facts
are read from the PDF itself, whatever made it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pypdf import PdfReader

from builder.faults import Faults
from builder.press import preflight_checks as checks
from builder.press.geometry import page_shape
from builder.press.job import Job, Layout, largest, settled
from builder.press.pdf_files import PdfFile, open_pdf, reading
from builder.press.preflight_boards import WantedBoard, boards
from builder.press.preflight_boxes import claims, page_boxes
from builder.press.preflight_checks import Document, Page, Row
from builder.press.preflight_walk import Budget, TooMuch, page_ink


@dataclass(frozen=True, slots=True)
class Preflight:
    """The checks of one PDF."""

    rows: tuple[Row, ...]

    @property
    def passed(self) -> bool:
        return all(row.passed for row in self.rows)


def preflight(source: PdfFile, job: Job | None, faults: Faults,
              wanted: Iterable[WantedBoard] = ()) -> Preflight | None:  # fmt: skip
    """Checks a PDF; None, and a fault, when it can't be read.

    `job` tells how it will be laid out, None leaves that to the page's size: what folds to a
    booklet at full size is judged as a booklet, all else page by page. `wanted` is what the
    diagrams should show.
    """
    with reading(source, faults):
        reader = open_pdf(source, faults)
        if reader is None:
            return None
        try:
            document, job = _read(reader, job)
        except TooMuch as error:
            faults.error("press-read", source.place, f"this PDF can't be looked through: {error}")
            return None
        return Preflight((
            checks.page_sizes(document), page_boxes(reader, document),
            checks.page_count(document, job),
            checks.fonts(document), checks.text_sizes(document), checks.pictures(document),
            checks.margins(document), checks.greys(document),
            checks.annotations(document, tuple(wanted)), checks.links(reader, document),
            claims(reader),
        ))  # fmt: skip
    return None


def _read(reader: PdfReader, job: Job | None) -> tuple[Document, Job]:
    shapes = [page_shape(page) for page in reader.pages]
    size = largest(shapes)
    if job is None:
        grid, booklet = settled(Job(), size)
        job = booklet if grid.scale == 1 else Job(Layout.ONE)
    grid, job = settled(job, size)
    budget = Budget(reader)
    labels = _labels(reader)
    pages = tuple(
        Page(label, shape, tuple(page_ink(page, shape, budget)))
        for label, shape, page in zip(labels, shapes, reader.pages, strict=True)
    )
    found = tuple(board for number, page in enumerate(pages) for board in boards(number, page.ink))
    return Document(pages, grid.scale, found), job


def _labels(reader: PdfReader) -> list[str]:
    """What a reader's page box says; the plain numbers where the labels are of no use."""
    plain = [str(number) for number in range(1, len(reader.pages) + 1)]
    labels = list(reader.page_labels)
    return labels if len(labels) == len(plain) and len(set(labels)) == len(labels) else plain
