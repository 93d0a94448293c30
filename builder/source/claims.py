"""The claim language: from words to a `ClaimTerm`.

In: the inside of `{…}` or `{% … %}`. Out: what is claimed, or a fault at the very word that can't
be read. What a claim means is in `builder.proof.claims`, and for authors in `guide/claims.md`.

The language is the table in `claim_forms.py`, which also tells what fills which field of the
term.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from builder.faults import Faults, did_you_mean
from builder.model import ClaimTerm
from builder.place import Place, Source
from builder.source.claim_arguments import Filled, Miss, Token, fill, lacking
from builder.source.claim_forms import FORMS, HEADS, Form


@dataclass(frozen=True, slots=True)
class ParsedClaim:
    """A claim as read. `at` is the name from a leading `at @NAME:`, with its place."""

    at: str | None
    at_place: Place | None
    term: ClaimTerm


_NUMBER = r"(?:[+\-−]\s*)?[0-9]+(?:\.[0-9]+)?"
_TOKEN = re.compile(
    rf"""
    (?P<name>@[\w-]*)
  | (?P<compare>[<>=≤≥!]=?)
  | (?P<colon>:)
  | (?P<number>{_NUMBER})(?![\w-])
  | (?P<word>[^\s,:=<>≤≥!@]+(?:=[QRBN](?!\w)[+#]?)?)
    """,
    re.X,
)


def parse_claim(text: str, source: Source, offset: int, faults: Faults) -> ParsedClaim | None:
    """The claim in `text`, which stands at `offset` in `source.text`.

    None after a fault, which is placed at the word that can't be read.
    """
    return _Reader(text, source, offset, faults).read()


class _Reader:
    def __init__(self, text: str, source: Source, offset: int, faults: Faults) -> None:
        self.source = source
        self.offset = offset
        self.end = len(text.rstrip())
        self.faults = faults
        self.tokens = [
            Token(at, match.lastgroup or "", match.group(), match.start(), match.end())
            for at, match in enumerate(_TOKEN.finditer(text))
        ]

    def read(self) -> ParsedClaim | None:
        at, at_place, first = None, None, 0
        if self._word(0) == "at":
            if self._kind(1) != "name" or len(self.tokens[1].text) == 1:
                return self._fail(1, "claim-name", "a position's name must stand behind at",
                                  "write at @NAME: and the claim")  # fmt: skip
            if self._kind(2) != "colon":
                return self._fail(2, "claim-syntax", "a colon must stand behind the name",
                                  f"write at {self.tokens[1].text}: and the claim")  # fmt: skip
            at, at_place, first = self.tokens[1].text[1:], self._place(1), 3
        denied = self._word(first) in ("no", "not")
        term = self._term(first + denied, denied)
        return ParsedClaim(at, at_place, term) if term else None

    # --- tokens ------------------------------------------------------------------------------

    def _kind(self, at: int) -> str:
        return self.tokens[at].kind if at < len(self.tokens) else ""

    def _word(self, at: int) -> str:
        return self.tokens[at].text if at < len(self.tokens) else ""

    def _place(self, at: int) -> Place:
        """The place of a token; past the last one, the end of the claim."""
        if at < len(self.tokens):
            token = self.tokens[at]
            return self.source.place(self.offset + token.start, self.offset + token.end)
        end = self.offset + self.end
        last = self.tokens[-1].start if self.tokens else self.end
        return self.source.place(self.offset + last, end)

    def _fail(self, at: int, code: str, message: str, hint: str = "") -> None:
        self.faults.error(code, self._place(at), message, hint)

    # --- the claim ---------------------------------------------------------------------------

    def _term(self, first: int, denied: bool) -> ClaimTerm | None:
        head = self._head(first)
        if head is None:
            return self._unknown(first)
        rest = first + len(head.split())
        forms = [form for form in FORMS if form.head == head]
        misses: list[tuple[Miss, Form]] = []
        for form in forms:
            filled = Filled()
            miss = self._fit(form, rest, filled)
            if miss is None and denied and not form.deniable:
                return self._fail(first - 1, "claim-denied",
                                  f"{head} can't be denied",
                                  "say what is so: " + form.usage)  # fmt: skip
            if miss is None:
                return _term_of(head, filled, denied)
            misses.append((miss, form))
        return self._tell_miss(misses)

    def _head(self, first: int) -> str | None:
        """The longest head that stands at token `first`."""
        written = [token.text for token in self.tokens[first : first + 3]]
        fitting = [head for head in HEADS if head.split() == written[: len(head.split())]]
        return max(fitting, key=lambda head: len(head.split()), default=None)

    def _unknown(self, first: int) -> None:
        if first >= len(self.tokens):
            return self._fail(first, "claim-syntax", "a claim must stand here",
                              "for instance: material even")  # fmt: skip
        near = self._nearest_head(first)
        hint = f"did you mean {near}?" if near else "the guide lists every claim"
        return self._fail(first, "claim-unknown", f"{self._word(first)} is no claim", hint)

    def _nearest_head(self, first: int) -> str | None:
        """The head most like the words that stand there."""
        best, likeness = None, 0.6
        for head in HEADS:
            count = len(head.split())
            written = " ".join(token.text for token in self.tokens[first : first + count]).lower()
            ratio = difflib.SequenceMatcher(None, written, head).ratio()
            if ratio > likeness:
                best, likeness = head, ratio
        return best

    def _tell_miss(self, misses: list[tuple[Miss, Form]]) -> None:
        """Tells of the form that fits furthest; several may fit as far."""
        furthest = max(miss.at for miss, _ in misses)
        best = [(miss, form) for miss, form in misses if miss.at == furthest]
        miss = best[0][0]
        choices = [choice for other, _ in best for choice in other.choices]
        usage = "write " + " or ".join(dict.fromkeys(form.usage for _, form in best))
        hint = did_you_mean(self._word(miss.at).lower(), choices) or miss.hint or usage
        return self._fail(miss.at, miss.code, miss.message, hint)

    # --- its arguments -----------------------------------------------------------------------

    def _fit(self, form: Form, at: int, filled: Filled) -> Miss | None:
        for argument in form.arguments.split():
            if at >= len(self.tokens):
                return Miss(at, "claim-syntax", f"{form.head} lacks {lacking(argument)}")
            fitting = self.tokens[at:] if argument == "SQUARES" else self.tokens[at : at + 1]
            for token in fitting:
                if miss := fill(argument, token, filled):
                    return miss
            at += len(fitting)
        if at < len(self.tokens):
            return Miss(at, "claim-syntax", f"{self._word(at)} has no meaning here")
        return None


def _term_of(head: str, filled: Filled, denied: bool) -> ClaimTerm:
    return ClaimTerm(
        kind=head,
        squares=tuple(filled.squares),
        side=filled.side,
        comparison=filled.comparison,  # type: ignore[arg-type]
        numbers=tuple(filled.numbers),
        move=filled.move,
        words=tuple(filled.words),
        name=filled.name,
        denied=denied,
    )

