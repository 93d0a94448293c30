"""The tags of a PDF, put right where WeasyPrint leaves them wrong (ISO 32000-1, 14.8; ISO 14289-1).

In: WeasyPrint's document and the PDF that it is about to write. Changed in that PDF:

- a board is one figure whose text alternative is its `aria-label`: else its squares would be read
  out letter by letter;
- what stands in the margins of the pages, as running heads and page numbers, is an artifact, and so is
  a picture without a text alternative: it shows what words beside it say, or nothing;
- a heading is one level below the one that it stands under, whatever an author wrote;
- an empty cell in a table's corner is a header cell;
- what a list's item holds beside its label is the item's body;
- a link's description is its words, and whatever leads somewhere is tagged as a link.

WeasyPrint gives nothing that leads from a box to its tag. Tags are made in the order of the boxes,
so the boards, which are the only `article` elements that have an `aria-label`, are told by counting.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pydyf

from builder.press.numbers import Content, Hole
from builder.render.page_numbers import MARK

_POINTS_PER_PIXEL = 0.75  # CSS Values 3, 6.2
_ARTICLE, _ARTICLE_TAG = "article", "/Art"
_GAP = b"\0room\0"
_MARKED = re.compile(rb"/\w+\n<</MCID (\d+)>>\nBDC")
_NUMBERED = re.compile(f",?\\s*\\S*\\s*{MARK}[^{MARK}]*{MARK}(0+{MARK})?")  # ', page 12'
_HEADINGS = tuple(f"/H{level}" for level in range(1, 7))


def mend_tags(document: Any, pdf: pydyf.PDF, contents: dict[int, Content]) -> None:
    """See above. `document` is WeasyPrint's, `pdf` holds everything but is not yet written.
    `contents` are those of streams with room for numbers, by the streams' identities."""
    tags = [one for one in pdf.objects
            if isinstance(one, pydyf.Dictionary) and one.get("Type") == "/StructElem"]  # fmt: skip
    _name_boards(list(_articles(document.pages)),
                 [tag for tag in tags if tag["S"] == _ARTICLE_TAG])  # fmt: skip
    _open_figures(tags)
    _tag_links(pdf, tags)
    _name_corners(pdf, tags)
    _take_out_pictures(pdf, tags)
    _give_items_bodies(pdf, tags)
    _nest_headings([tag for tag in tags if tag["S"] in _HEADINGS])
    _set_apart(pdf, tags, contents)
    _describe_links(document.pages)


# --- boards -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Article:
    """An `article` element on a page. `alt` is empty for one that is no board; `inside` tells a
    box that WeasyPrint puts into a board for its own purposes. `box` is in points."""

    alt: str
    inside: bool
    box: tuple[float, float, float, float]


def _articles(pages: Any) -> Iterator[_Article]:
    for page in pages:
        seen: set[int] = set()
        for box in _boxes(page._page_box):
            if box.element_tag != _ARTICLE or box.element is None or not hasattr(box, "children"):
                continue
            alt, inside = box.element.get("aria-label", ""), id(box.element) in seen
            seen.add(id(box.element))
            yield _Article(alt, inside, _place(box, page.height))


def _boxes(root: Any) -> Iterator[Any]:
    """Every box that has a tag of its own, in the order of the tags."""
    waiting = [root]
    while waiting:
        box = waiting.pop()
        box = getattr(box, "_box", box)  # what is placed absolutely is wrapped
        kind = type(box).__name__
        if kind != "LineBox" and kind != "TextBox":
            yield box
        waiting.extend(reversed(getattr(box, "children", ())))


def _place(box: Any, page_height: float) -> tuple[float, float, float, float]:
    left, top = box.border_box_x(), box.border_box_y()
    right, bottom = left + box.border_width(), top + box.border_height()
    return tuple(round(value * _POINTS_PER_PIXEL, 3)
                 for value in (left, page_height - bottom, right, page_height - top))  # fmt: skip


def _name_boards(articles: list[_Article], tags: list[Any]) -> None:
    """Raises ValueError where the two don't go together, which would name boards wrongly."""
    for article, tag in zip(articles, tags, strict=True):
        if not article.alt:
            continue
        if article.inside:
            tag["S"] = "/NonStruct"
            continue
        tag["S"] = "/Figure"
        tag["Alt"] = pydyf.String(article.alt)
        tag["A"] = pydyf.Dictionary({"O": "/Layout", "BBox": pydyf.Array(article.box)})


def _open_figures(tags: list[Any]) -> None:
    """A drawing in a board is part of its figure, whose alternative tells of it too."""
    of_number = {tag.number: tag for tag in tags}
    waiting = [kid for tag in tags if tag["S"] == "/Figure" for kid in _kids(tag)]
    while waiting:
        tag = of_number.get(_number(waiting.pop()))
        if tag is None:
            continue
        if tag["S"] == "/Figure":
            tag["S"] = "/NonStruct"
            tag.pop("Alt", None)
            tag.pop("A", None)
        waiting += _kids(tag)


# --- headings, margins, links -----------------------------------------------------------------


def _nest_headings(headings: list[Any]) -> None:
    """ISO 14289-1, 7.4.2: no level is left out on the way down."""
    above: list[int] = []
    for heading in headings:
        level = int(heading["S"][2:])
        while above and above[-1] >= level:
            above.pop()
        above.append(level)
        heading["S"] = f"/H{len(above)}"


def _give_items_bodies(pdf: pydyf.PDF, tags: list[Any]) -> None:
    """ISO 32000-1, 14.8.4.3.3: WeasyPrint makes no body of an item that holds paragraphs."""
    for item in [tag for tag in tags if tag["S"] == "/LI"]:
        inside = [tag for kid in _kids(item) if (tag := _named(pdf, kid)).get("S", "/Lbl") != "/Lbl"]
        if all(tag["S"] == "/LBody" for tag in inside):
            continue
        body = pydyf.Dictionary({"Type": "/StructElem", "S": "/LBody", "P": item.reference, "Pg": item["Pg"],
                                 "K": pydyf.Array(tag.reference for tag in inside)})  # fmt: skip
        pdf.add_object(body)
        tags.append(body)
        for tag in inside:
            tag["S"], tag["P"] = "/Div" if tag["S"] == "/LBody" else tag["S"], body.reference
            item["K"].remove(tag.reference)
        item["K"].append(body.reference)


def _take_out_pictures(pdf: pydyf.PDF, tags: list[Any]) -> None:
    """ISO 14289-1, 7.3: a figure without an alternative is none; it is taken out of the tree."""
    for tag in tags:
        if tag["S"] == "/Figure" and not tag.get("Alt"):
            around = _named(pdf, tag["P"])["K"]
            if tag.reference in around:  # in a page's margin it never was
                around.remove(tag.reference)


def _set_apart(pdf: pydyf.PDF, tags: list[Any], contents: dict[int, Content]) -> None:
    """What has tags outside of the tree becomes an artifact: pictures that were taken out, and what
    stands in margins, which WeasyPrint marks as content and gives such tags."""
    of_number = {tag.number: tag for tag in tags}
    reached: set[int] = set()
    root = _named(pdf, pdf.catalog["StructTreeRoot"])
    waiting = list(root["K"])
    while waiting:
        tag = of_number.get(_number(waiting.pop()))
        if tag is not None and tag.number not in reached:
            reached.add(tag.number)
            waiting += _kids(tag)
    outside: dict[bytes, dict[int, str]] = {}
    lost: set[bytes] = set()
    for tag in tags:
        if tag.number not in reached:
            lost.add(tag.reference)
            kind = "/Layout" if tag["S"] == "/Figure" else "/Pagination"
            outside.setdefault(tag["Pg"], {}).update(
                (kid, kind) for kid in tag["K"] if isinstance(kid, int))  # fmt: skip
    for page, marked in outside.items():
        if marked:
            stream = _named(pdf, _named(pdf, page)["Contents"])
            _make_artifacts(stream, marked)
            if id(stream) in contents:
                contents[id(stream)] = _as_artifacts(contents[id(stream)], marked)
    for numbers in _named(pdf, root["ParentTree"])["Nums"]:
        if isinstance(numbers, list):
            numbers[:] = [None if kid in lost else kid for kid in numbers]


def _make_artifacts(stream: pydyf.Stream, marked: dict[int, str]) -> None:
    """Content with these numbers becomes artifacts of these types (ISO 32000-1, 14.8.2.2)."""
    items = stream.stream
    for index, item in enumerate(items):
        if item == b"BDC" and (kind := marked.get(items[index - 1].get("MCID"))):
            items[index - 2] = "/Artifact"
            items[index - 1] = pydyf.Dictionary({"Type": kind})


def _as_artifacts(content: Content, marked: dict[int, str]) -> Content:
    """The same for content with room for numbers, which is put together already."""
    holes = [piece for piece in content if isinstance(piece, Hole)]
    whole = b"".join(piece if isinstance(piece, bytes) else _GAP for piece in content)

    def artifact(found: re.Match[bytes]) -> bytes:
        kind = marked.get(int(found[1]))
        return f"/Artifact\n<</Type {kind}>>\nBDC".encode() if kind else found[0]

    pieces = _MARKED.sub(artifact, whole).split(_GAP)
    rooms = [*((hole,) for hole in holes), ()]
    return tuple(one for piece, room in zip(pieces, rooms, strict=True) for one in (piece, *room))


def _tag_links(pdf: pydyf.PDF, tags: list[Any]) -> None:
    """ISO 14289-1, 7.18.5: a part of a link that is a box by itself, as a number in a row of the
    contents, belongs to the link. A part without any width is no link at all."""
    of_number = {tag.number: tag for tag in tags}
    nums = _named(pdf, _named(pdf, pdf.catalog["StructTreeRoot"])["ParentTree"])["Nums"]
    for tag in tags:
        for kid in [kid for kid in _kids(tag) if _named(pdf, kid).get("Type") == "/OBJR"]:
            annotation = _named(pdf, _named(pdf, kid)["Obj"])
            left, _, right, _ = annotation["Rect"]
            if left == right:
                tag["K"].remove(kid)
                _take_off(pdf, _named(pdf, kid))
                tag["S"] = tag["S"] if tag["K"] else "/NonStruct"
                continue
            link = _link_round(tag, of_number)
            if link is not tag:
                tag["S"] = "/Span" if tag["S"] == "/Link" else tag["S"]
                tag["K"].remove(kid)
                link["K"].append(kid)
                nums[2 * nums[::2].index(annotation["StructParent"]) + 1] = link.reference
            link["S"] = "/Link"


def _link_round(tag: Any, of_number: dict[int, Any]) -> Any:
    """The outermost link that a tag is in; the tag itself where there is none."""
    link = around = tag
    while around is not None:
        link = around if around["S"] == "/Link" else link
        around = of_number.get(_number(around["P"]))
    return link


def _take_off(pdf: pydyf.PDF, shown: Any) -> None:
    """Takes an annotation off its page."""
    annotations = _named(pdf, shown["Pg"])["Annots"]
    listed = annotations if isinstance(annotations, list) else _named(pdf, annotations)
    if shown["Obj"] in listed:
        listed.remove(shown["Obj"])


def _name_corners(pdf: pydyf.PDF, tags: list[Any]) -> None:
    """ISO 14289-1, 7.5: a table's empty corner heads the column below, where it has no head."""
    for tag in tags:
        if tag["S"] == "/TD" and not tag.get("A", {}).get("Headers") and not _holds(pdf, tag):
            tag["S"] = "/TH"
            tag["A"] = pydyf.Dictionary({"O": "/Table", "Scope": "/Column"})


def _holds(pdf: pydyf.PDF, tag: Any) -> bool:
    """Whether something is marked as the tag's content."""
    waiting = [tag]
    while waiting:
        kids = waiting.pop().get("K", [])
        if any(isinstance(kid, int) for kid in kids):
            return True
        waiting += [_named(pdf, kid) for kid in kids if isinstance(kid, bytes)]
    return False


def _describe_links(pages: Any) -> None:
    """ISO 14289-1, 7.18.5: WeasyPrint writes the name of the place, which says nothing."""
    for page in pages:
        for box in _boxes(page._page_box):
            annotation = getattr(box, "link_annotation", None)
            words = _words(box.element) if annotation else ""
            if words:
                annotation["Contents"] = pydyf.String(words)


def _words(element: Any) -> str:
    """The text of a link without the page that it leads to, whose number is not known yet, and
    without boards, which have a text of their own."""
    inside = "".join(_texts(element)).replace("\u200b", "")
    return " ".join(_NUMBERED.sub("", inside).split())


def _texts(element: Any) -> Iterator[str]:
    if element.get("aria-label") is None or element.tag != _ARTICLE:
        yield element.text or ""
        for child in element:
            yield from _texts(child)
            yield " " if child.get("class") == "number" else ""
            yield child.tail or ""


def _kids(tag: Any) -> list[bytes]:
    """References to what is inside, which may be a tag."""
    return [kid for kid in tag["K"] if isinstance(kid, bytes)]


def _number(reference: bytes) -> int:
    return int(reference.split()[0])


def _named(pdf: pydyf.PDF, reference: bytes) -> Any:
    return pdf.objects[_number(reference)]
