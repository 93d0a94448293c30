"""A booklet's folder to its parsed form: settings and chapters."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from builder import names
from builder.faults import Faults
from builder.place import Place, file_place
from builder.settings import SETTINGS_FILE, Settings, read_settings
from builder.source.chapter import read_chapter
from builder.source.files import BookletFiles
from builder.source.game_files import GameFiles
from builder.source.syntax import ChapterSource


@dataclass(frozen=True, slots=True)
class BookletSource:
    """Everything that was read, in the order of the booklet."""

    files: BookletFiles
    settings: Settings
    chapters: tuple[ChapterSource, ...]


def read_booklet(folder: Path, faults: Faults) -> BookletSource | None:
    """Reads a booklet; None when there are no settings to go on with.

    Everything wrong is told to `faults`; no exception is raised for an author's mistake.
    """
    files = BookletFiles.at(folder)
    here = file_place(SETTINGS_FILE)
    if not (files.folder / SETTINGS_FILE).is_file():
        above = next((path for path in files.folder.parents if (path / SETTINGS_FILE).is_file()), None)
        faults.error("booklet-missing", here, f"there is no {SETTINGS_FILE} in {folder}",
                     f"the booklet's folder is {above}" if above
                     else "plyleaf new FOLDER makes a booklet")  # fmt: skip
        return None
    source = files.read(SETTINGS_FILE, faults)
    settings = read_settings(source, faults) if source else None
    if settings is None:
        return None
    listed = settings.chapters
    if listed is None:
        listed = tuple((name, file_place(name)) for name in files.chapters())
    if not listed:
        faults.error("booklet-empty", here, "the booklet has no chapters",
                     "put Markdown files into chapters/")  # fmt: skip
    return BookletSource(files, settings, tuple(_chapters(files, listed, faults)))


def _chapters(files: BookletFiles, listed: tuple[tuple[str, Place], ...],
              faults: Faults) -> Iterator[ChapterSource]:  # fmt: skip
    slugs: dict[str, str] = {}
    games = GameFiles(files)
    for name, place in listed:
        source = files.read(name, faults, place)
        if source is None:
            continue
        chapter = read_chapter(source, files, faults, games)
        if chapter.slug in names.RESERVED_SLUGS:
            faults.error("chapter-name", place, f"{name} would take the place of a page of the site",
                         "give the file another name")  # fmt: skip
        elif chapter.slug in slugs:
            faults.error("chapter-name", place,
                         f"{name} and {slugs[chapter.slug]} would be the same page {chapter.slug}",
                         "give one of the files another name")  # fmt: skip
        else:
            slugs[chapter.slug] = name
            yield chapter
