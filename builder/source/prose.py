"""Markdown to prose nodes.

In: a stretch of a chapter's text. Out: blocks or inlines with places. Markdown itself is
mistune's; `builder.source.scan` has marked our pieces before, and `pieces.py` reads each when
its mark comes out of mistune, so that one in a code block is never taken for ours.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote

import mistune

from builder import model, names
from builder.faults import Faults, did_you_mean
from builder.place import Place, Source
from builder.source.files import BookletFiles
from builder.source.finding import Finder
from builder.source.markdown import Token, parse, parse_inline, with_characters
from builder.source.movetext import SAN
from builder.source.scan import OUR_FENCES, Scan, scan
from builder.source.syntax import Block, ChapterLink, Inline, OwnBlock

_COMMENT = re.compile(r"\s*<!--.*?-->\s*", re.S)
_MOVES = re.compile(rf"[\s>]*\d+\s*(?:\.+|…)\s*{SAN.pattern}(?!\S)")
_WEB = re.compile(r"(?:https?://|mailto:)", re.I)


@dataclass(frozen=True, slots=True)
class ProseReader:
    """Reads the prose of one chapter.

    `read_piece` makes a node of one of our pieces; it may be a block or an inline.
    """

    source: Source
    faults: Faults
    files: BookletFiles
    markdown: mistune.Markdown
    read_piece: Callable[..., Any]

    def chapter(self, start: int,
                end: int) -> tuple[tuple[Block, ...], tuple[tuple[Block, ...], ...]]:  # fmt: skip
        """The blocks of `source.text[start:end]`, and those of each footnote in it."""
        found = self._scan(start, end, fences=True)
        tokens, notes = parse(self.markdown, found.marked)
        convert = _Converter(self, found, start, footnotes=True)
        body = convert.blocks(tokens)
        return body, tuple(convert.blocks(note) for note in notes)

    def blocks(self, start: int, end: int) -> tuple[Block, ...]:
        """The blocks of a part of an exercise, which has no footnotes of its own."""
        found = self._scan(start, end, fences=True)
        tokens, _ = parse(self.markdown, found.marked)
        return _Converter(self, found, start, footnotes=False).blocks(tokens)

    def inlines(self, start: int, end: int) -> tuple[Inline, ...]:
        """The inlines of `source.text[start:end]`: a comment, a caption, words in a bracket."""
        found = self._scan(start, end, fences=False)
        # Quotation signs at line starts belong to the block round this text.
        text = re.sub(r"\n[ \t>]*", "\n", found.marked).strip()
        tokens = parse_inline(self.markdown, text)
        return _Converter(self, found, start, footnotes=False).inlines(tokens)


    def _scan(self, start: int, end: int, fences: bool) -> Scan:
        """Our pieces marked; what looks like one with a slip in it is told."""
        found = scan(self.source.text, start, end, fences)
        for span in found.unclosed:
            self.faults.warning("moves-plain", self.source.place(*span),
                                "this bracket looks like moves but is never closed: it stays text",
                                "put ] behind the moves")  # fmt: skip
        for other in found.others:
            word = (self.source.text[slice(*other.info)].split() or [""])[0]
            near = did_you_mean(word.lower(), OUR_FENCES)
            if near or _MOVES.match(self.source.text, *other.inner):
                info = other.info if word else (other.start, other.info[1])
                self.faults.warning("fence-code", self.source.place(*info),
                                    "this block is printed as it stands",
                                    near or "moves stand in a block that begins with ```line")  # fmt: skip
        return found


class _Converter:
    """Turns mistune's tokens of one scan into nodes."""

    def __init__(self, reader: ProseReader, found: Scan, start: int, footnotes: bool) -> None:
        self.reader = reader
        self.footnotes = footnotes
        self.faults = reader.faults
        self.scan = found
        self.find = Finder(reader.source, found, start)
        self.seen_notes: set[int] = set()
        self.anchors: set[str] = set()
        self.headings: dict[str, int] = defaultdict(lambda: 1)  # of the same words, so far

    # --- blocks ------------------------------------------------------------------------------

    def blocks(self, tokens: Iterable[Token]) -> tuple[Block, ...]:
        found: list[Block] = []
        for token in tokens:
            found.extend(self._block(token))
        return tuple(found)

    def _block(self, token: Token) -> list[Block]:
        match token["type"]:
            case "paragraph" | "block_text":
                return self._paragraph(token)
            case "heading":
                return [self._heading(token)]
            case "list":
                return [self._list(token)]
            case "block_quote":
                return [model.Quote(self.blocks(token["children"]))]
            case "block_code":
                text = self.scan.restore(token["raw"])
                info = self.scan.restore((token.get("attrs") or {}).get("info") or "")
                return [model.CodeBlock(text.rstrip("\n"), info)]
            case "block_html":
                return self._block_html(self.scan.restore(token["raw"]))
            case "thematic_break":
                return [model.Rule()]
            case "table":
                return [self._table(token)]
        return []  # blank_line

    def _paragraph(self, token: Token) -> list[Block]:
        place = self.find.block(token["children"])
        inlines = self.inlines(token["children"])
        solid = [node for node in inlines if not isinstance(node, model.Break)]
        blocks = [node for node in solid if isinstance(node, OwnBlock)]
        if blocks and len(blocks) == len(solid):
            return list(blocks)
        return [model.Paragraph(inlines, place)]  # type: ignore[arg-type]

    def _heading(self, token: Token) -> model.Heading:
        place = self.find.block(token["children"])
        inlines = self.inlines(token["children"])
        anchor = base = names.slug(plain_text(inlines))
        while anchor in self.anchors:
            self.headings[base] += 1
            anchor = f"{base}-{self.headings[base]}"
        self.anchors.add(anchor)
        return model.Heading(token["attrs"]["level"], inlines, anchor, place)  # type: ignore

    def _list(self, token: Token) -> model.ItemList:
        attrs = token["attrs"]
        start = attrs.get("start", 1) if attrs["ordered"] else None
        items = tuple(self.blocks(item["children"]) for item in token["children"])
        return model.ItemList(start, token["tight"], items)  # type: ignore[arg-type]

    def _table(self, token: Token) -> model.Table:
        head: tuple[tuple[Inline, ...], ...] = ()
        align: tuple[str, ...] = ()
        rows: list[tuple[tuple[Inline, ...], ...]] = []
        for part in token["children"]:
            if part["type"] == "table_head":
                head = tuple(self.inlines(cell["children"]) for cell in part["children"])
                align = tuple(cell["attrs"].get("align") or "" for cell in part["children"])
            else:
                rows.extend(
                    tuple(self.inlines(cell["children"]) for cell in row["children"])
                    for row in part["children"]
                )
        return model.Table(align, head, tuple(rows))  # type: ignore[arg-type]

    def _block_html(self, raw: str) -> list[Block]:
        """An author's HTML comments are notes to himself; other HTML is shown as text."""
        shown = _COMMENT.sub("", raw).strip()
        if not shown:
            return []
        place = self.find.words(raw)
        self._warn_html(place)
        return [model.Paragraph((model.Text(shown),), place)]

    def _warn_html(self, place: Place) -> None:
        self.faults.warning("html", place, "HTML is printed as it stands, as text",
                            "use Markdown; a comment <!-- … --> is left out")  # fmt: skip

    # --- inlines -----------------------------------------------------------------------------

    def inlines(self, tokens: Iterable[Token]) -> tuple[Inline, ...]:
        found: list[Inline] = []
        for token in tokens:
            node = self._inline(token)
            if isinstance(node, model.Text) and found and isinstance(found[-1], model.Text):
                found[-1] = model.Text(found[-1].text + node.text)
            elif node is not None:
                found.append(node)
        return tuple(found)

    def _inline(self, token: Token) -> Inline | None:
        match token["type"]:
            case "text":
                return self._text(self.scan.restore(token["raw"]))
            case "piece":
                piece = self.scan.pieces[int(token["raw"])]
                return self.reader.read_piece(piece)
            case "origin":
                self.find.meet(int(token["raw"]))
                return None
            case "emphasis":
                return model.Emphasis(self.inlines(token["children"]))  # type: ignore[arg-type]
            case "strong":
                return model.Strong(self.inlines(token["children"]))  # type: ignore[arg-type]
            case "strikethrough":
                return model.Strike(self.inlines(token["children"]))  # type: ignore[arg-type]
            case "codespan":
                return model.Code(self.scan.restore(token["raw"]))
            case "linebreak":
                return model.Break(hard=True)
            case "softbreak":
                return model.Break(hard=False)
            case "link":
                return self._link(token)
            case "image":
                return self._picture(token)
            case "footnote_ref":
                if not self.footnotes:
                    return self._text(f"[^{token['raw']}]")
                number = token["attrs"]["index"]
                first = number not in self.seen_notes
                self.seen_notes.add(number)
                return model.FootnoteRef(number, first)
            case "inline_html":
                raw = self.scan.restore(token["raw"])
                if _COMMENT.fullmatch(raw):
                    return None
                if not raw.startswith("</"):  # One warning a pair of tags is enough.
                    self._warn_html(self.find.words(raw))
                return model.Text(raw)
        return None

    def _text(self, text: str) -> model.Text:
        missing = re.search(r"\[\^([^\]\s]+)\]", text)
        if missing:
            place = self.find.words(missing.group())
            if self.footnotes:
                self.faults.error("footnote", place, f"there is no footnote {missing.group(1)}",
                                  f"write [^{missing.group(1)}]: … below")  # fmt: skip
            else:
                self.faults.error("footnote", place,
                                  "a footnote can't be marked in a comment, a caption, a bracket "
                                  "or an exercise",
                                  "mark it in the text beside")  # fmt: skip
        return model.Text(with_characters(text))

    def _link(self, token: Token) -> Inline:
        place = self.find.bracket()
        href = self.scan.restore(token["attrs"]["url"])
        title = with_characters(self.scan.restore(token["attrs"].get("title") or ""))
        children = self.inlines(token["children"])
        if _WEB.match(href):
            return model.Link(href, None, title, children, place)  # type: ignore[arg-type]
        if re.fullmatch(r"[^:#?]+\.md", href):
            return ChapterLink(href, title, children, place)
        self.faults.error("link", place, f"a link can't go to {href or 'nowhere'}",
                          "links go to http, https, mailto, a chapter's .md file or @name")  # fmt: skip
        return model.Emphasis(children)  # type: ignore[arg-type]

    def _picture(self, token: Token) -> Inline | None:
        place = self.find.bracket()
        href = unquote(self.scan.restore(token["attrs"]["url"]))  # mistune has quoted it
        alt = plain_text(self.inlines(token["children"]))
        title = with_characters(self.scan.restore(token["attrs"].get("title") or ""))
        file = self.reader.files.picture(href, place, self.faults)
        return model.Picture(file, alt, title, place) if file else model.Text(alt)


def plain_text(inlines: Iterable[object]) -> str:
    """The words of inlines without their form; moves as written."""
    parts: list[str] = []
    for node in inlines:
        if isinstance(node, model.Text | model.Code):
            parts.append(node.text)
        elif isinstance(node, model.Break):
            parts.append(" ")
        elif isinstance(node, model.Picture):
            parts.append(node.alt)
        else:
            for name in ("children", "words"):
                parts.append(plain_text(getattr(node, name, None) or ()))
            for item in getattr(node, "items", ()):
                parts.append(getattr(item, "text", ""))
    return "".join(parts)
