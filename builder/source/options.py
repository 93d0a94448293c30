"""What an author may write about a diagram: caption, side, size, annotations.

In: `"caption" flip plan c1-f4 key d4 e5 label e5 "outpost"`. Out: `DiagramOptions`. One
grammar for `(D …)`, `diagram` and `exercise` blocks, and diagrams in the prose.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Literal, get_args

import chess

from builder.faults import Faults, did_you_mean
from builder.model import Mark, MarkKind
from builder.place import Source
from builder.source.syntax import DiagramOptions, Inline

PATH_KINDS = ("plan", "threat", "guard")
WORDS = ("flip", "small", "large", *get_args(MarkKind))
CURLY = "“”„‟«»"  # quotation marks as word processors write them
MOST_LABEL = 12  # Characters; a longer text does not fit on a square at reading size.

_JOINED = re.compile("[a-h][1-8][a-h][1-8]")
_PART = re.compile(r'"(?P<quoted>[^"]*)"|(?P<word>[^\s"]+)|(?P<stray>")')


def parse_options(
    source: Source,
    start: int,
    end: int,
    faults: Faults,
    inlines: Callable[[int, int], tuple[Inline, ...]],
) -> tuple[DiagramOptions, bool]:
    """Options from `source.text[start:end]`, and whether all of it was well-formed."""
    reader = _Options(source, faults)
    for match in _PART.finditer(source.text, start, end):
        reader.take(match)
    reader.finish()
    caption = inlines(*reader.caption) if reader.caption else ()
    options = DiagramOptions(caption, reader.flip, reader.size, tuple(reader.marks))
    return options, reader.well_formed


class _Options:
    """The parts read so far, and the annotation that is being filled."""

    def __init__(self, source: Source, faults: Faults) -> None:
        self.source = source
        self.faults = faults
        self.caption: tuple[int, int] | None = None
        self.flip = False
        self.size: Literal["small", "normal", "large"] = "normal"
        self.marks: list[Mark] = []
        self.well_formed = True
        self._kind: str | None = None
        self._kind_span = (0, 0)
        self._used = False
        self._label_square: int | None = None

    def take(self, match: re.Match[str]) -> None:
        if match.group("stray"):
            self._error("diagram-quote", match.span(), "this quote is never closed")
        elif match.group("quoted") is not None:
            self._quoted(match)
        elif match.group() in WORDS:
            self._keyword(match.group(), match.span())
        else:
            self._squares(match.group(), match.span())

    def finish(self) -> None:
        """Tells of an annotation that got no squares."""
        if self._kind and not self._used:
            wants = {"label": 'a square and a text: label e5 "outpost"'}.get(
                self._kind,
                f"squares: {self._kind} c1-f4" if self._kind in PATH_KINDS
                else f"squares: {self._kind} d4 e5",
            )  # fmt: skip
            self._error("mark-empty", self._kind_span, f"{self._kind} needs {wants}")
        self._kind = None

    def _keyword(self, word: str, span: tuple[int, int]) -> None:
        self.finish()
        if word == "flip":
            self.flip = True
        elif word in ("small", "large"):
            self.size = "small" if word == "small" else "large"
        else:
            self._kind, self._kind_span, self._used = word, span, False
            self._label_square = None

    def _quoted(self, match: re.Match[str]) -> None:
        span = match.span("quoted")
        if self._kind == "label" and self._label_square is not None:
            text = " ".join(match.group("quoted").split())
            if not text or len(text) > MOST_LABEL:
                self._error("mark-label", match.span(),
                            f"a label has 1 to {MOST_LABEL} characters")  # fmt: skip
            else:
                self.marks.append(Mark("label", (self._label_square,), text))
            self._kind, self._label_square = None, None
        elif self.caption is not None:
            self._error("diagram-caption", match.span(), "a diagram has one caption")
        else:
            self.finish()
            self.caption = span

    def _squares(self, word: str, span: tuple[int, int]) -> None:
        if self._kind is None:
            hint = did_you_mean(word, WORDS) or "words here: " + ", ".join(WORDS)
            if word[0] in CURLY:
                hint = f'write straight quotation marks: "{word.strip(CURLY)} …"'
            self._error("diagram-word", span, f"{word} has no meaning for a diagram", hint)
            return
        squares: list[int] = []
        at = span[0]
        for part in word.split("-"):
            if part not in chess.SQUARE_NAMES:
                self._used = True
                self._error("square", (at, at + max(1, len(part))),
                            f"{part or '-'} is not a square",
                            f"write {part[:2]}-{part[2:]}" if _JOINED.fullmatch(part)
                            else "squares are a1 to h8")  # fmt: skip
                return
            squares.append(chess.parse_square(part))
            at += len(part) + 1
        self._used = True
        self._mark(tuple(squares), span)

    def _mark(self, squares: tuple[int, ...], span: tuple[int, int]) -> None:
        kind = self._kind
        if kind in PATH_KINDS:
            if len(squares) < 2 or any(a == b for a, b in zip(squares, squares[1:])):
                self._error("mark-path", span, f"{kind} goes from square to square",
                            f"write {kind} c1-f4")  # fmt: skip
            else:
                self.marks.append(Mark(kind, squares))  # type: ignore[arg-type]
        elif len(squares) != 1:
            self._error("mark-square", span, f"{kind} takes single squares",
                        f"write {kind} d4 e5")  # fmt: skip
        elif kind == "label":
            self._label_square = squares[0]
            self._used = False
        else:
            self._join(kind, squares)

    def _join(self, kind: str | None, squares: tuple[int, ...]) -> None:
        """`key d4 e5` is one mark of two squares."""
        last = self.marks[-1] if self.marks else None
        if last and last.kind == kind:
            self.marks[-1] = Mark(last.kind, last.squares + squares)
        else:
            self.marks.append(Mark(kind, squares))  # type: ignore[arg-type]

    def _error(self, code: str, span: tuple[int, int], message: str, hint: str = "") -> None:
        self.well_formed = False
        self.faults.error(code, self.source.place(*span), message, hint)
