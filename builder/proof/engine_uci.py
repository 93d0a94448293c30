"""What an engine says: UCI as `chess.engine` reads it, with ears for what a broken engine says,
bounds for how much, and the rules of chess to hold it against.
"""

from __future__ import annotations

import re

import chess
import chess.engine

from builder.proof.engine_answers import Answer, FoundLine, Score

LONGEST_LINE = 1 << 20  # bytes that an engine may say without a line end
MOST_CP = 100_000  # more centipawns than that are no score


class Nonsense(Exception):
    """An answer that the rules of chess or of UCI refuse."""


class UciEars(chess.engine.UciProtocol):
    """UCI, with ears for what a broken engine says and bounds for how much.

    `heard` is the last line that was said, `last_words` the last on the error stream.
    """

    def __init__(self) -> None:
        super().__init__()
        self.heard = ""
        self.last_words = ""

    def pipe_data_received(self, fd: int, data: bytes | str) -> None:
        super().pipe_data_received(fd, data)
        if len(self.buffer[fd]) > LONGEST_LINE:
            self.buffer[fd].clear()
            raise Nonsense("a line without an end")

    def error_line_received(self, line: str) -> None:
        self.last_words = plain(line) or self.last_words

    def _line_received(self, line: str) -> None:
        self.heard = plain(line) or self.heard
        # A line for the millionth best move would fill the memory.
        if not re.search(r"\bmultipv\s+\+?\d{4}", line):
            super()._line_received(line)


class Heard:
    """The lines heard during a search, the last of each rank and of each first move."""

    def __init__(self, board: chess.Board) -> None:
        self.board = board
        self.ranks: dict[int, chess.engine.InfoDict] = {}
        self.moves: dict[chess.Move, chess.engine.InfoDict] = {}

    def take(self, info: chess.engine.InfoDict) -> None:
        """Bounds are no scores: they count only where nothing better is said."""
        if "score" not in info or not info.get("pv"):
            return
        bound = "lowerbound" in info or "upperbound" in info
        rank, move = info.get("multipv", 1), info["pv"][0]
        if not bound or rank not in self.ranks:
            self.ranks[rank] = info
        if not bound or move not in self.moves:
            self.moves[move] = info

    def answer(self, best: chess.Move | None, lines: int) -> Answer:
        """The answer, once the best move is told. Raises Nonsense."""
        if best is None or best not in self.board.legal_moves:
            raise Nonsense("it knows no move, where there are some")
        if best not in self.moves:
            raise Nonsense(f"it plays {self.board.san(best)} without a line and a score")
        infos = {best: self.moves[best]}
        for rank in sorted(self.ranks):
            infos.setdefault(self.ranks[rank]["pv"][0], self.ranks[rank])
        found = [self._line(info) for info in list(infos.values())[:lines]]
        # A stable sort: the best move stays in front of its equals.
        first, rest = found[0], found[1:]
        rest.sort(key=lambda line: -line.score.pawns(self.board.turn))
        return Answer((first, *rest), max(0, infos[best].get("depth", 0)))

    def _line(self, info: chess.engine.InfoDict) -> FoundLine:
        moves = tuple(info["pv"])
        if any(not move for move in moves):
            raise Nonsense("its line holds a move that is none")
        score = info["score"].white()
        mate = score.mate()
        if mate is None:
            centipawns = score.score()
            if centipawns is None or abs(centipawns) > MOST_CP:
                raise Nonsense(f"a score of {centipawns} centipawns")
            return FoundLine(moves, Score(centipawns))
        if mate == 0:
            raise Nonsense("a mate in 0 where the game goes on")
        self._check_mate(moves, abs(mate), by_white=mate > 0)
        return FoundLine(moves, Score.mate(abs(mate), by_white=mate > 0))

    def _check_mate(self, moves: tuple[chess.Move, ...], count: int, by_white: bool) -> None:
        """A mate whose line is told to its end must stand there; lines may be cut short."""
        plies = 2 * count - (1 if by_white == self.board.turn else 0)
        if len(moves) < plies:
            return
        end = self.board.copy(stack=False)
        for move in moves[:plies]:
            end.push(move)
        if not end.is_checkmate():
            raise Nonsense(f"a mate in {count} that is none")


def plain(text: str) -> str:
    """Somebody else's text for a message: one line, printable, not long."""
    text = " ".join("".join(char if char.isprintable() else " " for char in text).split())
    return text if len(text) <= 120 else text[:119] + "…"
