"""Which replies the booklet leaves unanswered.

In: the model, the booklet's games where there are any, and what is often played in openings. Out:
for every position of the tree where the other side moves and the booklet goes on, the replies that
it does not answer: first those that a reader is likeliest to meet, more so where the engine finds
them good; then by force (checks, captures, threats), as a reader would look at them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import chess

from builder.model import Booklet, Chapter, Ply, Position, PositionKey, position_key
from builder.model.counts import GameCounts, Tally
from builder.openings.book import Played
from builder.proof.exchange import exchange
from builder.proof.fact import VALUES
from builder.proof.likely import ENOUGH, Habits, Way, reached
from builder.proof.walk import Step, steps

# A move is often played from this share on: a reader meets it once in twenty games.
OFTEN = 0.05
# So many pawns make a side's points ten times the other's (Chess Programming Wiki, "Pawn Advantage, Win
# Percentage, and Elo").
PAWNS_TENFOLD = 4
# A reply that forces nothing and that nobody is known to play is not a gap but one of thirty moves.
FORCE_WORDS = ("check", "capture", "threat")


@dataclass(frozen=True, slots=True)
class Reply:
    """A move that the booklet doesn't answer.

    A reader meets it in the part `chance` of the games that are played by the booklet. `games` of
    those that had the position went on with it. `share` tells how often the book of openings plays
    it, 0 where that isn't often. `force` is `check`, `capture`, `threat`, or empty. `score` is the
    engine's opinion in pawns from the replying side's view, None where it wasn't asked.
    """

    move: chess.Move
    san: str
    chance: float
    games: int
    share: float
    force: str
    score: float | None = None

    @property
    def harm(self) -> float:
        """What it may cost, in points, over all games: a reply that wins counts in full, one that
        loses next to nothing, and half where the engine wasn't asked."""
        return self.chance / (1 + 10 ** -((self.score or 0.0) / PAWNS_TENFOLD))


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
    def chance(self) -> float:
        """The part of the games played by the booklet that leave it here."""
        return sum(reply.chance for reply in self.replies)


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


@dataclass(frozen=True, slots=True)
class _Looked:
    """What was played at a node, and which replies come into the booklet; the others are `left`."""

    node: _Node
    tally: Tally
    book: Played
    habits: Habits
    inside: Mapping[chess.Move, PositionKey]
    left: tuple[chess.Move, ...]

    def ways(self) -> Iterator[Way]:
        for move, key in self.inside.items():
            yield Way(self.node.position.key, key, self.habits.share(move))

    def often(self, move: chess.Move) -> float:
        """The book's share of a move that it plays often, else 0."""
        share = self.book.shares.get(move, 0.0)
        return share if self.book.count >= ENOUGH and share >= OFTEN else 0.0


def find_gaps(
    booklet: Booklet,
    counts: GameCounts,
    score: Callable[[Position, chess.Move], float | None] = lambda position, move: None,
    book: Callable[[Position], Played] = lambda position: Played({}, 0),
) -> GapReport:
    """The gaps, those that may cost a reader most first, and the coverage ply by ply.

    `score` gives the engine's opinion of a move where one is kept, `book` what the book of openings
    counts in a position.
    """
    looked = [_look(booklet, node, counts, book) for node in _nodes(booklet).values()]
    ways = [*_own_ways(booklet), *(way for one in looked for way in one.ways())]
    reach = reached(ways, _starts(booklet, ways))
    gaps = [_gap(one, reach.get(one.node.position.key, 0.0), score) for one in looked]
    ranked = sorted((gap for gap in gaps if gap.replies), key=_rank)
    return GapReport(tuple(ranked), _coverage(gaps), counts.games)


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


def _own_ways(booklet: Booklet) -> Iterator[Way]:
    """The moves of the booklet's own side: a reader plays what it recommends."""
    for step in steps(booklet):
        if not _is_reply(step) and _covered_tree(step):
            yield Way(step.ply.before.key, step.ply.after.key, 1.0)


def _starts(booklet: Booklet, ways: Iterable[Way]) -> set[PositionKey]:
    """Where a reader's games begin: at the initial position, and wherever a line is set up that no
    other leads to."""
    led_to = {way.end for way in ways}
    begun = {line.start.key for chapter in booklet.chapters for line in chapter.lines}
    return {key for key in begun if key not in led_to} | {position_key(chess.Board())}


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
          book: Callable[[Position], Played]) -> _Looked:  # fmt: skip
    tally, known = counts.at(node.position.key), book(node.position)
    board = node.position.board()
    inside: dict[chess.Move, PositionKey] = {}
    left = []
    for move in list(board.legal_moves):
        board.push(move)
        key = position_key(board)
        board.pop()
        # It may come to a position that the booklet has by another way.
        if move in node.answered or key in booklet.reached:
            inside[move] = key
        else:
            left.append(move)
    played = {move: known.shares.get(move, 0.0) * known.count + tally.played(move).games
              for move in (*inside, *left)}  # fmt: skip
    habits = Habits(played, frozenset(inside))
    return _Looked(node, tally, known, habits, inside, tuple(left))


def _gap(looked: _Looked, reach: float, score: Callable[[Position, chess.Move], float | None]) -> Gap:
    """The replies at one position that are worth a look; without any it is no gap."""
    node, board = looked.node, looked.node.position.board()
    replies = []
    for move in looked.left:
        played, share, force = looked.tally.played(move).games, looked.often(move), _force(board, move)
        if played or share or force:
            chance, opinion = reach * looked.habits.share(move), score(node.position, move)
            replies.append(Reply(move, board.san(move), chance, played, share, force, opinion))
    replies.sort(key=_reply_rank)
    covered = sum(looked.tally.played(move).games for move in looked.inside)
    return Gap(node.chapter, node.ply, node.position, looked.tally.games, covered, tuple(replies))


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


def _threatens(board: chess.Board, square: int, target: int, mover: bool) -> bool:
    piece = board.piece_at(target)
    attacker = board.piece_type_at(square)
    if piece is None or attacker is None or piece.color == mover:
        return False
    if attacker != chess.KING and VALUES[piece.piece_type] > VALUES[attacker]:
        return True
    return piece.piece_type != chess.PAWN and not board.attackers(not mover, target)


def _reply_rank(reply: Reply) -> tuple[float, float, int, str]:
    force = FORCE_WORDS.index(reply.force) if reply.force else len(FORCE_WORDS)
    score = reply.score if reply.score is not None else -99.0
    return (-reply.harm, -score, force, reply.san)


def _rank(gap: Gap) -> tuple[float, float, int, int, tuple[int, int]]:
    _, score, force, _ = _reply_rank(gap.replies[0])
    place = gap.ply.place if gap.ply else None
    where = (place.line, place.column) if place else (0, 0)
    return (-sum(reply.harm for reply in gap.replies), score, force, gap.chapter.number, where)


def _coverage(looked: list[Gap]) -> tuple[Coverage, ...]:
    """By half-moves played: games at the booklet's positions, and how many of them stayed."""
    games: dict[int, int] = {}
    stayed: dict[int, int] = {}
    for gap in looked:
        ply = gap.position.ply_number
        games[ply] = games.get(ply, 0) + gap.games
        stayed[ply] = stayed.get(ply, 0) + gap.covered
    return tuple(Coverage(ply, games[ply], stayed[ply]) for ply in sorted(games) if games[ply])
