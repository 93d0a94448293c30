"""Links, bookmarks and other ways out of a PDF: where each leads, and whether it gets there.

In: a reader of pypdf. Out: what is wrong, page by page. See ISO 32000-1, 12.3 and 12.6.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NameObject

SCHEMES = ("http", "https", "mailto")
_MOST = 200_000  # names or bookmarks


@dataclass(frozen=True, slots=True)
class BadLink:
    """`page` counts from 0; None for what belongs to no page."""

    page: int | None
    words: str


@dataclass(frozen=True, slots=True)
class Links:
    """How many links and bookmarks there are, and those that lead nowhere."""

    count: int
    bad: tuple[BadLink, ...]


def read_links(reader: PdfReader) -> Links:
    """Looks at every link, at the bookmarks and at what opens by itself."""
    root = reader.root_object
    targets = _Targets(frozenset(_pages(reader)), _names(root))
    count = 0
    bad: list[BadLink] = []
    for number, page in enumerate(reader.pages):
        for annotation in page.get("/Annots") or ():
            link = annotation.get_object()
            if isinstance(link, DictionaryObject) and link.get("/Subtype") == "/Link":
                count += 1
                if words := targets.fault(link):
                    bad.append(BadLink(number, words))
    for bookmark in _bookmarks(root):
        count += 1
        if words := targets.fault(bookmark):
            title = " ".join(str(bookmark.get("/Title", "")).split())[:60]
            bad.append(BadLink(None, f"the bookmark {title!r}: {words}"))
    bad += [BadLink(None, words) for words in _by_itself(root)]
    return Links(count, tuple(bad))


@dataclass(frozen=True, slots=True)
class _Targets:
    """The numbers of the page objects, and what each name stands for."""

    pages: frozenset[int]
    names: dict[str, Any]

    def fault(self, link: DictionaryObject) -> str:
        """Why the link leads nowhere; empty where it is well."""
        if "/Dest" in link:
            return self._place(link["/Dest"])
        action = link.get("/A")
        action = action.get_object() if action is not None else None
        if not isinstance(action, DictionaryObject):
            return "it leads nowhere"
        kind = action.get("/S")
        if kind == "/GoTo":
            return self._place(action.get("/D"))
        if kind == "/URI":
            return _address(str(action.get("/URI", "")))
        if kind == "/Named":
            return ""
        return f"it does something else than lead to a place ({str(kind).lstrip('/')})"

    def _place(self, place: Any) -> str:
        place = place.get_object() if place is not None else None
        if isinstance(place, str):
            name = str(place).lstrip("/") if isinstance(place, NameObject) else str(place)
            if name not in self.names:
                return f"there is no place called {name}"
            place = self.names[name]
            place = place.get_object() if hasattr(place, "get_object") else place
        if isinstance(place, DictionaryObject):
            place = place.get("/D")
        if not isinstance(place, ArrayObject) or not place:
            return "it leads nowhere"
        page = list.__getitem__(place, 0)  # as it stands in the file, not what it refers to
        if isinstance(page, IndirectObject) and page.idnum in self.pages:
            return ""
        return "it leads to a page that is not there"


def _address(address: str) -> str:
    try:
        parts = urlsplit(address)
    except ValueError:
        return f"{address[:80]} is no address"
    if parts.scheme.lower() not in SCHEMES:
        return f"{address[:80]} is no address of the web"
    if not (parts.netloc if parts.scheme.lower() != "mailto" else parts.path):
        return f"{address[:80]} is not whole"
    return ""


def _pages(reader: PdfReader) -> Iterator[int]:
    for page in reader.pages:
        if page.indirect_reference is not None:
            yield page.indirect_reference.idnum


def _names(root: DictionaryObject) -> dict[str, Any]:
    """Every named destination: those of the name tree, and the older ones of /Dests."""
    found: dict[str, Any] = {}
    old = root.get("/Dests")
    if isinstance(old, DictionaryObject):
        found |= {str(name).lstrip("/"): place for name, place in old.items()}
    names = root.get("/Names")
    waiting = [names.get("/Dests")] if isinstance(names, DictionaryObject) else []
    seen: set[int] = set()
    while waiting and len(found) < _MOST:
        node = waiting.pop()
        node = node.get_object() if node is not None else None
        if not isinstance(node, DictionaryObject) or id(node) in seen:
            continue
        seen.add(id(node))
        waiting += list(node.get("/Kids") or ())
        pairs = list(node.get("/Names") or ())
        for name, place in zip(pairs[0::2], pairs[1::2], strict=False):
            found[str(name.get_object())] = place
    return found


def _bookmarks(root: DictionaryObject) -> Iterator[DictionaryObject]:
    """Every entry of the outline; one that holds itself is passed over the second time."""
    outline = root.get("/Outlines")
    waiting = [outline.get("/First")] if isinstance(outline, DictionaryObject) else []
    seen: set[int] = set()
    while waiting:
        entry = waiting.pop()
        entry = entry.get_object() if entry is not None else None
        if not isinstance(entry, DictionaryObject) or id(entry) in seen or len(seen) > _MOST:
            continue
        seen.add(id(entry))
        waiting += [entry.get("/Next"), entry.get("/First")]
        if "/Dest" in entry or "/A" in entry:
            yield entry


def _by_itself(root: DictionaryObject) -> Iterator[str]:
    """What a PDF for print has no use for: programs, and actions when it is opened."""
    action = root.get("/OpenAction")
    kind = action.get("/S") if isinstance(action, DictionaryObject) else None
    if kind not in (None, "/GoTo"):
        yield f"it does something when it is opened ({str(kind).lstrip('/')})"
    names = root.get("/Names")
    if isinstance(names, DictionaryObject) and "/JavaScript" in names:
        yield "it holds a program (JavaScript)"
