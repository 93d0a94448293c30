"""The site of a booklet, for tests that read its files or open them in a browser."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tiny import read_and_make

from builder.faults import Faults
from builder.model import Booklet
from builder.write.site import write_site, write_site_data


@dataclass(frozen=True)
class BuiltSite:
    """`folder` is the booklet's, `target` the site's."""

    folder: Path
    target: Path
    booklet: Booklet
    faults: Faults

    def told(self) -> list[str]:
        return [f"{fault.place}: {fault.code}: {fault.message}" for fault in self.faults.sorted()]

    def pages(self) -> dict[str, str]:
        return {path.name: path.read_text(encoding="utf-8") for path in self.target.glob("*.html")}

    def page(self, name: str) -> str:
        return (self.target / name).read_text(encoding="utf-8")

    @property
    def css(self) -> str:
        return self.page("assets/booklet.css")


def build_site(folder: Path, target: Path, downloads: tuple[str, ...] = (),
               page_of: Mapping[str, int] | None = None, counted: bool = False) -> BuiltSite:  # fmt: skip
    """Writes the site of a booklet's folder, whatever its faults."""
    source, booklet, faults = read_and_make(folder, counted)
    target.mkdir(exist_ok=True)
    write_site(booklet, source.settings, source.files, target, downloads, faults)
    write_site_data(booklet, target, page_of or {})
    return BuiltSite(folder, target, booklet, faults)
