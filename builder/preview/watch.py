"""What an author's change changes: the times and sizes of the booklet's files."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TypeAlias

from builder.write.stage import MANIFEST

Snapshot: TypeAlias = frozenset[tuple[str, int, int]]


def snapshot(folder: Path) -> Snapshot:
    """Path, time and size of every file in the folder.

    Left out are hidden files, links to folders, and folders that a build wrote.
    """
    found: list[tuple[str, int, int]] = []
    todo = [str(folder)]
    while todo:
        try:
            entries = list(os.scandir(todo.pop()))
        except OSError:
            continue  # gone meanwhile, or not for us
        if any(entry.name == MANIFEST for entry in entries):
            continue
        for entry in entries:
            if entry.name.startswith("."):
                continue
            try:
                if entry.is_dir(follow_symlinks=False):
                    todo.append(entry.path)
                else:
                    status = entry.stat()
                    found.append((entry.path, status.st_mtime_ns, status.st_size))
            except OSError:
                continue
    return frozenset(found)
