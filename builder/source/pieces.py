"""Our pieces in a chapter, each to its node.

In: pieces that `builder.source.scan` found. Out: nodes of `builder.source.syntax`.
"""

from __future__ import annotations

import re

import chess

from builder.faults import Faults
from builder.model import Emphasis, Position, Text
from builder.place import Place, Source
from builder.source.claims import parse_claim
from builder.source.files import BookletFiles
from builder.source.game_block import GameBlockReader
from builder.source.game_files import GameFiles
from builder.source.movetext import NAME, MovetextReader
from builder.source.options import parse_options
from builder.source.prose import ProseReader, make_markdown
from builder.source.scan import Piece
from builder.source.syntax import (
    Block, ClaimSource, DiagramSource, ExerciseSource, Inline, LineSource, MoveToken, MovesSource,
    NagToken, NumberToken, PlayedSource, PositionSource, Start, TableSource,
)  # fmt: skip

_START = re.compile(
    rf'\s*(?P<id>(?!from\b){NAME})?\s*(?:(?P<from>from)\b\s*(?:@(?P<name>{NAME})|"(?P<fen>[^"]*)")?)?'
)
_FIELD = re.compile(r"^[ \t>]*(task|hint|solution):", re.M)


class PieceReader:
    """Reads one chapter's pieces; `prose` and `moves` read what is inside them."""

    def __init__(self, source: Source, files: BookletFiles, games: GameFiles,
                 faults: Faults) -> None:  # fmt: skip
        self.source = source
        self.faults = faults
        self.prose = ProseReader(source, faults, files, make_markdown(), self.read)
        self.moves = MovetextReader(source, faults, self.prose.inlines)
        self.games = GameBlockReader(source, faults, games, self.moves, read_fen)

    def read(self, piece: Piece) -> Block | Inline | None:
        """The node of a piece; None when nothing can be made of it (a fault was told)."""
        match piece.kind:
            case "fence":
                return self._fence(piece)
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

    # --- fenced blocks -----------------------------------------------------------------------

    def _fence(self, piece: Piece) -> Block | None:
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

    def _line(self, piece: Piece, rest: int) -> LineSource:
        header = self._header(rest, piece.tail[1])
        if header.end < piece.tail[1]:
            self._stray(header.end, piece.tail[1], "after line stand its name and from …")
        items = self.moves.read(*piece.inner)
        place = self.source.place(*piece.tail)
        if not any(isinstance(item, MoveToken) for item in items):
            self.faults.warning("line-empty", place, "this line has no moves")
        return LineSource(header.given_id, header.start, items, place)

    def _diagram(self, piece: Piece, rest: int) -> DiagramSource | None:
        """The options may go on in the block's body."""
        text, end = self.source.text, piece.tail[1]
        match = _POSITION.match(text, rest, end)
        place = self.source.place(*piece.tail)
        if match is None:
            self.faults.error("diagram-start", place, "a diagram block needs a position",
                              'write diagram @NAME or diagram "FEN"')  # fmt: skip
            return None
        start = self._start(match)
        stop = piece.inner[1] if text[slice(*piece.inner)].strip() else end
        options, _ = parse_options(self.source, match.end(), stop, self.faults,
                                   self.prose.inlines)  # fmt: skip
        return DiagramSource(start, options, place) if start else None

    def _exercise(self, piece: Piece, rest: int) -> ExerciseSource:
        header = self._header(rest, piece.tail[1])
        options, _ = parse_options(self.source, header.end, piece.tail[1], self.faults,
                                   self.prose.inlines)  # fmt: skip
        place = self.source.place(*piece.tail)
        if header.given_id is None:
            self.faults.error("exercise-id", place, "an exercise needs a name",
                              "write exercise e1 from @NAME")  # fmt: skip
        fields = self._fields(piece)
        task = self.prose.blocks(*fields["task"], footnotes=False)[0] if "task" in fields else ()
        hint = self.prose.blocks(*fields["hint"], footnotes=False)[0] if "hint" in fields else ()
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
        match = re.compile(rf"\s*(?P<line>{NAME})?").match(self.source.text, rest, end)
        assert match is not None
        if self.source.text[match.end() : end].strip():
            self._stray(match.end(), end, "after table stands the name of a line, or nothing")
        self._no_body(piece, "a table block has nothing inside: it is made from the line")
        return TableSource(match.group("line"), self.source.place(*piece.tail))

    def _played(self, piece: Piece, rest: int) -> PlayedSource | None:
        """`played @NAME` or `played "FEN"`."""
        end = piece.tail[1]
        match = _POSITION.match(self.source.text, rest, end)
        if match is None:
            self.faults.error("played-start", self.source.place(*piece.tail),
                              "a played block needs a position", "write played @NAME")  # fmt: skip
            return None
        if self.source.text[match.end() : end].strip():
            self._stray(match.end(), end, "after played stands a position")
        self._no_body(piece, "a played block has nothing inside: the games tell it")
        start = self._start(match)
        return PlayedSource(start, self.source.place(*piece.tail)) if start else None

    def _no_body(self, piece: Piece, message: str) -> None:
        body = self.source.text[slice(*piece.inner)]
        if body.strip(" \t\n>"):
            first = piece.inner[0] + len(body) - len(body.lstrip(" \t\n>"))
            self._stray(first, self.source.text.find("\n", first), message)

    def _fields(self, piece: Piece) -> dict[str, tuple[int, int]]:
        """The spans of the exercise's parts in its body."""
        found: dict[str, tuple[int, int]] = {}
        matches = list(_FIELD.finditer(self.source.text, *piece.inner))
        first = matches[0].start() if matches else piece.inner[1]
        if self.source.text[piece.inner[0] : first].strip(" \t\n>"):
            at = piece.inner[0]
            line_end = self.source.text.find("\n", at)
            self._stray(at, line_end, "the parts of an exercise begin with task:, hint:, solution:")
        for index, match in enumerate(matches):
            end = matches[index + 1].start() if index + 1 < len(matches) else piece.inner[1]
            if match.group(1) in found:
                self.faults.error("exercise-field", self.source.place(*match.span(1)),
                                  f"this exercise has two of {match.group(1)}")  # fmt: skip
            found[match.group(1)] = (match.end(), end)
        return found

    def _header(self, start: int, end: int) -> _Header:
        """`ID from @NAME` or `ID from "FEN"`, each part optional."""
        match = _START.match(self.source.text, start, end)
        assert match is not None
        found: Start | None = Start()
        if match.group("from"):
            found = self._start(match)
            if match.group("name") is None and match.group("fen") is None:
                self.faults.error("line-start", self.source.place(*match.span("from")),
                                  "from needs a position",
                                  'write from @NAME or from "FEN"')  # fmt: skip
        at = match.end()
        while at < end and self.source.text[at].isspace():
            at += 1
        return _Header(match.group("id"), found or Start(broken=True), at)

    def _start(self, match: re.Match[str]) -> Start | None:
        """Where to start from a match with the groups `name` and `fen`."""
        if match.group("name") is not None:
            at = match.start("name")
            place = self.source.place(at - 1, match.end("name"))
            return Start(name=match.group("name"), place=place)
        if match.group("fen") is None:
            return None  # Told by the caller, who knows what was to stand here.
        place = self.source.place(*match.span("fen"))
        position = read_fen(match.group("fen"), place, self.faults)
        return Start(position=position, place=place) if position else None

    def _stray(self, start: int, end: int, hint: str) -> None:
        text = self.source.text[start:end].strip()
        self.faults.error("block-header", self.source.place(start, end),
                          f"{text} has no meaning here", hint)  # fmt: skip

    # --- in the prose ------------------------------------------------------------------------

    def _moves(self, piece: Piece) -> MovesSource | Text:
        """Moves, if all of the bracket parses; else the text as it stands, with a warning."""
        text = self.source.text
        start, end = piece.inner
        named = re.compile(rf"({NAME}):\s*").match(text, start, end)
        line = named.group(1) if named else None
        trial = Faults()
        moves = MovetextReader(self.source, trial, self.prose.inlines)
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
            items = MovetextReader(self.source, trial, self.prose.inlines).read(start, end)
            if not trial.has_errors and all(
                isinstance(item, NumberToken | MoveToken | NagToken) for item in items
            ):
                return (MovesSource(None, items, self.source.place(start, end)),)  # type: ignore
        return self.prose.inlines(start, end)

    def _link(self, piece: Piece) -> Inline:
        words = self.prose.inlines(*piece.inner)
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
        match = re.compile(rf"\s*@(?P<name>{NAME})(?P<fen>\b\B)?").match(self.source.text, start, end)
        place = self.source.place(piece.start, piece.end)
        if match is None:
            self.faults.error("position-link", self.source.place(start, end),
                              "a position's name must stand here",
                              "write ![caption](@name)")  # fmt: skip
            return None
        options, _ = parse_options(self.source, match.end(), end, self.faults, self.prose.inlines)
        if self.source.text[slice(*piece.inner)].strip():
            from dataclasses import replace

            options = replace(options, caption=self.prose.inlines(*piece.inner))
        return DiagramSource(self._start(match) or Start(), options, place)


class _Header:
    """A block's name, start, and the offset behind them."""

    __slots__ = ("given_id", "start", "end")

    def __init__(self, given_id: str | None, start: Start, end: int) -> None:
        self.given_id, self.start, self.end = given_id, start, end


_POSITION = re.compile(rf'\s*(?:@(?P<name>{NAME})|"(?P<fen>[^"]*)")')

# What `chess.Board.status` finds, in words an author can act on.
_STATUS = (
    (chess.STATUS_NO_WHITE_KING, "White has no king"),
    (chess.STATUS_NO_BLACK_KING, "Black has no king"),
    (chess.STATUS_TOO_MANY_KINGS, "a side has more than one king"),
    (chess.STATUS_TOO_MANY_WHITE_PAWNS, "White has more than eight pawns"),
    (chess.STATUS_TOO_MANY_BLACK_PAWNS, "Black has more than eight pawns"),
    (chess.STATUS_PAWNS_ON_BACKRANK, "a pawn stands on the first or last rank"),
    (chess.STATUS_TOO_MANY_WHITE_PIECES, "White has more than sixteen pieces"),
    (chess.STATUS_TOO_MANY_BLACK_PIECES, "Black has more than sixteen pieces"),
    (chess.STATUS_BAD_CASTLING_RIGHTS, "a castling right without king and rook at home"),
    (chess.STATUS_INVALID_EP_SQUARE, "no pawn can just have passed the en-passant square"),
    (chess.STATUS_OPPOSITE_CHECK, "the side that is not to move is in check"),
    (chess.STATUS_EMPTY, "the board is empty"),
    (chess.STATUS_TOO_MANY_CHECKERS, "no move can give so many checks"),
    (chess.STATUS_IMPOSSIBLE_CHECK, "no move can give these checks"),
)


def read_fen(text: str, place: Place, faults: Faults) -> Position | None:
    """The position of a FEN; what is wrong with it is an error at `place`."""
    try:
        board = chess.Board(" ".join(text.split()))
    except ValueError as error:
        faults.error("fen", place, f"not a FEN: {error}"[:200],
                     "six fields: placement, side, castling, en passant, clocks")  # fmt: skip
        return None
    status = board.status()
    for flag, words in _STATUS:
        if status & flag:
            faults.error("fen", place, f"no such position can stand in a game: {words}")
            return None
    return Position(board)
