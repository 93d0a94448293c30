"""The booklet as an EPUB 3.3 publication.

In: a booklet, its files, and the pages of its PDF where one was made. Out: one file, the same
bytes for the same booklet. Sources: EPUB 3.3, section 4 (the container: `mimetype` first and
stored), and ISO/IEC 21320-1, on which it rests.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from pathlib import Path
from xml.parsers import expat
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from builder.draw import glyphs, poster, svg
from builder.faults import Faults
from builder.model import Booklet
from builder.render.epub_document import COVER_PICTURE, STYLE_SHEET, Document, EpubBook
from builder.render.epub_package import package, page_starts
from builder.render.shown import shown_pictures
from builder.render.site_medium import diagram_view
from builder.render.theme_files import ThemeFiles
from builder.source.files import BookletFiles
from builder.write.dates import zip_moment
from builder.write.pictures import pictures

THEME = glyphs.FONTS.parent / "epub"
_FONTS = (
    "plyleaf-text.woff2", "plyleaf-text-italic.woff2", "plyleaf-text-semibold.woff2",
    "plyleaf-text-semibold-italic.woff2", "plyleaf-figurine.ttf",
    "LICENSE-SourceSerif4.txt", "LICENSE-Plyleaf.txt",
)  # fmt: skip
_ROOT = "EPUB/"
_CONTAINER = f"""\
<?xml version="1.0" encoding="UTF-8"?>
<container version="1.0" xmlns="urn:oasis:names:tc:opendocument:xmlns:container">
<rootfiles>
<rootfile full-path="{_ROOT}package.opf" media-type="application/oebps-package+xml"/>
</rootfiles>
</container>
"""
# What leads an SVG to another file: addresses that are neither its own parts nor pictures in it.
_LEADS_OUT = re.compile(
    rb"""\b(?:href|src)\s*=\s*["']\s*(?!\#|data:image/)"""
    rb"""|url\(\s*["']?\s*(?!\#|data:image/)|@import""",
    re.IGNORECASE,
)


def write_epub(booklet: Booklet, files: BookletFiles, target: Path,
               page_of: Callable[[], Mapping[str, int]], faults: Faults) -> None:  # fmt: skip
    """Writes the EPUB to `target`. `page_of` gives the printed pages of anchors, if there are any; it
    is asked late, since they may be long in coming.

    A picture that an EPUB can't hold is told as a warning, and its words stand for it.
    """
    shown = dict(_pictures(booklet, files.folder, faults))
    named = {name: f"pictures/{number}{Path(name).suffix.lower()}"
             for number, name in enumerate(shown, start=1)}  # fmt: skip
    book = EpubBook.of(booklet, ThemeFiles((THEME,)).environment(), named)
    documents = list(book.documents())
    others = _others(book)
    others.update({named[name]: file.read_bytes() for name, file in shown.items()})
    pages = page_starts(documents, page_of())
    documents.insert(2, book.nav(pages))
    properties = {name: "cover-image" if name == COVER_PICTURE else "" for name in others}
    modified = zip_moment(booklet.date)
    opf = package(book, documents, properties, modified, bool(pages))
    _write(target, opf, documents, others, modified)


def _others(book: EpubBook) -> dict[str, bytes]:
    """The files that aren't documents, without the booklet's own pictures."""
    style = ThemeFiles((THEME,)).text(STYLE_SHEET) + svg.STYLE
    found = {COVER_PICTURE: _cover(book), STYLE_SHEET: style.encode()}
    found |= {f"fonts/{name}": (glyphs.FONTS / name).read_bytes() for name in _FONTS}
    found |= {name: text.encode() for name, text in book.diagrams()}
    return found


def _cover(book: EpubBook) -> bytes:
    """The title over the booklet's first diagram."""
    cover = book.cover()
    first = next(iter(book.booklet.diagrams), None)
    return poster.tall(poster.Poster(
        cover.title, cover.author, cover.subtitle or cover.side,
        " · ".join(filter(None, (cover.edition, cover.date))),
        poster.plain_view(diagram_view(first)) if first else None,
    ))  # fmt: skip


def _pictures(booklet: Booklet, folder: Path, faults: Faults) -> Iterator[tuple[str, Path]]:
    """The booklet's pictures that may go into an EPUB, which has no policy that keeps an SVG from
    fetching something."""
    for name, file in pictures(booklet, folder, faults):
        if file.suffix.lower() == ".svg" and (problem := _svg_problem(file.read_bytes())):
            faults.warning("epub-picture", shown_pictures(booklet)[name].place,
                           f"{name} is left out of the EPUB: {problem}",
                           "its words stand for it there")  # fmt: skip
        else:
            yield name, file


def _svg_problem(data: bytes) -> str:
    parser = expat.ParserCreate()
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        return f"it is no well-formed XML ({error})"
    return "it refers to other files" if _LEADS_OUT.search(data) else ""


def _write(target: Path, opf: str, documents: list[Document], others: Mapping[str, bytes],
           modified: datetime) -> None:  # fmt: skip
    with ZipFile(target, "w") as container:
        def put(name: str, data: bytes | str, method: int = ZIP_DEFLATED) -> None:
            entry = ZipInfo(name, modified.timetuple()[:6])
            entry.create_system, entry.external_attr = 3, 0o644 << 16  # the same on every system
            container.writestr(entry, data, method, 9)

        put("mimetype", "application/epub+zip", ZIP_STORED)
        put("META-INF/container.xml", _CONTAINER)
        put(f"{_ROOT}package.opf", opf)
        for document in documents:
            put(_ROOT + document.file, document.text)
        for name, data in others.items():
            put(_ROOT + name, data)
