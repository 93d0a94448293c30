"""The site's one style sheet, and the files that it names.

In: the theme's style sheets. Out: their text after the boards' own style, and the fonts and
pictures to lay beside it. `url("fonts/…")` means our fonts, any other `url("…")` a file of the
theme; an address elsewhere is a fault, since the site reaches no network. (Whatever escapes this,
the pages' policy lets no browser fetch.)
"""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from pathlib import Path

from builder.draw import svg
from builder.faults import Faults
from builder.place import Place, Source
from builder.render.theme_files import ThemeFiles

# A smaller file is written into the style sheet: one file less to fetch, and from a folder some
# browsers read no font that is a file of its own.
_SMALL = 8 * 1024  # bytes
_TYPES = {
    ".woff2": "font/woff2", ".woff": "font/woff", ".ttf": "font/ttf", ".otf": "font/otf",
    ".png": "image/png", ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".gif": "image/gif",
    ".webp": "image/webp", ".svg": "image/svg+xml",
}  # fmt: skip
_URL = re.compile(r"""url\(\s*(["']?)([^"'()\s]+)\1\s*\)""")
_IMPORT = re.compile(r"""@import\s+(["'])[^"'\n]*\1[^;]*;?""", re.I)
_FONTS = "fonts/"


@dataclass(frozen=True, slots=True)
class SiteStyle:
    """`files` are pairs of a name beside the style sheet and the file to copy there."""

    text: str
    files: tuple[tuple[str, Path], ...]


def site_style(theme: ThemeFiles, fonts: Path, booklet: Path, faults: Faults) -> SiteStyle:
    """`fonts` and `booklet` are folders. Tells a file that is missing, or that a page can't
    use, to `faults`."""
    parts = [svg.STYLE]
    files: dict[str, Path] = {}
    for source in theme.sheets(booklet, faults):
        parts.append(_Sheet(source, theme, ThemeFiles((fonts,)), faults, files).text())
    return SiteStyle("\n".join(parts), tuple(sorted(files.items())))


def data_address(file: Path) -> str:
    """A font or picture as an address that holds it (RFC 2397)."""
    data = base64.b64encode(file.read_bytes()).decode("ascii")
    return f"data:{_TYPES[file.suffix.lower()]};base64,{data}"


@dataclass(frozen=True, slots=True)
class _Sheet:
    source: Source
    theme: ThemeFiles
    fonts: ThemeFiles
    faults: Faults
    files: dict[str, Path]

    def text(self) -> str:
        return _IMPORT.sub(self._import, _URL.sub(self._address, self.source.text))

    def _import(self, match: re.Match[str]) -> str:
        """All sheets of a theme are added anyway, in the order of their names."""
        start = self.source.text.find(match.group(0))
        self._elsewhere(start, start + len(match.group(0)))
        return ""

    def _address(self, match: re.Match[str]) -> str:
        name = match.group(2)
        if name.startswith(("#", "data:")):
            return match.group(0)
        if ":" in name or name.startswith("//"):
            self._elsewhere(match.start(2), match.end(2))
            return 'url("data:,")'
        if name.startswith(_FONTS):
            file = self.fonts.path(name.removeprefix(_FONTS)) or self.theme.path(name)
        else:
            file = self.theme.path(name)
        if file is None or file.suffix.lower() not in _TYPES or ".." in name:
            self._tell(match, name, file)
            return 'url("data:,")'
        if file.stat().st_size <= _SMALL:
            return f'url("{data_address(file)}")'
        self.files[name] = file
        return f'url("{name}")'

    def _elsewhere(self, start: int, end: int) -> None:
        self.faults.error("theme-file", self.source.place(max(0, start), max(0, end)),
                          "the site uses the theme's own files alone and reaches no network",
                          "lay the file into the theme and name it there")  # fmt: skip

    def _tell(self, match: re.Match[str], name: str, file: Path | None) -> None:
        place: Place = self.source.place(match.start(2), match.end(2))
        if file is None:
            self.faults.error("theme-file", place, f"the theme has no file {name}")
        else:
            self.faults.error("theme-file", place, f"{name} is no font and no picture",
                              "kinds: " + " ".join(_TYPES))  # fmt: skip
