"""What a site has where its address is known: and nothing of it where it isn't."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import datetime
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest
from PIL import Image
from built_site import BuiltSite, build_site
from tiny import SETTINGS, write_booklet

from builder.render.site_web import Web

ADDRESS = "https://example.org/böoks/a&b"
ROOT = "https://example.org/b%C3%B6oks/a&b/"
ATOM = {"a": "http://www.w3.org/2005/Atom"}
FIRST = """\
+++
title = "The <b>first</b> & 1.e4"
summary = "Where 1.Nf3 \\"begins\\"."
+++
```line
1. e4 e5 (D)
```
"""
SECOND = "Words alone.\n"


def build(folder: Path, target: Path) -> BuiltSite:
    built = build_site(folder, target)
    assert not built.faults.has_errors, built.told()
    return built


def booklet(root: Path, more: str = "", settings: str = SETTINGS) -> Path:
    text = f'language = "de"\nedition = "2. Auflage"\nauthor = "A & B"\n{settings}\n[site]\n{more}\n'
    return write_booklet(root / "booklet", FIRST, SECOND, settings=text)


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> BuiltSite:
    root = tmp_path_factory.mktemp("web")
    news = 'news = """\nNew: <b>7.Bd3</b>,\nnot 7.Be2.\n\nAnd more."""'
    built = build(booklet(root, f'address = "{ADDRESS}"\n{news}'), root / "out")
    return built


class Head(HTMLParser):
    """The `meta` and `link` elements of a page."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.meta: dict[str, str] = {}
        self.link: dict[str, str] = {}
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        values = dict(attrs)
        if tag == "meta" and "content" in values:
            self.meta[values.get("property") or values.get("name") or ""] = values["content"]
        if tag == "link":
            self.link[values["rel"]] = values["href"]


def test_without_an_address_nothing_of_it(tmp_path):
    built = build(booklet(tmp_path), tmp_path / "out")
    names = {path.name for path in built.target.rglob("*")}
    assert not names & {"sitemap.xml", "feed.xml", "robots.txt", "share"}
    assert not [html for html in built.pages().values() if "og:" in html or "canonical" in html]


def test_every_page_tells_its_address(site):
    for name, html in site.pages().items():
        head = Head(html)
        assert head.link["canonical"] == ROOT + ("" if name == "index.html" else name)
        assert head.link["alternate"] == "feed.xml"


def test_shared_links_show_title_words_and_a_picture(site):
    """Open Graph protocol, basic metadata: og:title, og:type, og:image, og:url."""
    meta = Head(site.pages()["1.html"]).meta
    assert meta["og:title"] == "The <b>first</b> & 1.e4"
    # The booklet's language has its own letters and quotation marks.
    assert meta["og:description"] == meta["description"] == "Where 1.Sf3 „begins“."
    assert meta["og:url"] == ROOT + "1.html"
    assert meta["og:image"] == ROOT + "assets/share/1.png"
    assert meta["og:image:alt"] == "The <b>first</b> & 1.e4. Nach 1...e5."
    front = Head(site.pages()["index.html"]).meta
    assert (front["og:type"], front["og:url"]) == ("website", ROOT)
    for html in (site.pages()["solutions.html"] if "solutions.html" in site.pages() else "",
                 site.pages()["find.html"]):  # fmt: skip
        assert "og:" not in html
    for page in ("index", "1", "2"):
        picture = Image.open(BytesIO((site.target / f"assets/share/{page}.png").read_bytes()))
        meta = Head(site.pages()[f"{page}.html"]).meta
        size = int(meta["og:image:width"]), int(meta["og:image:height"])
        assert (picture.format, picture.size) == ("PNG", size)


def test_sitemap_lists_every_page(site):
    """By the sitemaps.org protocol: urlset, url, loc (absolute, in the sitemap's folder), lastmod
    (W3C Datetime), in that order."""
    root = ET.fromstring((site.target / "sitemap.xml").read_bytes())
    space = "{http://www.sitemaps.org/schemas/sitemap/0.9}"
    assert root.tag == f"{space}urlset"
    found = []
    for url in root:
        assert (url.tag, [child.tag for child in url]) == (f"{space}url", [f"{space}loc", f"{space}lastmod"])
        assert url[0].text.isascii() and url[0].text.startswith(ROOT)
        assert url[1].text == "2026-01-02"
        found.append(url[0].text.removeprefix(ROOT) or "index.html")
    assert sorted(found) == sorted(site.pages())


def test_feed_is_atom(site):
    """RFC 4287: 4.1.1 and 4.1.2, what a feed and an entry must have, once; 4.2.6, ids are absolute
    IRIs; 3.3, dates by RFC 3339; 4.1.1, a link to itself."""
    root = ET.fromstring((site.target / "feed.xml").read_bytes())
    entry = root.find("a:entry", ATOM)
    for element in (root, entry):
        for name in ("id", "title", "updated"):
            assert len(element.findall(f"a:{name}", ATOM)) == 1
        assert urlsplit(element.findtext("a:id", "", ATOM)).scheme == "https"
        assert datetime.fromisoformat(element.findtext("a:updated", "", ATOM)).tzinfo
    assert root.findtext("a:author/a:name", "", ATOM) == "A & B"
    links = {link.get("rel"): link.get("href") for link in root.findall("a:link", ATOM)}
    assert links == {"self": ROOT + "feed.xml", "alternate": ROOT}
    assert entry.findtext("a:title", "", ATOM) == "Tiny, 2. Auflage"
    assert entry.findtext("a:id", "", ATOM) == ROOT + "#edition-2-auflage"
    content = entry.find("a:content", ATOM)
    assert content.get("type") == "html"
    assert content.text.startswith(
        "<p>New: &lt;b&gt;7.Bd3&lt;/b&gt;, not 7.Be2.</p><p>And more.</p><ol>"
    )
    assert re.findall('href="([^"]*)"', content.text) == [
        urljoin(ROOT, "1.html").replace("&", "&amp;"), urljoin(ROOT, "2.html").replace("&", "&amp;"),
    ]  # fmt: skip
    assert "<b>" not in content.text and "The &lt;b&gt;first" in content.text


def test_without_a_date_there_is_no_feed(tmp_path, monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    settings = 'title = "Tiny"'
    built = build(booklet(tmp_path, 'address = "https://example.org"', settings), tmp_path / "out")
    assert not (built.target / "feed.xml").exists()
    assert "feed.xml" not in built.pages()["index.html"]
    assert "lastmod" not in (built.target / "sitemap.xml").read_text()
    # At the root of its host the site may say where its sitemap is.
    told = (built.target / "robots.txt").read_text().splitlines()
    assert told == ["User-agent: *", "Allow: /", "Sitemap: https://example.org/sitemap.xml"]


@pytest.mark.parametrize(
    "address, root",
    [("https://bücher.example/", "https://xn--bcher-kva.example/"),
     ("http://127.0.0.1:8080/a%20b/", "http://127.0.0.1:8080/a%20b/"),
     ("https://example.org/ü/", "https://example.org/%C3%BC/")],
)  # fmt: skip
def test_addresses_are_ascii(address, root):
    """RFC 3987, 3.1."""
    assert Web(address).root == root
