"""Movetext to a tree of moves.

The grammar is the PGN standard's (section 8.2 with the import format's freedoms), and what real
files add to it: passes, UCI moves, zeros in castling, signs in print. Levels of nesting are on a
list, not on Python's stack. A move that can't be played ends its variation; the rest goes on.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import chess

from builder.book.explain import explain_move
from builder.intake.levels import Level, Told
from builder.intake.remarks import Remarks, add_words
from builder.intake.tree import MoveTree, Node, adopt
from builder.model import Position
from builder.pgn.nags import SIGN_NAGS
from builder.pgn.tell import Stretch, Teller
from builder.pgn.tokens import MOVE_LIKE, TOKEN, plain_san, uci_move

MOST_MOVES = 200_000  # of one file's trees
MOST_DEPTH = 2_000  # variations in one another
MOST_GAME_MOVES = 100_000

@dataclass(slots=True)
class Budget:
    """How many moves may still be read, how many plies of a line are wanted, and how many of a
    game's main moves beyond those that are known."""

    moves: int = MOST_MOVES
    plies: int = 1 << 30
    fresh: int = 1 << 30


@dataclass(frozen=True, slots=True)
class Movetext:
    """A game's tree, its result, and where in the text it ended; `whole` unless a bound cut it."""

    tree: MoveTree
    result: str
    end: int
    whole: bool


@dataclass(frozen=True, slots=True)
class Known:
    """The first moves of a game where they are known already, as nodes of another tree, and the
    offset behind them; `root` is that tree's."""

    nodes: tuple[Node, ...]
    end: int
    root: Node | None = None


def play(text: Stretch, known: Known, start: Position, own: bool, tell: Teller,
         budget: Budget) -> Movetext:  # fmt: skip
    """Reads a game's movetext, from behind what is known of it to its result.

    `own` tells that a booklet's marks stand in the comments.
    """
    player = _Player(text, start, own, tell, budget)
    player.begin(known)
    return player.play(known.end)


class _Player:
    def __init__(self, text: Stretch, start: Position, own: bool, tell: Teller,
                 budget: Budget) -> None:  # fmt: skip
        self.text = text
        self.told = Told(text, tell)
        self.budget = budget
        self.tree = MoveTree.at(start)
        self.tree.root.games = 1
        self.board = start.board()
        self.waiting: list[chess.Move] = []  # moves that are not on the board yet
        self.last_ply = start.ply_number + budget.plies
        self.known: Node | None = None  # where the main moves have come to in the known tree
        self.fresh = budget.fresh
        self.remarks = Remarks(self.told, own, self.last_ply)
        self.levels = [Level(self.tree.root)]
        self.hidden = 0  # variations that are passed over and still open
        self.count = 0
        self.result = ""
        self.full = False

    def begin(self, known: Known) -> None:
        """Puts known moves in front; the board follows when it is needed."""
        level = self.levels[0]
        self.known = known.nodes[-1] if known.nodes else known.root
        for node in known.nodes:
            assert node.move is not None
            self.waiting.append(node.move)
            level.before, level.last = level.last, adopt(
                level.last, Node(node.move, node.san, node.ply, games=1)
            )
        level.pushed = len(known.nodes)

    def _follow(self) -> None:
        """Brings the board to the moves that have been read."""
        for move in self.waiting:
            self.board.push(move)
        self.waiting.clear()

    def play(self, at: int) -> Movetext:
        text = self.text.text
        while at < len(text) and not self.full:
            match = TOKEN.match(text, at)
            assert match is not None and match.lastgroup is not None  # `stray` takes the rest
            if self.result and match.lastgroup not in ("space", "comment", "rest", "result"):
                break
            at = match.end()
            self._take(match.lastgroup, match)
        self._end()
        end = len(text) if self.full else at
        return Movetext(self.tree, self.result, end, not self.full)

    def _take(self, kind: str, match: re.Match[str]) -> None:
        text, level = match.group(), self.levels[-1]
        if self.hidden and kind != "result":
            self.hidden += (kind == "open") - (kind == "close")
            return
        match kind:
            case "space":
                pass
            case "comment":
                if not text.endswith("}"):
                    self.told.error("comment-open", match.start(), match.start() + 1,
                                    "this comment is never closed", "put } at its end")  # fmt: skip
                self._comment(text[1:].removesuffix("}"), match.start(), level)
            case "rest":
                self._comment(text[1:], match.start(), level)
            case "open":
                self._open(match.start(), level)
            case "close":
                self._close(match.start())
            case "nag":
                self.remarks.nag(text, match, level)
            case "suffix":
                self.remarks.suffix(text, match, level)
            case "sign":
                self.remarks.add_nag(SIGN_NAGS[text], match, level)
            case "result":
                self._result(text, match)
            case "number":
                self._number(text, match, level)
            case "san" | "castling" | "passing":
                self._move(text, match, level)
            case _:
                self._word(text, match, level)

    # --- moves -------------------------------------------------------------------------------

    def _move(self, text: str, match: re.Match[str], level: Level) -> None:
        if level.silent:
            return
        if level.last.ply >= self.last_ply:
            level.silent = True
            # Nothing wanted can follow: variations behind replace moves that are too late.
            self.full = len(self.levels) == 1
            return
        self._follow()
        san = plain_san(text)
        move = self._read(san, match, level)
        if move is None or not self._is_wanted(move):
            level.silent = True
            return
        parent = level.last
        self.board.push(move)
        node = Node(move, san, parent.ply + 1, before=tuple(level.opening), games=1)
        there = adopt(parent, node)
        level.opening = []
        level.before, level.last = parent, there
        level.pushed += 1
        if there is node:
            self._count(match)

    def _is_wanted(self, move: chess.Move) -> bool:
        """Whether a main move is known, or among the first that aren't."""
        if len(self.levels) > 1:
            return True
        self.known = self.known.child(move) if self.known is not None else None
        self.fresh -= self.known is None
        self.full = self.full or self.fresh < 0
        return not self.full

    def _read(self, san: str, match: re.Match[str], level: Level) -> chess.Move | None:
        """The move, or None after an error."""
        if match.lastgroup == "passing":
            if not self.board.is_check():
                return chess.Move.null()
            self.told.error("pass-check", *match.span(), f"a side in check can't pass{level.after}")
            return None
        try:
            return self.board.parse_san(san)
        except ValueError as error:
            move = uci_move(san, self.board)
            if move is None and not self.told.tell.hears_errors:
                self.told.error("move-illegal", *match.span(), "")  # It is counted.
            elif move is None:
                told = explain_move(san, self.board, error)
                self.told.error(told.code, *match.span(), f"{told.message}{level.after}", told.hint)
            return move

    def _count(self, match: re.Match[str]) -> None:
        self.count += 1
        self.budget.moves -= 1
        for over, most, what in (
            (self.count >= MOST_GAME_MOVES, MOST_GAME_MOVES, "this game has"),
            (self.budget.moves <= 0, MOST_MOVES, "the file has"),
        ):
            if over and not self.full:
                self.full = True
                self.told.error("pgn-large", *match.span(),
                                f"{what} more than {most:,} moves; the rest is left out",
                                "import a part: --games 1-20, --plies 30")  # fmt: skip

    # --- nesting -----------------------------------------------------------------------------

    def _open(self, at: int, level: Level) -> None:
        if level.is_left_out(self.last_ply):
            self.hidden = 1
        elif level.before is None:
            self.hidden = 1
            self.told.error("variation-place", at, at + 1, "this variation replaces no move",
                            "a variation stands behind the move that it replaces")  # fmt: skip
        elif len(self.levels) > MOST_DEPTH:
            self.hidden = 1
            self.told.error("pgn-large", at, at + 1,
                            f"variations are nested more than {MOST_DEPTH:,} deep; what is deeper is "
                            "left out")  # fmt: skip
        else:
            self._follow()
            self.levels.append(Level(level.before, at))
            self.board.pop()
            level.pushed -= 1

    def _close(self, at: int) -> None:
        if len(self.levels) == 1:
            self.told.error("variation-close", at, at + 1, "no variation is open here",
                            "take the ) away")  # fmt: skip
            return
        level = self.levels.pop()
        outer = self.levels[-1]
        for _ in range(level.pushed):
            self.board.pop()
        assert outer.last.move is not None
        self.board.push(outer.last.move)
        outer.pushed += 1
        if not level.written:
            add_words(outer.last, level.opening)
            if not level.silent:
                self.told.warning("variation-empty", level.opened_at, at + 1,
                                  "this variation has no moves")  # fmt: skip

    def _comment(self, raw: str, at: int, level: Level) -> None:
        self.remarks.comment(raw, at, level, outermost=len(self.levels) == 1)

    # --- numbers, results, words -------------------------------------------------------------

    def _number(self, text: str, match: re.Match[str], level: Level) -> None:
        """A number that is wrong is told; the moves count."""
        if level.silent:
            return
        digits = re.match(r"\d+", text)
        assert digits is not None
        dots = 3 if "…" in text else text.count(".")
        number, black = divmod(level.last.ply, 2)
        right = int(digits.group()[:9]) == number + 1
        if not right or (dots > 1 and not black) or (dots == 1 and black):
            expected = f"{number + 1}{'...' if black else '.'}"
            self.told.warning("move-number", match.start(), match.start() + len(text.rstrip()),
                              f"move number {text.strip()[:12]} is wrong{level.after}",
                              f"it should be {expected}")  # fmt: skip

    def _result(self, text: str, match: re.Match[str]) -> None:
        if len(self.levels) > 1:
            self.told.leave("results inside variations are left out", *match.span())
        else:
            self.result = self.result or {"1/2": "1/2-1/2", "½-½": "1/2-1/2"}.get(text, text)

    def _word(self, text: str, match: re.Match[str], level: Level) -> None:
        """A word that looks like a move ends the line; any other is passed over."""
        if level.silent or text in ("e.p.", "ep"):
            return
        if MOVE_LIKE.match(text):
            self.told.error("move-syntax", *match.span(), f"{text[:40]} is not a move{level.after}",
                            "moves are written with English letters: K Q R B N")  # fmt: skip
            level.silent = True
        else:
            self.told.warning("pgn-text", *match.span(),
                              f"{text[:40]} has no meaning here, and is left out",
                              "words stand in braces")  # fmt: skip

    # --- the end -----------------------------------------------------------------------------

    def _end(self) -> None:
        opened = len(self.levels) - 1 + self.hidden
        if len(self.levels) > 1 and not self.full:
            more = f", nor are {opened - 1:,} inside it" if opened > 1 else ""
            at = self.levels[1].opened_at
            self.told.error("variation-open", at, at + 1, f"this variation is never closed{more}",
                            "put ) at its end")  # fmt: skip
