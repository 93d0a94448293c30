"""Our fenced blocks, each to its node: lines, diagrams, exercises, games, tables.

In: a fence that `builder.source.scan` found. Out: a node of `builder.source.syntax`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from builder.faults import Faults, did_you_mean
from builder.place import Source
from builder.source.game_block import GameBlockReader
from builder.source.headers import HeaderReader
from builder.source.movetext import NAME, MovetextReader
from builder.source.options import CURLY, parse_options
from builder.source.prose import ProseReader
from builder.source.scan import Piece
from builder.source.syntax import (
    Block, DiagramSource, ExerciseSource, LineSource, MoveToken, PlayedSource, TableSource,
)  # fmt: skip

_PARTS = ("task", "hint", "solution")
_FIELD = re.compile(rf"^[ \t>]*({'|'.join(_PARTS)}):", re.M)
_WORD = re.compile(r"^[ \t>]*(\w+):", re.M)
_BLANK = re.compile(r"\n[ \t>]*\n(?=[ \t>]*\S)")
_LINE_NAME = re.compile(rf"\s*(?P<line>{NAME})?")


@dataclass(frozen=True, slots=True)
class FenceReader:
    """Reads one chapter's blocks; `prose`, `moves` and `games` read what is inside them."""

    source: Source
    faults: Faults
    headers: HeaderReader
    prose: ProseReader
    moves: MovetextReader
    games: GameBlockReader

    def read(self, piece: Piece) -> Block | None:
        """The node of a fence whose first word is one of ours; None after an error that leaves
        nothing to be made."""
        if not piece.closed:
            piece = self._cut(piece)
        info_at, info_end = piece.tail
        word = self.source.text[info_at:info_end].split(None, 1)[0]
        rest = info_at + len(word)
        match word:
            case "line":
                return self._line(piece, rest)
            case "diagram":
                return self._diagram(piece, rest)
            case "game":
                return self.games.read(piece, rest)
            case "table":
                return self._table(piece, rest)
            case "played":
                return self._played(piece, rest)
        return self._exercise(piece, rest)

    def _cut(self, piece: Piece) -> Piece:
        """A block that is never closed takes all that follows; what stands behind a blank line was
        hardly meant to be in it."""
        start, end = piece.inner
        blank = _BLANK.search(self.source.text, start, end)
        if blank is None:
            return piece
        self.faults.error("fence-open", self.source.place(*piece.tail), "this block is never closed",
                          "put a line ``` behind it")  # fmt: skip
        return replace(piece, inner=(start, blank.start()))

    def _line(self, piece: Piece, rest: int) -> LineSource:
        header = self.headers.header(rest, piece.tail[1])
        if header.end < piece.tail[1]:
            self.headers.stray(header.end, piece.tail[1], "after line stand its name and from …")
        items = self.moves.read(*piece.inner)
        place = self.source.place(*piece.tail)
        if not any(isinstance(item, MoveToken) for item in items):
            self.faults.warning("line-empty", place, "this line has no moves")
        return LineSource(header.given_id, header.start, items, place)

    def _diagram(self, piece: Piece, rest: int) -> DiagramSource | None:
        """The options may go on in the block's body."""
        end = piece.tail[1]
        header = self.headers.position(rest, end)
        place = self.source.place(*piece.tail)
        if header is None:
            curly = any(char in CURLY for char in self.source.text[rest:end])
            self.faults.error("diagram-start", place, "a diagram block needs a position",
                              "write straight quotation marks round the FEN" if curly
                              else 'write diagram @NAME or diagram "FEN"')  # fmt: skip
            return None
        stop = piece.inner[1] if self.source.text[slice(*piece.inner)].strip() else end
        options, _ = parse_options(self.source, header.end, stop, self.faults,
                                   self.prose.inlines)  # fmt: skip
        return None if header.start.broken else DiagramSource(header.start, options, place)

    def _exercise(self, piece: Piece, rest: int) -> ExerciseSource:
        header = self.headers.header(rest, piece.tail[1])
        options, _ = parse_options(self.source, header.end, piece.tail[1], self.faults,
                                   self.prose.inlines)  # fmt: skip
        place = self.source.place(*piece.tail)
        if header.given_id is None:
            self.faults.error("exercise-id", place, "an exercise needs a name",
                              "write exercise e1 from @NAME")  # fmt: skip
        fields = self._fields(piece)
        task = self.prose.blocks(*fields["task"]) if "task" in fields else ()
        hint = self.prose.blocks(*fields["hint"]) if "hint" in fields else ()
        solution = self.moves.read(*fields["solution"]) if "solution" in fields else ()
        for name, remedy in (("task", "task: White to move."), ("solution", "solution: 7. Qe2")):
            if name not in fields:
                self.faults.error("exercise-field", place, f"this exercise has no {name}",
                                  f"write {remedy}")  # fmt: skip
        return ExerciseSource(header.given_id or "exercise", header.start, options, task, hint,
                              solution, place)  # fmt: skip

    def _table(self, piece: Piece, rest: int) -> TableSource:
        """`table LINE`; without a line it is the whole booklet's."""
        end = piece.tail[1]
        match = _LINE_NAME.match(self.source.text, rest, end)
        assert match is not None
        if self.source.text[match.end() : end].strip():
            self.headers.stray(match.end(), end, "after table stands the name of a line, or nothing")
        self._no_body(piece, "a table block has nothing inside: it is made from the line")
        return TableSource(match.group("line"), self.source.place(*piece.tail))

    def _played(self, piece: Piece, rest: int) -> PlayedSource | None:
        """`played @NAME` or `played "FEN"`."""
        end = piece.tail[1]
        header = self.headers.position(rest, end)
        if header is None:
            self.faults.error("played-start", self.source.place(*piece.tail),
                              "a played block needs a position", "write played @NAME")  # fmt: skip
            return None
        if self.source.text[header.end : end].strip():
            self.headers.stray(header.end, end, "after played stands a position")
        self._no_body(piece, "a played block has nothing inside: the games tell it")
        if header.start.broken:
            return None
        return PlayedSource(header.start, self.source.place(*piece.tail))

    def _no_body(self, piece: Piece, message: str) -> None:
        body = self.source.text[slice(*piece.inner)]
        if body.strip(" \t\n>"):
            first = piece.inner[0] + len(body) - len(body.lstrip(" \t\n>"))
            self.headers.stray(first, self.source.text.find("\n", first), message)

    def _tell_near(self, piece: Piece) -> None:
        """A part with a slip in its name would be printed as words of the part before it."""
        for match in _WORD.finditer(self.source.text, *piece.inner):
            near = did_you_mean(match.group(1).lower(), _PARTS)
            if match.group(1) not in _PARTS and near:
                self.faults.warning("exercise-field", self.source.place(*match.span(1)),
                                    f"{match.group(1)}: begins no part of an exercise", near)  # fmt: skip

    def _fields(self, piece: Piece) -> dict[str, tuple[int, int]]:
        """The spans of the exercise's parts in its body."""
        found: dict[str, tuple[int, int]] = {}
        matches = list(_FIELD.finditer(self.source.text, *piece.inner))
        first = matches[0].start() if matches else piece.inner[1]
        if self.source.text[piece.inner[0] : first].strip(" \t\n>"):
            at = piece.inner[0]
            line_end = self.source.text.find("\n", at)
            self.headers.stray(at, line_end,
                               "the parts of an exercise begin with task:, hint:, solution:")
        self._tell_near(piece)
        for index, match in enumerate(matches):
            end = matches[index + 1].start() if index + 1 < len(matches) else piece.inner[1]
            if match.group(1) in found:
                self.faults.error("exercise-field", self.source.place(*match.span(1)),
                                  f"this exercise has two of {match.group(1)}")  # fmt: skip
            found[match.group(1)] = (match.end(), end)
        return found
