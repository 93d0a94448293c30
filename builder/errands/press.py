"""A booklet's PDF, or any, laid out on sheets for a printer or looked through before."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from builder import names
from builder.faults import Faults
from builder.outputs import write_pdf_part
from builder.own_file import OwnFile, write_own_files
from builder.pipeline import prove
from builder.place import file_place
from builder.progress import Progress, no_progress
from builder.proved import Proved

if TYPE_CHECKING:
    from builder.press.impose import Imposed
    from builder.press.job import Job
    from builder.press.pdf_files import PdfFile
    from builder.press.preflight import Preflight


@dataclass(frozen=True, slots=True)
class PressOrder:
    """What to lay out on sheets (a booklet's folder or a PDF) how, and the file to write."""

    source: Path
    job: Job
    target: Path


@dataclass(frozen=True, slots=True)
class Pressed:
    """What the press made."""

    imposed: Imposed
    results: tuple[Path, ...]
    seconds: float


def press(order: PressOrder, faults: Faults,
          progress: Progress = no_progress) -> Pressed | None:  # fmt: skip
    """A PDF laid out for a printer, and a page that tells how to print it."""
    from builder.press.impose import impose
    from builder.press.pdf_files import SHEETS, is_apart

    started = time.monotonic()
    with _finished(order.source, faults, progress) as finished:
        if finished is None:
            return None
        progress("laying out the sheets", 0.8)
        imposed = impose(finished.pdf, order.job, faults)
        if imposed is None:
            return None
        progress("setting the page that tells how to print", 0.9)
        outputs = _instructions(imposed, order.target, faults) | {order.target: imposed.pdf}
        files = [OwnFile(SHEETS, path, body) for path, body in outputs.items()]
        if not is_apart(outputs, finished.pdf, faults) or not write_own_files(files, faults):
            return None
    return Pressed(imposed, (order.target, *(path for path in outputs if path != order.target)),
                   time.monotonic() - started)  # fmt: skip


def preflight(source: Path, job: Job | None, faults: Faults,
              progress: Progress = no_progress) -> Preflight | None:  # fmt: skip
    """The checks of a booklet's PDF, or of any; `job` as in `builder.press.preflight`."""
    from builder.press.preflight import preflight as look_through
    from builder.press.preflight_boards import wanted_boards

    with _finished(source, faults, progress) as finished:
        if finished is None:
            return None
        progress("looking through the PDF", 0.8)
        diagrams = finished.proved.booklet.diagrams if finished.proved else ()
        return look_through(finished.pdf, job or _asked(finished.proved), faults,
                            wanted_boards(diagrams))  # fmt: skip


def _asked(proved: Proved | None) -> Job | None:
    """A booklet that is glued at the spine is no folded one, whatever its pages' size."""
    from builder.press.job import Job, Layout

    glued = proved is not None and proved.settings.print.binding == "glued"
    return Job(Layout.ONE) if glued else None


@dataclass(frozen=True, slots=True)
class _Finished:
    """A PDF, and the booklet that it was made from where that is known."""

    pdf: PdfFile
    proved: Proved | None


@contextmanager
def _finished(source: Path, faults: Faults, progress: Progress) -> Iterator[_Finished | None]:
    """The PDF itself, or the folder's booklet laid out for the time being; None after an error."""
    from builder.press.pdf_files import PdfFile

    if not source.is_dir():
        yield _Finished(PdfFile(source), None)
        return
    proved = prove(source, faults, drafts=False, progress=progress)
    if proved is None or faults.has_errors:
        yield None
        return
    with TemporaryDirectory(prefix="plyleaf-") as temporary:
        folder = Path(temporary)
        facts = write_pdf_part(proved, folder, faults, alone=True)
        if facts is None or faults.has_errors:
            yield None
            return
        yield _Finished(PdfFile(folder / names.PDF_FILE, names.PDF_FILE), proved)


def _instructions(imposed: Imposed, target: Path, faults: Faults) -> dict[Path, bytes]:
    """The page that tells how to print, and where it goes; nothing where it can't be made."""
    from builder.press.instructions import instructions_file, instructions_pdf
    from builder.press.weasy import PressMissing

    try:
        page = instructions_pdf(imposed, target.name, faults)
    except PressMissing as error:
        faults.warning("pdf-missing", file_place(target),
                       f"the page that tells how to print was not made: {error}")  # fmt: skip
        return {}
    return {} if page is None else {instructions_file(target): page}
