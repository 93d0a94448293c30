"""A theme's files, and the templates in them.

In: folders, the most particular first; a file of an earlier folder takes the place of the
same-named one behind it. Out: texts, and a template environment that runs no code of a
theme's author and reads nothing outside the folders.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from errno import ENOENT
from pathlib import Path

import jinja2

from builder.faults import Faults, why
from builder.place import Source, file_place
from builder.render.sandbox import BoundedEnvironment
from builder.source.files import path_inside

MOST_TEXT = 4 * 1024 * 1024  # bytes; a template or style sheet is a few kB


@dataclass(frozen=True, slots=True)
class ThemeFiles:
    """Folders that need not exist; links that lead out of them are not followed."""

    folders: tuple[Path, ...]

    def path(self, name: str) -> Path | None:
        """The file of that name, or None."""
        for folder in self.folders:
            file = path_inside(folder, name)
            if file is not None and os.path.isfile(file):
                return file
        return None

    def text(self, name: str) -> str:
        """The text of a file. Raises FileNotFoundError, UnicodeDecodeError, OSError."""
        file = self.path(name)
        if file is None:
            raise FileNotFoundError(ENOENT, "the theme has no such file", name)
        if file.stat().st_size > MOST_TEXT:
            raise OSError(f"it is larger than {MOST_TEXT >> 20} MB")
        return file.read_text(encoding="utf-8")

    def shown_name(self, name: str, booklet: Path) -> str:
        """What to call a file in a fault: its path in the booklet, if it is the booklet's."""
        file, root = self.path(name), booklet.resolve()
        return file.relative_to(root).as_posix() if file and file.is_relative_to(root) else name

    def style_sheets(self) -> tuple[str, ...]:
        """The names of the style sheets, the general folder's first, so that a particular one
        has the last word; a sheet that replaces another stands where that one stood."""
        found: dict[str, None] = {}
        for folder in reversed(self.folders):
            for file in sorted(folder.glob("*.css")):
                found.setdefault(file.name)
        return tuple(found)

    def sheets(self, booklet: Path, faults: Faults) -> Iterator[Source]:
        """The style sheets' texts, in that order; one that can't be read is told."""
        for name in self.style_sheets():
            shown = self.shown_name(name, booklet)
            try:
                source = Source(shown, self.text(name).replace("\r\n", "\n"))
            except UnicodeDecodeError:
                faults.error("theme-file", file_place(shown),
                             "the style sheet is not UTF-8 text", "save it as UTF-8")  # fmt: skip
            except OSError as error:
                faults.error("theme-file", file_place(shown),
                             f"the style sheet can't be read: {why(error)}")  # fmt: skip
            else:
                faults.add_source(source)
                yield source

    def environment(self) -> jinja2.Environment:
        """Templates by name. Everything that isn't `Markup` is escaped; a name that isn't
        known is an error, not an empty place."""
        return BoundedEnvironment(jinja2.FunctionLoader(self._template))

    def _template(self, name: str) -> tuple[str, str, Callable[[], bool]] | None:
        try:
            return self.text(name), name, lambda: True
        except FileNotFoundError:
            return None
