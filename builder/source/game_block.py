"""A `game` block: which game, which part of it, and what the chapter adds to it.

    ```game games/club.pgn#3 from 12 to 30 diagrams 20 31b
    14. {Now the pin tells.} (D "caption" key e5)
    20... Nd5 @the-fork
    ```

In: the block. Out: the game's tokens from its file, with the diagrams and the body's notes woven
in. A move is told by its number, which means White's; with `b` or three dots it means Black's.
The body is movetext in which a number leads to the game's move, and what follows belongs to that
move; a move that is written there must be the game's.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

import chess

from builder.faults import Faults
from builder.model import GameTags, Position
from builder.pgn.games import RawGame
from builder.pgn.tell import Teller
from builder.place import Place, Source
from builder.source.fen import read_fen
from builder.source.game_files import GameFiles, Wanted
from builder.source.game_moves import GameReader
from builder.source.game_weave import At, Weaver
from builder.source.movetext import MovetextReader
from builder.source.scan import Piece
from builder.source.syntax import (
    DiagramOptions, DiagramToken, GameSource, MoveItem, ResultToken, Start,
)  # fmt: skip

_WHICH = re.compile(
    r'\s*(?:"(?P<quoted>[^"]+)"|(?P<file>[^\s#"]+))(?:#(?:(?P<number>\d{1,9})|"(?P<words>[^"]*)"))?(?=\s|$)'
)
_MOVE = re.compile(r"(?P<number>\d{1,4})(?P<side>w|b|\.\.\.|…|\.)?")
_WORDS = ("from", "to", "diagrams", "flip", "small", "large")
# Values of the tag Variant for the game that we know; anything else has other rules.
_ORTHODOX = ("", "standard", "chess", "normal", "orthodox", "from position", "classical")


@dataclass(slots=True)
class _Part:
    """What the info string asks for behind the game's name."""

    begins: At | None = None
    ends: At | None = None
    diagrams: list[At] = field(default_factory=list)
    options: DiagramOptions = DiagramOptions()


@dataclass(frozen=True, slots=True)
class GameBlockReader:
    """Reads the game blocks of a chapter."""

    source: Source
    faults: Faults
    files: GameFiles
    moves: MovetextReader

    def read(self, piece: Piece, rest: int) -> GameSource | None:
        """The block whose info string goes on at `rest`; None after an error that leaves no
        game to be set."""
        end = piece.tail[1]
        place = self.source.place(*piece.tail)
        match = _WHICH.match(self.source.text, rest, end)
        if match is None:
            self.faults.error("game-file", place, "a game block needs a file of games",
                              "write game games/FILE.pgn#1")  # fmt: skip
            return None
        start = match.start() + len(match.group()) - len(match.group().lstrip())
        which = self.source.place(start, match.end())
        number = int(match.group("number")) if match.group("number") else None
        file = match.group("quoted") or match.group("file")
        part = self._part(match.end(), end)
        notes = self.moves.read(*piece.inner)
        raw = self.files.game(Wanted(file, number, match.group("words"), which), self.faults)
        if raw is None:
            return None
        return self._game(raw, part, notes, place)

    # --- the info string ---------------------------------------------------------------------

    def _part(self, start: int, end: int) -> _Part:
        part, word = _Part(), ""
        for match in re.compile(r"\S+").finditer(self.source.text, start, end):
            text, place = match.group(), self.source.place(*match.span())
            at = _at(text, place)
            if text in ("flip", "small", "large"):
                chosen = {"flip": True} if text == "flip" else {"size": text}
                part.options, word = replace(part.options, **chosen), ""
            elif text in _WORDS:
                word = text
            elif at is not None and word == "diagrams":
                part.diagrams.append(at)
            elif at is not None and word == "from" and part.begins is None:
                part.begins = at
            elif at is not None and word == "to" and part.ends is None:
                part.ends = at
            else:
                self.faults.error("block-header", place, f"{text} has no meaning here",
                                  "behind the game stand from 12, to 30, diagrams 20 31b, flip, "
                                  "small, large")  # fmt: skip
        return part

    # --- the game ----------------------------------------------------------------------------

    def _game(self, raw: RawGame, part: _Part, notes: tuple[MoveItem, ...],
              place: Place) -> GameSource | None:  # fmt: skip
        start = self._start(raw)
        if start is None:
            self.faults.error("game-broken", place, "this game can't be set: the position where it "
                              f"begins is told at {raw.place}")  # fmt: skip
            return None
        position = start.position or Position(chess.Board())
        tell = Teller(raw.place.file, self.faults)
        items = GameReader(raw, tell, position.ply_number).read()
        self._check_result(raw, items, tell)
        broken = tell.errors > 0
        woven = Weaver(items, position.ply_number, self.faults)
        if not woven.moves and not broken:
            self.faults.error("game-empty", place, f"game {raw.number} of {raw.place.file} has no "
                              "moves", f"it begins at {raw.place}")  # fmt: skip
            return None
        for at in part.diagrams:
            woven.put(at, DiagramToken(part.options, at.place))
        woven.put_notes(notes)
        begins = woven.index(part.begins) if part.begins else None
        ends = woven.index(part.ends) if part.ends else None
        if begins is not None and ends is not None and ends < begins:
            self.faults.error("game-number", part.ends.place if part.ends else place,
                              "the part ends before it begins")  # fmt: skip
        return GameSource(
            start=start,
            items=woven.items(begins, ends),
            tags=GameTags(tuple((tag.name, tag.value) for tag in raw.tags)),
            begins=begins,
            cut=ends is not None and ends < len(woven.moves) - 1,
            file=raw.place.file,
            broken=broken,
            place=place,
        )

    def _start(self, raw: RawGame) -> Start | None:
        """None where the game begins at no position of chess, which is told at the tag."""
        tags = {tag.name: tag for tag in raw.tags}
        variant = tags.get("Variant")
        if variant is not None and variant.value.lower() not in _ORTHODOX:
            self.faults.error("pgn-variant", variant.place,
                              f"this game is played by other rules ({variant.value[:40]})")
            return None
        fen = tags.get("FEN")
        if fen is None:
            return Start()
        position = read_fen(fen.value, fen.place, self.faults)
        return Start(position=position, place=fen.place) if position else None

    def _check_result(self, raw: RawGame, items: tuple[MoveItem, ...], tell: Teller) -> None:
        """The tag and the movetext tell the same result (8.1.1.7)."""
        tag = next((tag for tag in raw.tags if tag.name == "Result"), None)
        found = next((item for item in items if isinstance(item, ResultToken)), None)
        if tag is None:
            return
        if found is None and tag.value not in ("*", "?", ""):
            end = len(raw.movetext.text.rstrip())
            tell.warning("pgn-end", raw.movetext.place(max(0, end - 1)),
                         "the moves end without the result that the tags give",
                         "the file may have been cut off")  # fmt: skip
        elif found is not None and found.text != tag.value:
            tell.warning("pgn-result", found.place,
                         f"the moves end with {found.text}, the tags tell {tag.value or 'nothing'}")


def _at(text: str, place: Place) -> At | None:
    match = _MOVE.fullmatch(text)
    if match is None or not int(match.group("number")):
        return None
    return At(int(match.group("number")), match.group("side") in (None, "w", "."), place)
