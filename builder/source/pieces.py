"""Our pieces in a chapter, each to its node: those in the prose here, blocks in `fences.py`.

In: pieces that `builder.source.scan` found. Out: nodes of `builder.source.syntax`.
"""

from __future__ import annotations

import re
from dataclasses import replace

from builder.faults import Faults
from builder.model import Emphasis, Text
from builder.place import Source
from builder.source.claims import parse_claim
from builder.source.fences import FenceReader
from builder.source.files import BookletFiles
from builder.source.game_block import GameBlockReader
from builder.source.game_files import GameFiles
from builder.source.headers import HeaderReader
from builder.source.markdown import make_markdown
from builder.source.movetext import NAME, MovetextReader
from builder.source.options import parse_options
from builder.source.prose import ProseReader
from builder.source.scan import Piece
from builder.source.syntax import (
    Block, ClaimSource, DiagramSource, Inline, MovesSource, MoveToken, NagToken, NumberToken,
    PositionSource, Start,
)  # fmt: skip

MOST_DEPTH = 20
_LINE_PREFIX = re.compile(rf"({NAME}):\s*")
_DIAGRAM_NAME = re.compile(rf"\s*@({NAME})")


class PieceReader:
    """Reads one chapter's pieces; `prose` and `moves` read what is inside them."""

    def __init__(self, source: Source, files: BookletFiles, games: GameFiles,
                 faults: Faults) -> None:  # fmt: skip
        self.source = source
        self.faults = faults
        self.prose = ProseReader(source, faults, files, make_markdown(), self.read)
        self.moves = MovetextReader(source, faults, self.inlines)
        self._depth = 0  # of pieces in one another
        self.fences = FenceReader(
            source, faults, HeaderReader(source, faults), self.prose, self.moves,
            GameBlockReader(source, faults, games, self.moves),
        )  # fmt: skip

    def read(self, piece: Piece) -> Block | Inline | None:
        """The node of a piece; None when nothing can be made of it (a fault was told)."""
        match piece.kind:
            case "fence":
                return self.fences.read(piece)
            case "moves":
                return self._moves(piece)
            case "position":
                name = self.source.text[piece.inner[0] + 1 : piece.inner[1]]
                return PositionSource(name, None, self.source.place(*piece.inner))
            case "link":
                return self._link(piece)
            case "claim":
                return self._claim(piece)
            case "silent":
                return self._silent_claim(piece)
            case "diagram":
                return self._diagram_in_prose(piece)

    def inlines(self, start: int, end: int) -> tuple[Inline, ...]:
        """The words inside a piece, in which further pieces may stand."""
        if self._depth == MOST_DEPTH:
            self.faults.error("brackets-deep", self.source.place(start, end),
                              f"brackets stand in one another, more than {MOST_DEPTH} deep",
                              "close each bracket before the next one opens")  # fmt: skip
            return ()
        self._depth += 1
        found = self.prose.inlines(start, end)
        self._depth -= 1
        return found

    def _moves(self, piece: Piece) -> MovesSource | Text:
        """Moves, if all of the bracket parses; else the text as it stands, with a warning."""
        text = self.source.text
        start, end = piece.inner
        named = _LINE_PREFIX.match(text, start, end)
        line = named.group(1) if named else None
        trial = Faults()
        moves = MovetextReader(self.source, trial, self.inlines)
        items = moves.read(named.end() if named else start, end)
        only_moves = all(isinstance(item, NumberToken | MoveToken | NagToken) for item in items)
        if trial.has_errors or not only_moves or not any(isinstance(i, MoveToken) for i in items):
            place = self.source.place(piece.start, piece.end)
            if any(isinstance(item, MoveToken) and item.text for item in items):
                first = next(iter(trial.sorted()), None)
                self.faults.warning(
                    "moves-plain", first.place if first else place,
                    "this bracket looks like moves but can't be read as such: it stays text",
                    first.message if first else "only move numbers, moves and signs may stand in it",
                )  # fmt: skip
            return Text(text[piece.start : piece.end])
        return MovesSource(line, items, self.source.place(start, end))  # type: ignore[arg-type]

    def _words(self, piece: Piece) -> tuple[Inline, ...]:
        """The words in a bracket; moves if they are moves."""
        start, end = piece.inner
        if re.match(r"\d+\s*(?:\.|…)", self.source.text[start:end]):
            trial = Faults()
            items = MovetextReader(self.source, trial, self.inlines).read(start, end)
            if not trial.has_errors and all(
                isinstance(item, NumberToken | MoveToken | NagToken) for item in items
            ):
                return (MovesSource(None, items, self.source.place(start, end)),)  # type: ignore
        return self.inlines(start, end)

    def _link(self, piece: Piece) -> Inline:
        words = self.inlines(*piece.inner)
        start, end = piece.tail
        target = self.source.text[start:end].strip()
        place = self.source.place(start, end)
        if not re.fullmatch(rf"@{NAME}", target):
            self.faults.error("position-link", place, f"{target} is not a position's name",
                              "write [words](@name)")  # fmt: skip
            return Emphasis(words)  # type: ignore[arg-type]
        return PositionSource(target[1:], words or None, place)

    def _claim(self, piece: Piece) -> ClaimSource:
        words = self._words(piece)
        start, end = piece.tail
        if start < 0:
            place = self.source.place(piece.end - 1, piece.end)
            self.faults.error("claim-open", place, "this claim is never closed",
                              "put } at its end")  # fmt: skip
            return ClaimSource(words, None, "", place)
        text = self.source.text[start:end]
        claim = parse_claim(text, self.source, start, self.faults)
        return ClaimSource(words, claim, " ".join(text.split()), self.source.place(start, end))

    def _silent_claim(self, piece: Piece) -> ClaimSource:
        """`{% claim %}` in the prose or a comment: it prints nothing there either."""
        text = self.source.text[slice(*piece.inner)]
        claim = parse_claim(text, self.source, piece.inner[0], self.faults)
        place = self.source.place(piece.start, piece.end)
        return ClaimSource((), claim, " ".join(text.split()), place)

    def _diagram_in_prose(self, piece: Piece) -> DiagramSource | None:
        """`![caption](@name options)`."""
        start, end = piece.tail
        match = _DIAGRAM_NAME.match(self.source.text, start, end)
        place = self.source.place(piece.start, piece.end)
        if match is None:
            self.faults.error("position-link", self.source.place(start, end),
                              "a position's name must stand here",
                              "write ![caption](@name)")  # fmt: skip
            return None
        options, _ = parse_options(self.source, match.end(), end, self.faults, self.inlines)
        if self.source.text[slice(*piece.inner)].strip():
            options = replace(options, caption=self.inlines(*piece.inner))
        named = Start(name=match.group(1),
                      place=self.source.place(match.start(1) - 1, match.end(1)))  # fmt: skip
        return DiagramSource(named, options, place)
