"""An EPUB's package document: what the publication is, its files, the order of reading.

In: the documents and the other files. Out: the text of `package.opf`. Sources: EPUB 3.3, sections
5.5 to 5.7; EPUB Accessibility 1.1, section 2, with the values of the Schema.org Accessibility
Properties vocabulary.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePosixPath

from builder.draw.figures_svg import without_barred
from builder.model import Booklet
from builder.render.epub_document import Document, EpubBook
from builder.render.typeset import typeset

# EPUB 3.3, section 3.2: core media types. A licence is text that no document shows.
KINDS = {
    ".xhtml": "application/xhtml+xml", ".css": "text/css", ".svg": "image/svg+xml",
    ".png": "image/png", ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".gif": "image/gif",
    ".webp": "image/webp", ".woff2": "font/woff2", ".ttf": "font/ttf", ".txt": "text/plain",
}  # fmt: skip
_FEATURES = ("alternativeText", "displayTransformability", "index", "readingOrder",
             "structuralNavigation", "tableOfContents")  # fmt: skip
_ID = re.compile(r' id="([^"]+)"')


@dataclass(frozen=True, slots=True)
class Item:
    """A file of the publication, in the manifest."""

    id: str
    href: str
    properties: str = ""
    linear: bool = True

    @property
    def kind(self) -> str:
        return KINDS[PurePosixPath(self.href).suffix.lower()]


def package(book: EpubBook, documents: Sequence[Document], others: Mapping[str, str],
            modified: datetime, has_pages: bool) -> str:  # fmt: skip
    """`documents` are in the order of reading; `others` gives the properties of every other file
    by its name. `has_pages` tells that the navigation lists the printed book's pages."""
    spine = [Item(f"d{number}", one.file, one.properties, one.linear)
             for number, one in enumerate(documents, start=1)]  # fmt: skip
    files = [Item("cover-image" if "cover-image" in properties else f"f{number}", name, properties)
             for number, (name, properties) in enumerate(others.items(), start=1)]  # fmt: skip
    booklet = book.booklet
    features = (*_FEATURES, *(("pageNavigation",) if has_pages else ()))
    return without_barred(book.templates.get_template("package.opf").render(
        cover=book.cover(), language=booklet.language, identifier=_identifier(booklet),
        date=booklet.date, modified=modified.strftime("%Y-%m-%dT%H:%M:%SZ"),
        pages_of=" · ".join(_printed(typeset(booklet))) if has_pages else "",
        is_told=not any('alt=""' in one.text for one in documents),
        features=sorted(features), hazard=_hazard(others), summary=book.words.told_in_words,
        items=[*spine, *files], spine=spine,
    )) + "\n"  # fmt: skip


def page_starts(documents: Iterable[Document],
                page_of: Mapping[str, int]) -> tuple[tuple[int, str], ...]:  # fmt: skip
    """The printed book's pages, each with the address of the first thing in reading order that is
    printed on it; `page_of` gives the pages of anchors."""
    first: dict[int, str] = {}
    for document in documents:
        for anchor in _ID.findall(document.text) if document.linear else ():
            if (page := page_of.get(anchor)) is not None:
                first.setdefault(page, f"{document.file}#{anchor}")
    return tuple(sorted(first.items()))


def _identifier(booklet: Booklet) -> str:
    """The same for every build of an edition (RFC 9562, 5.5: a UUID by name)."""
    name = "\n".join((booklet.title, booklet.author, booklet.edition, booklet.language))
    return uuid.uuid5(uuid.uuid5(uuid.NAMESPACE_URL, "plyleaf:booklet"), name).urn


def _printed(booklet: Booklet) -> Iterator[str]:
    """What the printed book is called."""
    yield f"{booklet.title} (PDF)"
    yield from filter(None, (booklet.edition, booklet.date))


def _hazard(files: Iterable[str]) -> str:
    """A GIF may flash, and nobody has looked."""
    return "unknown" if any(name.lower().endswith(".gif") for name in files) else "none"
