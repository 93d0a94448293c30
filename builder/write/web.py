"""The files of a site that are for the web alone: pictures for shared links, the sitemap, a feed.

In: a booklet and the site's address. Out: names in the site and contents. Sources: the sitemaps.org
protocol 0.90; RFC 4287 (Atom); RFC 9309 (robots.txt).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from urllib.parse import urlsplit
from xml.etree import ElementTree as ET

from markupsafe import Markup

from builder import names
from builder.draw import poster
from builder.draw.figures_svg import without_barred
from builder.model import Booklet
from builder.render.site_medium import diagram_view
from builder.render.site_web import Shared, Web, shared
from builder.render.typeset import typeset
from builder.render.words import read_words

_ATOM = "http://www.w3.org/2005/Atom"
_SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"


def web_files(booklet: Booklet, web: Web, pages: Iterable[str]) -> Iterator[tuple[str, bytes]]:
    """`pages` are the files of the site's pages."""
    words = read_words(booklet.language)
    for chapter in (None, *booklet.chapters):
        page = names.chapter_page(chapter.slug) if chapter else names.CONTENTS_PAGE
        yield names.share_picture(page), _picture(shared(booklet, chapter, words))
    yield names.SITEMAP_FILE, sitemap(web, pages)
    if web.updated is not None:
        yield names.FEED_FILE, feed(booklet, web)
    if urlsplit(web.address).path == "/":  # elsewhere nobody looks for it (RFC 9309, 2.3)
        told = f"User-agent: *\nAllow: /\nSitemap: {web.root}{names.SITEMAP_FILE}\n"
        yield names.ROBOTS_FILE, told.encode()


def _picture(shown: Shared) -> bytes:
    board = poster.plain_view(diagram_view(shown.diagram)) if shown.diagram else None
    return poster.wide(poster.Poster(shown.title, shown.over, shown.description, shown.foot, board))


def sitemap(web: Web, pages: Iterable[str]) -> bytes:
    """Every page, with the booklet's day where it is known."""
    root = ET.Element("urlset", xmlns=_SITEMAP)
    for page in pages:
        url = ET.SubElement(root, "url")
        ET.SubElement(url, "loc").text = web.page(page)
        if web.updated is not None:
            ET.SubElement(url, "lastmod").text = web.updated.date().isoformat()
    return _xml(root)


def feed(booklet: Booklet, web: Web) -> bytes:
    """An Atom feed with one entry, the booklet's present edition: what its author says is new, and
    its chapters.

    An edition's id is made of the site's address and the edition's name (or its day), so that a
    reader's program tells a new edition from a corrected one, and keeps the entries of earlier
    ones. `web.updated` must be known.
    """
    assert web.updated is not None
    told, words = typeset(booklet), read_words(booklet.language)
    stamp = web.updated.strftime("%Y-%m-%dT%H:%M:%SZ")
    root = ET.Element("feed", {"xmlns": _ATOM, "xml:lang": booklet.language})
    _text(root, "id", web.root)
    _text(root, "title", told.title)
    if about := shared(booklet, None, words).description:
        _text(root, "subtitle", about)
    _text(root, "updated", stamp)
    # RFC 4287, 4.1.1: a feed has an author; a booklet without one is by itself.
    _text(ET.SubElement(root, "author"), "name", told.author or told.title)
    _link(root, "self", web.root + names.FEED_FILE)
    _link(root, "alternate", web.root)
    _text(root, "generator", "Plyleaf")
    entry = ET.SubElement(root, "entry")
    edition = booklet.edition or web.updated.date().isoformat()
    _text(entry, "id", f"{web.root}#edition-{names.slug(edition)}")
    _text(entry, "title", f"{told.title}, {told.edition or edition}")
    _text(entry, "updated", stamp)
    _link(entry, "alternate", web.root)
    _text(entry, "content", _news(web) + _chapters(booklet, web)).set("type", "html")
    return _xml(root)


def _news(web: Web) -> Markup:
    """The author's words, as plain text."""
    found = (" ".join(part.split()) for part in web.news.replace("\r\n", "\n").split("\n\n"))
    return Markup("").join(Markup("<p>{}</p>").format(part) for part in found if part)


def _chapters(booklet: Booklet, web: Web) -> Markup:
    """What the edition holds, as HTML: a feed's reader sees it apart from the site."""
    words = read_words(booklet.language)
    items = [
        Markup('<li><a href="{}">{}</a>{}</li>').format(
            web.page(names.chapter_page(chapter.slug)), shown.title,
            Markup("<br>{}").format(shown.description) if shown.description else "",
        )
        for chapter in booklet.chapters
        for shown in (shared(booklet, chapter, words),)
    ]  # fmt: skip
    return Markup("<ol>{}</ol>").format(Markup("").join(items))


def _text(parent: ET.Element, tag: str, text: str) -> ET.Element:
    made = ET.SubElement(parent, tag)
    made.text = without_barred(text)
    return made


def _link(parent: ET.Element, rel: str, href: str) -> None:
    ET.SubElement(parent, "link", rel=rel, href=href)


def _xml(root: ET.Element) -> bytes:
    ET.indent(root)
    return ET.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n"
