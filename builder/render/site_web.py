"""What a site tells of itself once it stands on the web, where its address is known.

In: the address and the booklet. Out: elements for a page's head: the page's own address, what a
shared link to it shows, and the feed. Sources: the Open Graph protocol (ogp.me); RFC 6596, the
canonical link relation; RFC 4287 for the feed's.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from urllib.parse import quote, urlsplit, urlunsplit

from markupsafe import Markup

from builder import names
from builder.model import Booklet, Chapter, Diagram
from builder.render.moves import position_text, titled_text
from builder.render.notation import Notation
from builder.render.typeset import typeset
from builder.render.words import Words

PICTURE_WIDTH, PICTURE_HEIGHT = 1200, 630  # pixels: common practice of pages that show links


@dataclass(frozen=True, slots=True)
class Web:
    """`address` is the site's folder on the web, ending in a slash, or empty where it isn't known.
    `updated` is the booklet's moment; without one there is no feed. `news` is what the author says
    of this edition to those who follow the feed, in paragraphs parted by empty lines."""

    address: str = ""
    updated: datetime | None = None
    news: str = ""

    @property
    def root(self) -> str:
        """The address in ASCII (RFC 3987, 3.1): hosts by IDNA, other letters percent-encoded."""
        parts = urlsplit(self.address)
        try:
            host = parts.netloc.encode("idna").decode("ascii")
        except UnicodeError:
            host = quote(parts.netloc, safe=":.-")
        return urlunsplit((parts.scheme, host, quote(parts.path, safe="/%:@!$&'()*+,;=~"), "", ""))

    def page(self, file: str) -> str:
        """The address of a file of the site; the contents page stands for the folder."""
        return self.root + ("" if file == names.CONTENTS_PAGE else quote(file))


@dataclass(frozen=True, slots=True)
class Shared:
    """What a shared link to a page shows, in plain text. On its picture `over` stands over the
    title, the description under it, `foot` at the foot, and beside them the board of `diagram`."""

    title: str
    description: str
    over: str
    foot: str
    diagram: Diagram | None


def shared(booklet: Booklet, chapter: Chapter | None, words: Words) -> Shared:
    """Of a chapter's page; without a chapter, of the contents page."""
    told = typeset(booklet)
    if chapter is None:
        side = {"white": words.repertoire_white, "black": words.repertoire_black}
        about = told.subtitle or side.get(booklet.side, "")
        first = next(iter(booklet.diagrams), None)
        return Shared(told.title, about, told.author, told.edition, first)
    notation = Notation(booklet.language, booklet.figurines)
    title, summary = (titled_text(text, notation) for text in (chapter.title, chapter.summary))
    foot = " · ".join(filter(None, (f"{words.chapter} {chapter.number}", chapter.code)))
    boards = (*chapter.diagrams, *(exercise.diagram for exercise in chapter.exercises))
    first = next(iter(boards), None)
    return Shared(title, summary, told.title, foot, first)


def web_tags(web: Web, file: str, booklet: Booklet, words: Words) -> Markup:
    """The elements for the head of a page; none without an address."""
    if not web.address:
        return Markup("")
    found = [Markup('<link rel="canonical" href="{}">\n').format(web.page(file))]
    if web.updated is not None:
        found.append(Markup('<link rel="alternate" type="application/atom+xml" title="{}" '
                            'href="{}">\n').format(typeset(booklet).title, names.FEED_FILE))  # fmt: skip
    for chapter in (None, *booklet.chapters):
        page = names.chapter_page(chapter.slug) if chapter else names.CONTENTS_PAGE
        if page == file:
            found += _shared_tags(web, file, booklet, shared(booklet, chapter, words), words)
    return Markup("").join(found)


def _shared_tags(web: Web, file: str, booklet: Booklet, shown: Shared,
                 words: Words) -> list[Markup]:  # fmt: skip
    told = {
        "og:type": "website" if file == names.CONTENTS_PAGE else "article",
        "og:title": shown.title,
        "og:description": shown.description,
        "og:site_name": typeset(booklet).title,
        "og:url": web.page(file),
        "og:image": web.root + names.share_picture(file),
        "og:image:type": "image/png",
        "og:image:width": str(PICTURE_WIDTH),
        "og:image:height": str(PICTURE_HEIGHT),
        "og:image:alt": _alternative(booklet, shown, words),
    }
    found = [Markup('<meta property="{}" content="{}">\n').format(name, text)
             for name, text in told.items() if text]  # fmt: skip
    if shown.description:
        found.append(Markup('<meta name="description" content="{}">\n').format(shown.description))
    return found


def _alternative(booklet: Booklet, shown: Shared, words: Words) -> str:
    if shown.diagram is None:
        return shown.title
    notation = Notation(booklet.language, figurines=False)
    board = position_text(shown.diagram.ply, shown.diagram.position, words, notation)
    return f"{shown.title}. {board}."
