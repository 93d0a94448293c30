"""PDF files read with care and put into place whole.

In: a path. Out: pypdf's reader, or a fault; and bytes at a path, never half of them, and never
over a file that the press has not made.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from pypdf import PdfReader

from builder.faults import Faults
from builder.place import Place

OURS = "plyleaf-press"  # a keyword of every PDF that the press may replace


@dataclass(frozen=True, slots=True)
class PdfFile:
    """A PDF to read, and what faults call it if not by its path."""

    path: Path
    name: str = ""

    @property
    def place(self) -> Place:
        return Place(self.name or str(self.path), 1, 1, 2)


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
        faults.error("press-read", pdf.place, f"this can't be read: {_reason(error)}")
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


def put(outputs: Mapping[Path, bytes], source: Path, faults: Faults,
        ours: Callable[[PdfReader], bool] = is_ours) -> bool:  # fmt: skip
    """Puts files into place, each in one step; whether that was done.

    Nothing is written when one of them would replace `source` or a file that isn't `ours`. Each
    is written beside its place first.
    """
    free = [_is_free(path, source, faults, ours) for path in outputs]
    if not all(free):
        return False
    drafts = {path: path.with_name(f".{path.name}.plyleaf") for path in outputs}
    try:
        for path, body in outputs.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            drafts[path].unlink(missing_ok=True)  # left by a run that was killed
            with drafts[path].open("xb") as file:
                file.write(body)
                file.flush()
                os.fsync(file.fileno())
        for path, draft in drafts.items():
            os.replace(draft, path)
    except OSError as error:
        faults.error("out-write", _at(path), f"this can't be written: {_reason(error)}")
        return False
    finally:
        for draft in drafts.values():
            try:
                draft.unlink(missing_ok=True)
            except OSError:
                pass  # its folder is none, or is not to be written in
    return True


def _is_free(path: Path, source: Path, faults: Faults,
             ours: Callable[[PdfReader], bool]) -> bool:  # fmt: skip
    if not os.path.lexists(path):
        return True
    if path.is_dir():
        faults.error("out-place", _at(path), "this is a folder", "name a file with --out")
        return False
    if path.exists() and path.samefile(source):
        faults.error("out-place", _at(path), "this is the file that is laid out",
                     "choose another name with --out")  # fmt: skip
        return False
    found = Faults()
    pdf = PdfFile(path)
    with reading(pdf, found):
        reader = open_pdf(pdf, found)
        if reader is not None and ours(reader):
            return True
    faults.error("out-stranger", _at(path),
                 "the press has not made this file, so it is not replaced",
                 "move it away, or choose another name with --out")  # fmt: skip
    return False


def _at(path: Path) -> Place:
    return PdfFile(path).place


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
