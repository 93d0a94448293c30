"""Drafts to files of a booklet's folder. No file is ever replaced."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from builder import names
from builder.faults import why
from builder.intake.words import toml_text
from builder.own_file import write_new_files
from builder.settings import SETTINGS_FILE
from builder.source.files import BookletFiles

_STEP = 10  # between the numbers of chapters, so that others fit in
_MOST_SLUG = 50
_GIVEN = re.compile(r"@(\w[\w-]*)")


class FolderFault(Exception):
    """The folder can't take the files; the text says why."""


@dataclass(frozen=True, slots=True)
class Target:
    """A folder to write into: `chapters` are there already, `taken` the names given in them,
    `listed` tells that booklet.toml lists its chapters itself."""

    files: BookletFiles
    is_booklet: bool
    chapters: tuple[str, ...]
    taken: frozenset[str]
    listed: bool


def look_at(folder: Path) -> Target:
    """What the folder holds. Raises FolderFault where it can't be a booklet."""
    if folder.exists() and not folder.is_dir():
        raise FolderFault(f"{folder} is a file, not a folder")
    files = BookletFiles.at(folder)
    if files.inside("chapters") is None:
        raise FolderFault(f"{folder / 'chapters'} leads out of the folder")
    is_booklet = (files.folder / SETTINGS_FILE).is_file()
    chapters = files.chapters()
    taken: set[str] = set()
    for name in chapters:
        taken.update(_GIVEN.findall(_text(files, name)))
    listed = is_booklet and re.search(r"^\s*chapters\s*=", _text(files, SETTINGS_FILE), re.M)
    return Target(files, is_booklet, chapters, frozenset(taken), bool(listed))


def _text(files: BookletFiles, name: str) -> str:
    path = files.inside(name)
    try:
        return path.read_text(encoding="utf-8", errors="replace") if path else ""
    except OSError:
        return ""


def chapter_files(titles: Sequence[str], there: Sequence[str]) -> list[str]:
    """File names for chapters, in order behind those that are there: `chapters/10-title.md`."""
    prefix, first, step, width = _numbering(there, len(titles))
    taken = {names.chapter_slug(name) for name in there} | names.RESERVED_SLUGS
    found: list[str] = []
    for index, title in enumerate(titles):
        number = str(first + index * step).zfill(width)
        slug = names.slug(title)[:_MOST_SLUG].strip("-") or "part"
        stem = f"{prefix}{number}-{slug}"
        assert stem not in taken  # The number is new.
        found.append(f"chapters/{stem}.md")
    return found


def _numbering(there: Sequence[str], count: int) -> tuple[str, int, int, int]:
    """A prefix, the first number, the step between numbers, and how many digits they have, so that
    the new files come behind those that are there in the order of their names."""
    stems = sorted(name.rsplit("/", 1)[-1] for name in there)
    last = re.match(r"\d+", stems[-1]) if stems else None
    if not stems:
        return "", _STEP, _STEP, max(2, len(str(_STEP * count)))
    if last is not None:
        width, number = len(last.group()), int(last.group())
        for step in (_STEP, 1):
            first = (number // step + 1) * step
            if first + step * (count - 1) < 10**width:
                return "", first, step, width
    # No number is left behind the last file: go on behind its whole name.
    start = stems[-1].removesuffix(".md")
    return f"{start}_", 1, 1, max(2, len(str(count)))  # `_` sorts behind the `.` of `.md`


def settings_text(title: str, author: str) -> str:
    """A booklet.toml to begin with."""
    lines = [f"title    = {toml_text(title)}"]
    if author:
        lines.append(f"author   = {toml_text(author)}")
    lines += ['language = "en"', 'side     = "both"', 'notation = "figurine"']
    return "\n".join(lines) + "\n"


def write_new(target: Target, texts: Iterable[tuple[str, str]]) -> list[Path]:
    """Writes files that are not there yet; all of them, or none. Raises FolderFault."""
    try:
        return write_new_files((_inside(target, name), text.encode("utf-8")) for name, text in texts)
    except FileExistsError as error:
        raise FolderFault(f"{error.filename} is there already") from error
    except OSError as error:
        raise FolderFault(f"{error.filename}: {why(error)}") from error


def _inside(target: Target, name: str) -> Path:
    path = target.files.inside(name)
    if path is None:
        raise FolderFault(f"{name} would be outside the folder")
    return path
