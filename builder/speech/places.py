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
_WINDOW = 6  # words before a cue that belong to it
_EVIDENCE = 30  # words behind it that do
_MOST_TIPS = 60
_SHORT = 4  # half-moves of a line that began with 'if', after which the talk goes on before it
_LEAST = -1.0  # what a place may cost where all that was said fits it


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
        of_the_last = told and cue.cue.kind in ("alternative", "before") and cue.cue.weight > 0.0
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
            return Evidence()
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

    def cost(self, nodes: Nodes, node: int, children: tuple[int, ...]) -> float:
        """How ill the place fits what was said; less than 0 where it fits well. `children` are the
        moves that are known behind it."""
        cost = 0.0
        last = nodes.known[node]
        if self.stands:
            board = nodes.board(node)
            for piece, square in self.stands:
                if board.piece_type_at(square) != piece:
                    cost += 0.6
                elif last.move is not None and last.move.to_square == square:
                    cost -= 0.7
                else:
                    cost -= 0.1
        if last.move is not None and last.move.to_square in self.squares:
            cost -= 0.6
        moves = (nodes.known[child].move for child in children)
        goals = {move.to_square for move in moves if move is not None}
        if goals & set(self.squares):
            cost -= 0.4
        for marked, common in self.marked:
            if marked == node:
                cost -= 0.6 + 0.3 * min(3, common)
        return cost


def jumps(nodes: Nodes, hearing: Hearing, evidence: Evidence, behind: Pending | None = None) -> list[Jump]:  # fmt: skip
    """The places where the next move may be played, the likeliest first; the first is always here.
    `behind` is a cue that stands behind the move."""
    ignored = tuple(_ignored(nodes, hearing))
    here = Jump(hearing.node, ignored, False, sum(cost for _, cost in ignored))
    found = []
    path = nodes.path(hearing.node)
    depth = {node: index for index, node in enumerate(path)}
    cues = [one for one in (*hearing.pending, behind) if one is not None and one.kind in RETURNS]
    main = list(hearing.tree.main())
    for node in _candidates(hearing, path, main, bool(cues)):
        cost, name = _way(nodes, hearing, node, depth.get(node), cues, main, path)
        cost += _numbered(nodes, hearing, node)
        cost = max(_LEAST, cost + evidence.cost(nodes, node, hearing.tree.children[node]))
        found.append(Jump(node, ((name, cost),), True, cost))
    found.sort(key=lambda jump: (jump.cost, jump.node))
    return [here, *found]


def _candidates(hearing: Hearing, path: list[int], main: list[int], cued: bool) -> Iterator[int]:
    seen = {hearing.node}
    tree = hearing.tree
    nearest = path[1:] if cued else [*path[1:5], *path[-1:]]
    marks = [node for _, node in hearing.marks] if cued else []
    tips = list(tree.children)[-_MOST_TIPS:] if cued else []
    branches = [node for node in path[5:] if len(tree.children.get(node, ())) > 1]
    listed = [hearing.listed] if hearing.listed is not None else []
    for node in [*nearest, *listed, *branches[:3], main[-1], *(main if cued else ()), *marks, *tips]:
        if node not in seen and node in tree:
            seen.add(node)
            yield node


def _ignored(nodes: Nodes, hearing: Hearing) -> Iterator[tuple[str, float]]:
    """What it costs to play on here although a way back was told."""
    if any(one.kind == "landed" for one in hearing.pending):
        return
    listed = hearing.listed if hearing.listed != hearing.node else None
    beside = bool(hearing.tree.children[hearing.node])  # A new move here is an alternative already.
    weights = [one.weight for one in hearing.pending if one.kind in RETURNS
               and not (beside and one.kind in ("alternative", "before"))
               and not (one.kind == "list" and listed is None)]  # fmt: skip
    if weights and hearing.node != ROOT:
        yield "return_ignored", max(weights)
    wrong = _numbered(nodes, hearing, hearing.node)
    if wrong:
        yield "move_number", wrong
    corrections = [one.weight for one in hearing.pending if one.kind == "correct"]
    if corrections and hearing.played is not None:
        yield "correction_ignored", 0.6 * max(corrections)


def _numbered(nodes: Nodes, hearing: Hearing, node: int) -> float:
    numbers = {one.number for one in hearing.pending if one.kind == "move_number"}
    numbers.discard(None)
    if not numbers or nodes.board(node).fullmove_number in numbers:
        return 0.0
    return nodes.costs["move_number"]


def _way(nodes: Nodes, hearing: Hearing, node: int, back: int | None, cues: list[Pending],
         main: list[int], path: list[int]) -> tuple[float, str]:  # fmt: skip
    """The cost of the way to a node, `back` half-moves up (None: it is on another line), and its
    name."""
    costs = nodes.costs
    far = costs["jump_step"] * (back or 0)
    if back is None:
        name = "jump_main" if node == main[-1] else "jump_elsewhere"
        uncued = (costs[name], name)
    elif node == hearing.listed and back <= _SHORT:
        uncued = (costs["jump_listed"], "jump_listed")
    elif back == 1:
        uncued = (costs["jump_sibling"], "jump_sibling")
    else:
        uncued = (costs["jump_ancestor"] + far, "jump_ancestor")
    found = [uncued]
    branch = len(hearing.tree.children.get(node, ())) > 0
    for cue in cues:
        weak = max(0.0, 1.2 - cue.weight)
        match cue.kind:
            case "alternative" | "before":
                if back is None:
                    cost = 2.6
                elif back <= 2:
                    cost = 0.15 * back
                else:
                    cost = 0.5 + 0.07 * back
                found.append((cost + 0.7 * weak, "alternative"))
            case "back":
                if back is None:
                    cost = 0.9
                else:
                    cost = 0.6 + 0.02 * back - (0.2 if branch else 0.0)
                found.append((cost + 0.5 * weak, "back"))
            case "main":
                left = next((one for one in path if one in main), ROOT)
                if node == main[-1] and hearing.node not in main:
                    cost = 0.2
                elif node == left:
                    cost = 0.3
                else:
                    cost = 0.9 if node in main else 2.2
                found.append((cost + 0.5 * weak, "main"))
            case "list":
                if node == hearing.listed:
                    found.append((0.15, "list"))
            case "start":
                found.append((0.3 if node == ROOT else 1.2, "start"))
            case "undo":
                found.append((0.3 if back in (1, 2, 4) else 1.5, "undo"))
    return min(found)
