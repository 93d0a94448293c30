"""Movetext to tokens.

In: a stretch of a chapter's text. Out: a flat stream of tokens with places, brackets checked.
The grammar is the PGN standard's movetext (section 8.2, with the import format's freedoms of
section 8.2.2 for move numbers), plus this project's `@NAME`, `(D …)` and `{% … %}`. What the
moves mean is for `builder.book.play`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field

from builder.faults import Faults
from builder.pgn.nags import SIGN_NAGS, SUFFIX_NAGS
from builder.place import Place, Source
from builder.source.ahead import Ahead
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
        ahead = Ahead(self.source.text, start, end)
        return _Reading(self.source, self.faults, self.inlines, ahead).items_from(start)


@dataclass(slots=True)
class _Reading:
    """One stretch of movetext; `items` are its tokens so far, `opened` the variations that are
    open."""

    source: Source
    faults: Faults
    inlines: Callable[[int, int], tuple[Inline, ...]]
    ahead: Ahead
    items: list[MoveItem] = field(default_factory=list)
    opened: list[OpenToken] = field(default_factory=list)

    @property
    def end(self) -> int:
        return self.ahead.end

    def items_from(self, start: int) -> tuple[MoveItem, ...]:
        at = start
        while at < self.end:
            match = _TOKEN.match(self.source.text, at, self.end)
            assert match is not None  # `stray` takes the rest
            at = self._take(match)
        for token in self.opened:
            self.faults.error("variation-open", token.place, "this variation is never closed",
                              "put ) at its end")  # fmt: skip
            self.items.append(CloseToken(token.place))
        self._check_result()
        return tuple(self.items)

    def _take(self, match: re.Match[str]) -> int:
        """Adds the token that `match` begins; the offset after it."""
        start, text = match.start(), match.group()
        match match.lastgroup:
            case "claim":
                return self._claim(start)
            case "comment":
                return self._comment(start)
            case "rest":
                return self._rest(start)
            case "diagram":
                return self._diagram(start)
            case "word":
                return self._word(text, start)
            case "space":
                pass
            case "number" | "bare":
                self.items.append(number_token(text, self.source, start))
            case kind:
                self._sign(kind, text, self.source.place(start, match.end()))
        return match.end()

    def _sign(self, kind: str | None, text: str, place: Place) -> None:
        """What is whole in itself."""
        match kind:
            case "open":
                self.opened.append(OpenToken(place))
                self.items.append(self.opened[-1])
            case "close" if self.opened:
                self.opened.pop()
                self.items.append(CloseToken(place))
            case "close":
                self.faults.error("variation-close", place, "no variation is open here",
                                  "take the ) away")  # fmt: skip
            case "name" if text == "@":
                self.faults.error("name-syntax", place, "a name must follow the @")
            case "name":
                self.items.append(NameToken(text[1:], place))
            case "nag" if text == "$" or len(text) > 4 or int(text[1:]) > 255:
                self.faults.error("nag", place, f"{text} is no NAG", "NAGs are $0 to $255")
            case "nag":
                self.items.append(NagToken(int(text[1:]), place))
            case "sign":
                self.items.append(NagToken(SIGN_NAGS[text], place))
            case "suffix" if text not in SUFFIX_NAGS:
                self.faults.error("nag", place, f"{text} is no move sign",
                                  "signs: " + " ".join(SUFFIX_NAGS))  # fmt: skip
            case "suffix":
                self.items.append(NagToken(SUFFIX_NAGS[text], place))
            case "passing":
                self.items.append(MoveToken("--", place))
            case "result":
                self.items.append(ResultToken(text, place))
            case _:
                self.faults.error("movetext", place, f"{text} has no meaning here")

    def _rest(self, start: int) -> int:
        """A comment from a semicolon to the line's end."""
        line_end = self._line_end(start)
        self.items.append(CommentToken(self.inlines(start + 1, line_end),
                                       self.source.place(start, start + 1)))  # fmt: skip
        return line_end

    def _line_end(self, at: int) -> int:
        found = self.source.text.find("\n", at, self.end)
        return self.end if found < 0 else found

    def _word(self, text: str, start: int) -> int:
        """A move, a remark, or a word that is neither; the offset after it."""
        place = self.source.place(start, start + len(text))
        trailing = re.fullmatch(rf"({SAN.pattern})(\+/-|-/\+|\+=|=\+|\+-|-\+|=|±|∓|⩲|⩱|∞)", text)
        if SAN.fullmatch(text):
            self.items.append(MoveToken(text, place))
        elif trailing:
            middle = start + trailing.end(1)
            self.items.append(MoveToken(trailing.group(1), self.source.place(start, middle)))
            self.items.append(NagToken(SIGN_NAGS[trailing.group(2)],
                                       self.source.place(middle, start + len(text))))  # fmt: skip
        elif remark := _REMARK.match(self.source.text, start, self.end):
            # A number or a square's digit right behind belongs to a move, not to the remark.
            self.items.append(CommentToken(self.inlines(start, remark.end()),
                                           self.source.place(start, remark.end())))  # fmt: skip
            return remark.end()
        elif text in ("e.p.", "ep"):
            pass  # FIDE Laws C.12 allow it; the rules tell it anyway.
        elif text.startswith("["):
            self.faults.error("movetext", place, "PGN tags have no place in a line",
                              'for another start write: line ID from "FEN"')  # fmt: skip
            close = re.compile(r"[^\]\n]*\]?").match(self.source.text, start, self.end)
            return close.end() if close else start + len(text)
        else:
            self.faults.error("move-syntax", place, f"{text} is not a move",
                              _move_hint(text))  # fmt: skip
            # Kept, so that the moves behind it are not taken for the other side's.
            self.items.append(MoveToken("", place))
        return start + len(text)

    def _claim(self, start: int) -> int:
        close = self.ahead.find("%}", start + 2)
        if close is None:
            self.faults.error("claim-open", self.source.place(start, start + 2),
                              "this claim is never closed", "put %} at its end")  # fmt: skip
            return self.end
        text = self.source.text[start + 2 : close]
        claim = parse_claim(text, self.source, start + 2, self.faults)
        if claim:
            self.items.append(ClaimToken(claim, " ".join(text.split()),
                                         self.source.place(start, close + 2)))  # fmt: skip
        return close + 2

    def _comment(self, start: int) -> int:
        """A comment in braces; claims in it have braces of their own, so they are counted."""
        depth = 0
        for at in range(start, self.end):
            char = self.source.text[at]
            if char == "{":
                depth += 1
            elif char == "}":
                depth -= 1
                if depth == 0:
                    self.items.append(CommentToken(self.inlines(start + 1, at),
                                                   self.source.place(start, at + 1)))  # fmt: skip
                    return at + 1
        self.faults.error("comment-open", self.source.place(start), "this comment is never closed",
                          "put } at its end")  # fmt: skip
        return self.end

    def _diagram(self, start: int) -> int:
        """`(D …)`: up to the bracket that closes it, brackets in quotes not counted."""
        close = self.ahead.round_close(start + 2)
        if close is not None:
            options, _ = parse_options(self.source, start + 2, close, self.faults, self.inlines)
            self.items.append(DiagramToken(options, self.source.place(start, close + 1)))
            return close + 1
        reason, remedy = "this diagram is never closed", "put ) at its end"
        if self.ahead.is_quoted_at_end(start + 2):
            reason, remedy = "its caption's quote is never closed", 'put " behind the caption'
        self.faults.error("diagram-open", self.source.place(start, start + 2), reason, remedy)
        return self._line_end(start)

    def _check_result(self) -> None:
        goes_on = False
        for item in reversed(self.items):
            if goes_on and isinstance(item, ResultToken):
                self.faults.error("result-place", item.place,
                                  f"the result {item.text} must stand at the end")  # fmt: skip
            goes_on |= isinstance(item, MoveToken | OpenToken | CloseToken | ResultToken)


def number_token(text: str, source: Source, start: int) -> NumberToken:
    """A move number from its text: `5.`, `5...`, `5…`, `5`."""
    digits = re.match(r"\d+", text)
    assert digits is not None
    dots = 3 if "…" in text else text.count(".")
    number = int(digits.group()[:9])  # No game has more; keeps hostile digits small.
    return NumberToken(number, 3 if dots > 1 else dots, source.place(start, start + len(text)))


# What stands for a letter or a sign of SAN in other print, or looks like one.
_ALIKE = str.maketrans({
    **dict.fromkeys("♔♚К", "K"), **dict.fromkeys("♕♛", "Q"), **dict.fromkeys("♖♜", "R"),
    **dict.fromkeys("♗♝В", "B"), **dict.fromkeys("♘♞", "N"), **dict.fromkeys("♙♟", ""),
    "×": "x", "х": "x", "а": "a", "с": "c", "е": "e", "О": "O",
    **dict.fromkeys("‐‑‒–—−", "-"),
})  # fmt: skip


def _odd_letters(text: str) -> str:
    """The remedy, where a word would be a move but for letters that only look right."""
    shown = "".join(char for char in text if unicodedata.category(char) != "Cf")
    plain = shown.translate(_ALIKE)
    if text.isascii() or not SAN.fullmatch(plain):
        return ""
    odd = next(char for char in text if not char.isascii())
    name = unicodedata.name(odd, "a character").lower()
    return f"write {plain}: {'an unseen ' if shown == plain else ''}{name} stands in it"


def _move_hint(text: str) -> str:
    """What is likely meant by a word that is not SAN."""
    if odd := _odd_letters(text):
        return odd
    if re.fullmatch(r"[a-h][1-8][-x]?[a-h][1-8][QRBNqrbn]?", text):
        return "write moves in SAN: the piece's letter and the square it goes to"
    if re.fullmatch(r"[KDTLSACPFRVG][a-h]?[1-8]?x?[a-h][1-8][+#]?", text):
        return "write moves with English letters, K Q R B N; booklet.toml sets what is printed"
    if re.fullmatch(r"[kqrn][a-h]?[1-8]?x?[a-h][1-8][+#]?", text):
        return f"did you mean {text[0].upper()}{text[1:]}?"
    if re.fullmatch(r"[KQRBN]?[a-h]?[1-8]?[x:]?[A-H][1-8].*", text):
        return f"did you mean {text[0]}{text[1:].lower()}? squares have small letters"
    if re.fullmatch(r"[KQRBN]?[a-h]?[1-8]?x?[a-z]\d+[+#]?", text):
        return "squares are a1 to h8"
    if swapped := re.fullmatch(r"([a-h])([a-h])x([1-8][+#]?)", text):
        return "did you mean {}x{}{}?".format(*swapped.groups())
    if text.startswith("D") and len(text) == 1:
        return "a diagram is (D …)"
    return ""
