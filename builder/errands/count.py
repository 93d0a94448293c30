"""How often a booklet's moves are played."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from tempfile import NamedTemporaryFile

from builder.counting.booklet import counts_of, counts_to_keep, wanted_of
from builder.counting.kept_file import HEAD, SUFFIX
from builder.model import NO_GAMES, GameCounts
from builder.faults import Faults
from builder.pipeline import Progress, Proved, counting_progress, no_progress, prove
from builder.place import Place


def count(folder: Path, games: Sequence[Path], faults: Faults,
          progress: Progress = no_progress) -> tuple[Proved, GameCounts] | None:  # fmt: skip
    """Counts the games of these files, or of the booklet's own; None, and faults, where the booklet
    has errors."""
    if not games:
        proved = prove(folder, faults, drafts=True, progress=progress, games=faults)
        if proved is None or faults.has_errors:
            return None
        return proved, proved.booklet.counts or NO_GAMES
    proved = prove(folder, faults, drafts=True,
                   progress=lambda words, share: progress(words, 0.1 * share))  # fmt: skip
    if proved is None or faults.has_errors:
        return None
    named = {str(path): path for path in games}
    return proved, counts_of(named, wanted_of(proved.booklet.reached), proved.files, faults,
                             counting_progress(progress, 0.1, 1.0))  # fmt: skip


def keep(proved: Proved, games: Sequence[Path], faults: Faults) -> list[str]:
    """Writes the counts of these files into the booklet's games/ folder, in their place; the names of
    what was written. What stands there and is no counts is not replaced."""
    written = []
    for path in games:
        name = f"games/{path.stem}{SUFFIX}"
        text = counts_to_keep(path, proved.booklet.reached, proved.files, faults)
        target = proved.files.inside(name)
        here = Place(name, 1, 1, 2)
        if text is None:
            continue
        if target is None:
            faults.error("file-outside", here, f"{name} is outside the booklet's folder")
        elif not _is_free(target):
            faults.error("out-stranger", here, "this holds no counts of ours, so it is not replaced",
                         "move it away")  # fmt: skip
        else:
            _write(target, text, here, faults)
            written.append(name)
    return [] if faults.has_errors else written


def _is_free(target: Path) -> bool:
    try:
        return not target.exists() or HEAD in target.read_text(encoding="utf-8")[:2000]
    except (OSError, UnicodeDecodeError):
        return False


def _write(target: Path, text: str, here: Place, faults: Faults) -> None:
    """At once, so that what was there stays where this fails."""
    try:
        target.parent.mkdir(exist_ok=True)
        with NamedTemporaryFile("w", encoding="utf-8", newline="\n", dir=target.parent,
                                prefix=".", delete=False) as file:  # fmt: skip
            file.write(text)
        Path(file.name).chmod(0o644)
        Path(file.name).replace(target)
    except OSError as error:
        faults.error("out-write", here, f"this can't be written: {error.strerror}")
