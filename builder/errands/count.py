"""How often a booklet's moves are played."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from builder.counting.booklet import counts_of, counts_to_keep, wanted_of
from builder.counting.kept_file import COUNTS, SUFFIX
from builder.faults import Faults
from builder.model import NO_GAMES, GameCounts
from builder.own_file import OwnFile, write_own_files
from builder.pipeline import counting_progress, prove
from builder.place import file_place
from builder.progress import Progress, no_progress
from builder.proved import Proved


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
    files = []
    for path in games:
        name = f"games/{path.stem}{SUFFIX}"
        text = counts_to_keep(path, proved.booklet.reached, proved.files, faults)
        target = proved.files.inside(name)
        if target is None:
            faults.error("file-outside", file_place(name), f"{name} is outside the booklet's folder")
        elif text is not None:
            files.append(OwnFile(COUNTS, target, text.encode("utf-8"), name))
    if faults.has_errors or not write_own_files(files, faults):
        return []
    return [file.name for file in files]
