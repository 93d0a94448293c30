"""PDF files read with care, and told from those of others.

In: a path. Out: pypdf's reader, or a fault; and the kinds of PDF that we write (`builder.own_file`).
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from pypdf import PdfReader

from builder.faults import Faults, why
from builder.own_file import Kind
from builder.place import Place, file_place

OURS = "plyleaf-press"  # a keyword of every PDF that the press may replace


@dataclass(frozen=True, slots=True)
class PdfFile:
    """A PDF to read, and what faults call it if not by its path."""

    path: Path
    name: str = ""

    @property
    def place(self) -> Place:
        return file_place(self.name or str(self.path))


@contextmanager
def reading(pdf: PdfFile, faults: Faults) -> Iterator[None]:
    """Work on a PDF that may be broken or made to break its reader: what the reader raises
    becomes an error, and what it has to say is left unsaid."""
    logger = logging.getLogger("pypdf")
    silence = logging.NullHandler()
    logger.addHandler(silence)
    try:
        yield
    except Exception as error:  # pypdf lets broken files raise nearly anything
        words = " ".join(str(error).split())[:200] or type(error).__name__
        faults.error("press-read", pdf.place, f"this PDF can't be read: {words}",
                     "make it anew, or have another program save it as PDF")  # fmt: skip
    finally:
        logger.removeHandler(silence)


def open_pdf(pdf: PdfFile, faults: Faults) -> PdfReader | None:
    """A reader with at least one page; None after an error. To be called within `reading`."""
    try:
        with pdf.path.open("rb") as file:
            head = file.read(1024)
    except OSError as error:
        faults.error("press-read", pdf.place, f"this can't be read: {why(error)}")
        return None
    if b"%PDF-" not in head:  # readers look for it in the first 1024 bytes (ISO 32000-1, annex H)
        faults.error("press-read", pdf.place, "this is no PDF")
        return None
    reader = PdfReader(pdf.path)
    if reader.is_encrypted:
        faults.error("press-locked", pdf.place, "this PDF is locked with a password or by rights",
                     "save it without protection first")  # fmt: skip
        return None
    if not reader.pages:
        faults.error("press-read", pdf.place, "this PDF has no pages")
        return None
    return reader


def is_ours(reader: PdfReader) -> bool:
    """Whether the press made this file."""
    keywords = (reader.metadata or {}).get("/Keywords")
    return OURS in str(keywords or "").split()


def is_plyleafs(reader: PdfReader) -> bool:
    """Whether any of our commands made this file."""
    return (reader.metadata or {}).get("/Creator") == "Plyleaf"


def _made(ours: Callable[[PdfReader], bool]) -> Callable[[Path], bool]:
    """Whether a file is a PDF that is `ours`."""

    def test(path: Path) -> bool:
        found, pdf = Faults(), PdfFile(path)
        with reading(pdf, found):
            reader = open_pdf(pdf, found)
            return reader is not None and ours(reader)
        return False

    return test


SHEETS = Kind(_made(is_ours), "the press has not made this file")
PAPERS = Kind(_made(is_plyleafs), "this is no PDF that Plyleaf made")


def is_apart(outputs: Iterable[Path], source: PdfFile, faults: Faults) -> bool:
    """Whether no output would replace the file that they are made from, under whatever name."""
    for path in outputs:
        if path.exists() and path.samefile(source.path):
            faults.error("out-place", file_place(path), "this is the file that is laid out",
                         "choose another name with --out")  # fmt: skip
            return False
    return True
