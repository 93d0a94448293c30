"""Movetext to tokens.

In: a stretch of a chapter's text. Out: a flat stream of tokens with places, brackets checked.
The grammar is the PGN standard's movetext (section 8.2, with the import format's freedoms of
section 8.2.2 for move numbers), plus this project's `@NAME`, `(D …)` and `{% … %}`. What the
moves mean is for `builder.book.play`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from builder.faults import Faults
from builder.pgn.nags import SIGN_NAGS, SUFFIX_NAGS
from builder.place import Source
from builder.source.claims import parse_claim
from builder.source.options import parse_options
from builder.source.syntax import (
    ClaimToken, CloseToken, CommentToken, DiagramToken, Inline, MoveItem, MoveToken, NagToken,
    NameToken, NumberToken, OpenToken, ResultToken,
)  # fmt: skip

NAME = r"\w[\w-]*"
SAN = re.compile(
    r"(?:[KQRBN]?[a-h]?[1-8]?[x:]?[a-h][1-8](?:=?[QRBN])?|[O0]-[O0](?:-[O0])?)[+#]?"
)
# Two words or more in a row are a comment without braces; a single one is a slip.
_REMARK = re.compile(r"[^\W\d_]{2,}[,.:'’-]*(?:\s+[^\W\d_]+[,.:'’-]*(?![\w=]))+")
_TOKEN = re.compile(
    rf"""(?P<space>\s*\n[ \t]*>[ \t>]*|(?<=\n)[ \t]*>[ \t>]*|\s+)
    |(?P<claim>\{{%)
    |(?P<comment>\{{)
    |(?P<rest>;)
    |(?P<diagram>\(D(?=[\s)]))
    |(?P<open>\()
    |(?P<close>\))
    |(?P<name>@(?:{NAME})?)
    |(?P<nag>\$\d*)
    |(?P<result>(?:1-0|0-1|1/2-1/2|\*)(?=[\s)]|$))
    |(?P<number>\d+\s*(?:\.\s?\.\.|\.+|…))
    |(?P<bare>\d+(?=\s|$))
    |(?P<sign>(?:\+/-|-/\+|\+=|=\+|\+-|-\+|\+−|−\+|=|∞|⩲|⩱|±|∓)(?=[\s(){{;@$]|$))
    |(?P<passing>--)
    |(?P<suffix>[!?]+)
    |(?P<word>[^\s(){{}};@$!?]+)
    |(?P<stray>.)""",
    re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class MovetextReader:
    """Reads movetext of one source. `inlines` parses `source.text[start:end]` as prose."""

    source: Source
    faults: Faults
    inlines: Callable[[int, int], tuple[Inline, ...]]

    def read(self, start: int, end: int) -> tuple[MoveItem, ...]:
        """The tokens of `source.text[start:end]`, with variations properly closed."""
        items: list[MoveItem] = []
        opened: list[OpenToken] = []
        at = start
        while at < end:
            match = _TOKEN.match(self.source.text, at, end)
            assert match is not None and match.lastgroup is not None  # `stray` takes the rest
            at = self._take(match, match.lastgroup, end, items, opened)
        for token in opened:
            self.faults.error("variation-open", token.place, "this variation is never closed",
                              "put ) at its end")  # fmt: skip
            items.append(CloseToken(token.place))
        self._check_result(items)
        return tuple(items)

    def _take(self, match: re.Match[str], kind: str, end: int, items: list[MoveItem],
              opened: list[OpenToken]) -> int:  # fmt: skip
        """Adds the token that `match` begins; the offset after it."""
        text, after = match.group(), match.end()
        place = self.source.place(match.start(), after)
        match kind:
            case "space":
                pass
            case "claim":
                return self._claim(match.start(), end, items)
            case "comment":
                return self._comment(match.start(), end, items)
            case "rest":
                line_end = self.source.text.find("\n", after, end)
                line_end = end if line_end < 0 else line_end
                items.append(CommentToken(self.inlines(after, line_end), place))
                return line_end
            case "diagram":
                return self._diagram(match.start(), end, items)
            case "open":
                opened.append(OpenToken(place))
                items.append(opened[-1])
            case "close":
                if opened:
                    opened.pop()
                    items.append(CloseToken(place))
                else:
                    self.faults.error("variation-close", place, "no variation is open here",
                                      "take the ) away")  # fmt: skip
            case "name":
                if text == "@":
                    self.faults.error("name-syntax", place, "a name must follow the @")
                else:
                    items.append(NameToken(text[1:], place))
            case "nag":
                if text == "$" or int(text[1:4]) > 255 or len(text) > 4:
                    self.faults.error("nag", place, f"{text} is no NAG", "NAGs are $0 to $255")
                else:
                    items.append(NagToken(int(text[1:]), place))
            case "result":
                items.append(ResultToken(text, place))
            case "number" | "bare":
                items.append(number_token(text, self.source, match.start()))
            case "sign":
                items.append(NagToken(SIGN_NAGS[text], place))
            case "passing":
                items.append(MoveToken("--", place))
            case "suffix":
                self._suffix(text, match.start(), items)
            case "word":
                return self._word(text, match.start(), end, items)
            case _:
                self.faults.error("movetext", place, f"{text} has no meaning here")
        return after

    def _suffix(self, text: str, start: int, items: list[MoveItem]) -> None:
        place = self.source.place(start, start + len(text))
        if text in SUFFIX_NAGS:
            items.append(NagToken(SUFFIX_NAGS[text], place))
        else:
            self.faults.error("nag", place, f"{text} is no move sign",
                              "signs: " + " ".join(SUFFIX_NAGS))  # fmt: skip

    def _word(self, text: str, start: int, end: int, items: list[MoveItem]) -> int:
        """A move, a remark, or a word that is neither; the offset after it."""
        place = self.source.place(start, start + len(text))
        trailing = re.fullmatch(rf"({SAN.pattern})(\+/-|-/\+|\+=|=\+|\+-|-\+|=|±|∓|⩲|⩱|∞)", text)
        if SAN.fullmatch(text):
            items.append(MoveToken(text, place))
        elif trailing:
            middle = start + trailing.end(1)
            items.append(MoveToken(trailing.group(1), self.source.place(start, middle)))
            items.append(NagToken(SIGN_NAGS[trailing.group(2)],
                                  self.source.place(middle, start + len(text))))  # fmt: skip
        elif remark := _REMARK.match(self.source.text, start, end):
            # A number or a square's digit right behind belongs to a move, not to the remark.
            items.append(CommentToken(self.inlines(start, remark.end()),
                                      self.source.place(start, remark.end())))  # fmt: skip
            return remark.end()
        elif text in ("e.p.", "ep"):
            pass  # FIDE Laws C.12 allow it; the rules tell it anyway.
        elif text.startswith("["):
            self.faults.error("movetext", place, "PGN tags have no place in a line",
                              'for another start write: line ID from "FEN"')  # fmt: skip
            close = re.compile(r"[^\]\n]*\]?").match(self.source.text, start, end)
            return close.end() if close else start + len(text)
        else:
            self.faults.error("move-syntax", place, f"{text} is not a move",
                              _move_hint(text))  # fmt: skip
            # Kept, so that the moves behind it are not taken for the other side's.
            items.append(MoveToken("", place))
        return start + len(text)

    def _claim(self, start: int, end: int, items: list[MoveItem]) -> int:
        close = self.source.text.find("%}", start + 2, end)
        if close < 0:
            self.faults.error("claim-open", self.source.place(start, start + 2),
                              "this claim is never closed", "put %} at its end")  # fmt: skip
            return end
        text = self.source.text[start + 2 : close]
        claim = parse_claim(text, self.source, start + 2, self.faults)
        if claim:
            items.append(ClaimToken(claim, " ".join(text.split()),
                                    self.source.place(start, close + 2)))  # fmt: skip
        return close + 2

    def _comment(self, start: int, end: int, items: list[MoveItem]) -> int:
        """A comment in braces; claims in it have braces of their own, so they are counted."""
        depth = 0
        for at in range(start, end):
            char = self.source.text[at]
            if char == "{":
                depth += 1
            elif char == "}":
                depth -= 1
                if depth == 0:
                    items.append(CommentToken(self.inlines(start + 1, at),
                                              self.source.place(start, at + 1)))  # fmt: skip
                    return at + 1
        self.faults.error("comment-open", self.source.place(start), "this comment is never closed",
                          "put } at its end")  # fmt: skip
        return end

    def _diagram(self, start: int, end: int, items: list[MoveItem]) -> int:
        """`(D …)`: up to the bracket that closes it, brackets in quotes not counted."""
        quoted = False
        for at in range(start + 2, end):
            char = self.source.text[at]
            if char == '"':
                quoted = not quoted
            elif char == ")" and not quoted:
                options, _ = parse_options(self.source, start + 2, at, self.faults, self.inlines)
                items.append(DiagramToken(options, self.source.place(start, at + 1)))
                return at + 1
        reason = "its caption's quote is never closed" if quoted else "this diagram is never closed"
        self.faults.error("diagram-open", self.source.place(start, start + 2), reason,
                          "put ) at its end")  # fmt: skip
        line_end = self.source.text.find("\n", start, end)
        return end if line_end < 0 else line_end

    def _check_result(self, items: list[MoveItem]) -> None:
        for index, item in enumerate(items):
            if isinstance(item, ResultToken) and any(
                isinstance(later, MoveToken | OpenToken | CloseToken | ResultToken)
                for later in items[index + 1 :]
            ):
                self.faults.error("result-place", item.place,
                                  f"the result {item.text} must stand at the end")  # fmt: skip


def number_token(text: str, source: Source, start: int) -> NumberToken:
    """A move number from its text: `5.`, `5...`, `5…`, `5`."""
    digits = re.match(r"\d+", text)
    assert digits is not None
    dots = 3 if "…" in text else text.count(".")
    number = int(digits.group()[:9])  # No game has more; keeps hostile digits small.
    return NumberToken(number, 3 if dots > 1 else dots, source.place(start, start + len(text)))


def _move_hint(text: str) -> str:
    """What is likely meant by a word that is not SAN."""
    if re.fullmatch(r"[a-h][1-8][-x]?[a-h][1-8][QRBNqrbn]?", text):
        return "write moves in SAN: the piece's letter and the square it goes to"
    if re.fullmatch(r"[KDTLSACPFRVG][a-h]?[1-8]?x?[a-h][1-8][+#]?", text):
        return "write moves with English letters, K Q R B N; booklet.toml sets what is printed"
    if re.fullmatch(r"[kqrn][a-h]?[1-8]?x?[a-h][1-8][+#]?", text):
        return f"did you mean {text[0].upper()}{text[1:]}?"
    if re.fullmatch(r"[KQRBN]?[a-h]?[1-8]?[x:]?[A-H][1-8].*", text):
        return f"did you mean {text[0]}{text[1:].lower()}? squares have small letters"
    if text.startswith("D") and len(text) == 1:
        return "a diagram is (D …)"
    return ""
