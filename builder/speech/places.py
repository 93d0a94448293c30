"""Where in the tree a speaker may have returned to, and what speaks for it.

Nobody says where he is. He says that he goes back ('returning to the key position', 'going back to
move six', 'what if instead'), and perhaps what stands there; then he plays on. So a way back is
settled when a move comes that must be played somewhere: each earlier place costs as much as what
was said makes it unlikely.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from builder.speech.costs import Costs, total
from builder.speech.meanings import Meanings
from builder.speech.tree import ROOT, Nodes

if TYPE_CHECKING:
    from builder.speech.hearings import Hearing

RETURNS = ("alternative", "back", "main", "start", "undo", "before", "list")
_WAITING = RETURNS + ("move_number", "correct")
_OLD = 45  # words after which a cue is forgotten
_WEAK_OLD = 14  # the same for one that says little
_MOST_PENDING = 5
_FULL = 2.2
_PLAIN = 1.2  # the weight of a cue that tells plainly of a way back
_WINDOW = 6  # words before a cue that belong to it
_EVIDENCE = 30  # words behind it that do
_RECENT = 20  # words in front of a move that tell of where it is played without any cue
_MOST_TIPS = 60
_SHORT = 4  # half-moves of a line that began with 'if', after which the talk goes on before it


@dataclass(frozen=True, slots=True)
class Pending:
    """A cue that waits for a move: `weight` is what it costs to play on as if it hadn't been."""

    kind: str
    weight: float
    start: int
    end: int
    number: int | None


@dataclass(frozen=True, slots=True)
class Jump:
    """A place where the next move may be played, and what that costs."""

    node: int
    costs: tuple[tuple[str, float], ...]
    moved: bool
    cost: float


def pending_after(pending: tuple[Pending, ...], meanings: Meanings, at: int,
                  told: bool) -> tuple[Pending, ...]:  # fmt: skip
    """What waits when the word `at` has been heard. `told` tells that a move was said just before
    it: 'he castles instead' speaks of that move, not of the next."""
    found = list(pending)
    for cue in meanings.cues[at]:
        of_the_last = told and cue.cue.behind
        if cue.cue.kind in _WAITING and not of_the_last:
            share = max(0.0, 1.0 - meanings.plans[at] / _FULL)
            found.append(Pending(cue.cue.kind, cue.cue.weight * share, cue.start, cue.end, cue.number))  # fmt: skip
    if not found:
        return pending
    young = [one for one in found
             if at - one.start <= (_OLD if one.weight > 0.6 else _WEAK_OLD)]  # fmt: skip
    return tuple(young[-_MOST_PENDING:])


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was said of a place between the cue for it and a move.

    `stands` are pieces (type and square), `squares` bare ones, `marked` the nodes that were named
    by the same words before, with how many of them.
    """

    stands: tuple[tuple[int, int], ...] = ()
    squares: tuple[int, ...] = ()
    marked: tuple[tuple[int, int], ...] = ()

    @staticmethod
    def before(meanings: Meanings, hearing: Hearing) -> Evidence:
        cues = [one for one in hearing.pending if one.kind in ("back", "main", "start")]
        if not cues:
            return Evidence(_recently_said(meanings, hearing))
        first = max(cue.start for cue in cues)
        begin, end = first, min(hearing.at, first + _EVIDENCE)
        stands, squares = meanings.said(begin, end)
        words = meanings.rare(max(0, begin - _WINDOW), end)
        marked: dict[int, int] = {}
        for at, node in hearing.marks:
            if at < begin - _WINDOW:
                common = len(words & meanings.rare(at - 4, at + 8))
                if common:
                    marked[node] = max(common, marked.get(node, 0))
        return Evidence(stands, squares, tuple(marked.items()))

    def denied(self, nodes: Nodes, node: int) -> Iterator[tuple[str, float]]:
        """The pieces that do not stand at the place where they were said to."""
        if self.stands:
            board = nodes.board(node)
            for piece, square in self.stands:
                if board.piece_type_at(square) != piece:
                    yield "stands_not", 1.0

    def described(self, nodes: Nodes, hearing: Hearing) -> Iterator[int]:
        """The places to which a piece that was named on its square went last: 'with the bishop on g7,
        White …'."""
        for node in hearing.tree.children if self.stands else ():
            last = nodes.known[node]
            if node != hearing.node and last.move is not None and (last.piece, last.move.to_square) in self.stands:
                yield node

    def costs(self, nodes: Nodes, node: int, children: tuple[int, ...]) -> Iterator[tuple[str, float]]:
        """How the place fits what was said. `children` are the moves that are known behind it."""
        if not (self.stands or self.squares or self.marked):
            return
        last = nodes.known[node]
        if self.stands:
            board = nodes.board(node)
            for piece, square in self.stands:
                if board.piece_type_at(square) != piece:
                    yield "stands_not", 1.0
                elif last.move is not None and last.move.to_square == square:
                    yield "stands_last", 1.0
                else:
                    yield "stands", 1.0
        if last.move is not None and last.move.to_square in self.squares:
            yield "square_last", 1.0
        moves = (nodes.known[child].move for child in children)
        goals = {move.to_square for move in moves if move is not None}
        if goals & set(self.squares):
            yield "square_next", 1.0
        for marked, common in self.marked:
            if marked == node:
                yield "marked", 1.0
                yield "marked_words", min(3.0, common)


def _recently_said(meanings: Meanings, hearing: Hearing) -> tuple[tuple[int, int], ...]:
    """The pieces that were named on a square since the last move: without any cue for a way back they
    stand there, where the talk goes on. What is named behind 'instead of' doesn't."""
    if any(one.kind in ("before", "landed") for one in hearing.pending):
        return ()
    last = hearing.played.mention.end if hearing.played is not None else 0
    stands, _ = meanings.said(max(last, hearing.at - _RECENT), hearing.at)
    return stands


def jumps(nodes: Nodes, hearing: Hearing, evidence: Evidence, behind: Pending | None = None,
          lost: bool = False, within: bool = False) -> list[Jump]:  # fmt: skip
    """The places where the next move may be played, the likeliest first; the first is always here.
    `behind` is a cue that stands behind the move; `lost` tells that it can't be played here,
    `within` that no sentence has ended since the last one."""
    weights = nodes.costs
    ignored = (*_ignored(nodes, hearing), *evidence.denied(nodes, hearing.node))
    here = Jump(hearing.node, ignored, False, total(ignored, weights))
    found = []
    path = nodes.path(hearing.node)
    depth = {node: index for index, node in enumerate(path)}
    cues = [one for one in (*hearing.pending, behind) if one is not None and one.kind in RETURNS]
    main = list(hearing.tree.main())
    described = () if cues else tuple(evidence.described(nodes, hearing))
    for node in dict.fromkeys((*_candidates(hearing, path, main, bool(cues) or lost), *described)):
        ways = list(_ways(hearing, node, depth.get(node), cues, main, path, within, node in described))
        way = min(ways, key=lambda way: total(way, weights)) if cues else ways[0]
        costs = (*way, *_numbered(nodes, hearing, node),
                 *evidence.costs(nodes, node, hearing.tree.children[node]))  # fmt: skip
        cost = total(costs, weights)
        if cost < weights["place_least"]:
            costs, cost = (("place_least", 1.0),), weights["place_least"]
        found.append(Jump(node, costs, True, cost))
    found.sort(key=lambda jump: (jump.cost, jump.node))
    return [here, *found]


def numbered(nodes: Nodes, hearing: Hearing, number: int) -> Iterator[Jump]:
    """The places on the way here, and on the main line, where a move of this number comes next."""
    costs: Costs = (("jump_numbered", 1.0),)
    cost = total(costs, nodes.costs)
    for node in dict.fromkeys((*nodes.path(hearing.node), *hearing.tree.main())):
        if node != hearing.node and nodes.fullmove_number(node) == number:
            yield Jump(node, costs, True, cost)


def _candidates(hearing: Hearing, path: list[int], main: list[int], cued: bool) -> Iterator[int]:
    seen = {hearing.node}
    tree = hearing.tree
    cued = cued or any(one.kind == "move_number" for one in hearing.pending)
    nearest = path[1:] if cued else [*path[1:5], *path[-1:]]
    marks = [node for _, node in hearing.marks] if cued else []
    tips = list(tree.children)[-_MOST_TIPS:] if cued else []
    branches = [node for node in path[5:] if len(tree.children.get(node, ())) > 1]
    for node in [*nearest, *hearing.listed, *branches[:3], main[-1], *(main if cued else ()), *marks, *tips]:
        if node not in seen and node in tree:
            seen.add(node)
            yield node


def _ignored(nodes: Nodes, hearing: Hearing) -> Iterator[tuple[str, float]]:
    """What it costs to play on here although a way back was told."""
    if any(one.kind == "landed" for one in hearing.pending):
        return
    listed = any(node != hearing.node for node in hearing.listed)
    beside = bool(hearing.tree.children[hearing.node])  # A new move here is an alternative already.
    weights = [one.weight for one in hearing.pending if one.kind in RETURNS
               and not (beside and one.kind in ("alternative", "before"))
               and not (one.kind == "list" and not listed)]  # fmt: skip
    if weights and hearing.node != ROOT:
        yield "return_ignored", max(weights)
    yield from _numbered(nodes, hearing, hearing.node)
    corrections = [one.weight for one in hearing.pending if one.kind == "correct"]
    if corrections and hearing.played is not None:
        yield "correction_ignored", max(corrections)


def _numbered(nodes: Nodes, hearing: Hearing, node: int) -> Costs:
    numbers = {one.number for one in hearing.pending if one.kind == "move_number"}
    numbers.discard(None)
    if not numbers or nodes.fullmove_number(node) in numbers:
        return ()
    return (("move_number", 1.0),)


def _ways(hearing: Hearing, node: int, back: int | None, cues: list[Pending], main: list[int],
          path: list[int], within: bool, described: bool) -> Iterator[Costs]:  # fmt: skip
    """What each way to a node costs; it is `back` half-moves up, or (None) on another line."""
    inner = ("jump_within", 1.0 if within else 0.0)
    if described:
        yield (("jump_described", 1.0), ("jump_step", float(back or 0)))
    elif back is None:
        yield (("jump_main" if node == main[-1] else "jump_elsewhere", 1.0), inner)
    elif node in hearing.listed and back <= _SHORT:
        yield (("jump_listed", 1.0), inner)
    elif back == 1:
        yield (("jump_sibling", 1.0), inner)
    else:
        yield (("jump_ancestor", 1.0), ("jump_step", float(back)), inner)
    for cue in cues:
        way = _cued(hearing, node, back, cue.kind, main, path)
        if way:
            yield (*way, (f"{cue.kind}_weak", max(0.0, _PLAIN - cue.weight)))


def _cued(hearing: Hearing, node: int, back: int | None, kind: str, main: list[int],
          path: list[int]) -> Costs:  # fmt: skip
    """What a way costs that was told; empty where the cue doesn't tell of this one."""
    steps = float(back or 0)
    match kind:
        case "alternative" | "before":
            if back is None:
                return ((f"{kind}_elsewhere", 1.0),)
            if back <= 2:
                return ((f"{kind}_near", steps),)
            return ((f"{kind}_far", 1.0), (f"{kind}_step", steps))
        case "back":
            if back is None:
                return (("back_elsewhere", 1.0),)
            branch = ("back_branch", 1.0) if hearing.tree.children.get(node) else ("back_step", 0.0)
            return (("back_up", 1.0), ("back_step", steps), branch)
        case "main":
            left = next((one for one in path if one in main), ROOT)
            if node == main[-1] and hearing.node not in main:
                return (("main_end", 1.0),)
            if node == left:
                return (("main_left", 1.0),)
            return (("main_within" if node in main else "main_other", 1.0),)
        case "list":
            if node not in hearing.listed:
                return ()
            return (("list_begun", 1.0), ("list_outer", len(hearing.listed) - 1.0 - hearing.listed.index(node)))
        case "start":
            return (("start_root" if node == ROOT else "start_other", 1.0),)
        case "undo":
            return (("undo_moves" if back in (1, 2, 4) else "undo_other", 1.0),)
    return ()
