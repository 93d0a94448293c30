"""Which replies the booklet leaves unanswered.

In: the model, the booklet's games where there are any, and what is often played in openings. Out:
for every position of the tree where the other side moves and the booklet goes on, the replies that
it does not answer: the most played of the games first, then those that are often played elsewhere,
then by force (checks, captures, threats), as a reader would look at them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import chess

from builder.model import Booklet, Chapter, Ply, Position, PositionKey, position_key
from builder.model.counts import GameCounts
from builder.proof.exchange import exchange
from builder.proof.walk import Step, steps

# A reply that forces nothing and that nobody is known to play is not a gap but one of thirty moves.
FORCE_WORDS = ("check", "capture", "threat")


@dataclass(frozen=True, slots=True)
class Reply:
    """A move that the booklet doesn't answer.

    `games` of those that had the position went on with it. `share` tells how often the book of
    openings plays it, 0 where that isn't often. `force` is `check`, `capture`, `threat`, or empty.
    `score` is the engine's opinion in pawns from the replying side's view, None where it wasn't
    asked.
    """

    move: chess.Move
    san: str
    games: int
    share: float
    force: str
    score: float | None = None


@dataclass(frozen=True, slots=True)
class Gap:
    """A position with unanswered replies.

    `ply` is the move that reaches it in the booklet (None: the start), where an answer may be
    added; `games` had the position, `covered` of them went on as the booklet does.
    """

    chapter: Chapter = field(repr=False)
    ply: Ply | None
    position: Position
    games: int
    covered: int
    replies: tuple[Reply, ...]

    @property
    def weight(self) -> int:
        """Games that leave the booklet here; one that ended here doesn't."""
        return sum(reply.games for reply in self.replies)

    @property
    def share(self) -> float:
        """How often the book of openings leaves the booklet here."""
        return sum(reply.share for reply in self.replies)


@dataclass(frozen=True, slots=True)
class Coverage:
    """Of `games` that reached a position after `ply` half-moves, `stayed` went on in it."""

    ply: int
    games: int
    stayed: int


@dataclass(frozen=True, slots=True)
class GapReport:
    gaps: tuple[Gap, ...]
    coverage: tuple[Coverage, ...]
    games: int


@dataclass(slots=True)
class _Node:
    """A position where the other side moves: how it is reached, and what is answered."""

    position: Position
    ply: Ply | None
    chapter: Chapter
    answered: set[chess.Move]


def find_gaps(
    booklet: Booklet,
    counts: GameCounts,
    score: Callable[[Position, chess.Move], float | None] = lambda position, move: None,
    often: Callable[[Position], Mapping[chess.Move, float]] = lambda position: {},
) -> GapReport:
    """The gaps, those that most games fall into first, and the coverage ply by ply.

    `score` gives the engine's opinion of a move where one is kept, `often` the moves that are often
    played in a position, with their shares.
    """
    looked = [_look(booklet, node, counts, score, often) for node in _nodes(booklet).values()]
    gaps = sorted((gap for gap in looked if gap.replies), key=_rank)
    return GapReport(tuple(gaps), _coverage(looked), counts.games)


def _nodes(booklet: Booklet) -> dict[PositionKey, _Node]:
    """The positions where the other side moves and the booklet goes on from."""
    found: dict[PositionKey, _Node] = {}
    for step in steps(booklet):
        if not _is_reply(step) or not _covered_tree(step):
            continue
        key = step.ply.before.key
        node = found.get(key)
        if node is None:
            node = found[key] = _Node(step.ply.before, step.ply.parent, step.chapter, set())
        node.answered.add(step.ply.move)
    return found


def _is_reply(step: Step) -> bool:
    """Whether the side that the chapter doesn't speak for moves; both sides' do for 'both'."""
    side = step.chapter.side
    return side == "both" or step.ply.by_white != (side == "white")


def _covered_tree(step: Step) -> bool:
    """Whether the booklet's side came here by its own recommendations."""
    if step.ply.is_pass:
        return False
    if step.chapter.side == "both":
        return True
    return (step.chapter.side == "white") not in step.against


def _look(booklet: Booklet, node: _Node, counts: GameCounts,
          score: Callable[[Position, chess.Move], float | None],
          often: Callable[[Position], Mapping[chess.Move, float]]) -> Gap:  # fmt: skip
    """What is answered and what isn't at one position; without replies it is no gap."""
    board = node.position.board()
    tally = counts.at(node.position.key)
    shares = often(node.position)
    replies = []
    covered = 0
    for move in list(board.legal_moves):
        played = tally.played(move).games
        if move in node.answered or _reaches(booklet, board, move):
            covered += played
            continue
        share = shares.get(move, 0.0)
        force = _force(board, move)
        if played or share or force:
            opinion = score(node.position, move)
            replies.append(Reply(move, board.san(move), played, share, force, opinion))
    replies.sort(key=_reply_rank)
    return Gap(node.chapter, node.ply, node.position, tally.games, covered, tuple(replies))


def _reaches(booklet: Booklet, board: chess.Board, move: chess.Move) -> bool:
    """Whether the move comes to a position that the booklet has by another way."""
    board.push(move)
    reached = position_key(board) in booklet.reached
    board.pop()
    return reached


def _force(board: chess.Board, move: chess.Move) -> str:
    """What makes a reply one to look at: a check, a capture that loses nothing by exchange, or an
    attack by the moved piece on one of more value or on one that nothing protects."""
    if board.gives_check(move):
        return "check"
    if board.is_capture(move):
        taken = exchange(board, move)
        return "capture" if taken is not None and taken.value >= 0 else ""
    mover = board.turn
    board.push(move)
    threat = any(_threatens(board, move.to_square, target, mover)
                 for target in board.attacks(move.to_square))  # fmt: skip
    board.pop()
    return "threat" if threat else ""


_VALUES = (0, 1, 3, 3, 5, 9, 100)


def _threatens(board: chess.Board, square: int, target: int, mover: bool) -> bool:
    piece = board.piece_at(target)
    attacker = board.piece_type_at(square)
    if piece is None or attacker is None or piece.color == mover:
        return False
    if _VALUES[piece.piece_type] > _VALUES[attacker]:
        return True
    return piece.piece_type != chess.PAWN and not board.attackers(not mover, target)


def _reply_rank(reply: Reply) -> tuple[int, float, float, int, str]:
    force = FORCE_WORDS.index(reply.force) if reply.force else len(FORCE_WORDS)
    score = reply.score if reply.score is not None else -99.0
    return (-reply.games, -reply.share, -score, force, reply.san)


def _rank(gap: Gap) -> tuple[int, float, tuple[float, int], int, tuple[int, int]]:
    first = _reply_rank(gap.replies[0])
    place = gap.ply.place if gap.ply else None
    where = (place.line, place.column) if place else (0, 0)
    return (-gap.weight, -gap.share, first[2:4], gap.chapter.number, where)


def _coverage(looked: list[Gap]) -> tuple[Coverage, ...]:
    """By half-moves played: games at the booklet's positions, and how many of them stayed."""
    games: dict[int, int] = {}
    stayed: dict[int, int] = {}
    for gap in looked:
        ply = gap.position.ply_number
        games[ply] = games.get(ply, 0) + gap.games
        stayed[ply] = stayed.get(ply, 0) + gap.covered
    return tuple(Coverage(ply, games[ply], stayed[ply]) for ply in sorted(games) if games[ply])
