"""The best hearing to a chapter: its moves with the words between them, and notes where it is
unsure.

The words between two moves stand behind the first as a comment, those that lead to a variation in
front of it. Each bears its time in an HTML comment, which readers don't see. `TODO` stands in the
text, so that nobody can miss it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from builder.intake.drafts import tree_drafts
from builder.intake.tree import MoveTree
from builder.intake.tree import Node as TreeNode
from builder.intake.words import escaped
from builder.intake.writing import Draft
from builder.model import Position
from builder.pgn.words import clean
from builder.speech.claims import HeardClaim, claims_in
from builder.speech.doubts import Judged, label
from builder.speech.meanings import Meanings
from builder.speech.places import RETURNS
from builder.speech.hearings import MISSED, PLAYED, UNHEARD, Event, Hearing
from builder.speech.transcripts import clock
from builder.speech.tree import ROOT, Nodes
from builder.speech.utterance import END

_LEAST_WORDS = 3  # that say something, for a remark to be kept
_LEADING = 4  # words behind the last sentence that may only lead to the next move
_MISSED = 2.3  # what leaving a mention cost, for the author to be told
TODO = "**TODO**"


@dataclass(slots=True)
class Written:
    """The chapters, and what was told of in them."""

    drafts: list[Draft]
    claims: list[HeardClaim] = field(default_factory=list)
    missed: list[Judged] = field(default_factory=list)
    todos: int = 0


@dataclass(slots=True)
class _Text:
    """Remarks by node, behind it and in front of it."""

    behind: dict[int, list[str]] = field(default_factory=dict)
    before: dict[int, list[str]] = field(default_factory=dict)


def write_chapter(title: str, meanings: Meanings, nodes: Nodes, best: Hearing,
                  events: Sequence[Judged]) -> Written:  # fmt: skip
    """The chapter of a hearing (several where it is too large for one)."""
    return _Chapter(meanings, nodes, best, events).written(title)


class _Chapter:
    def __init__(self, meanings: Meanings, nodes: Nodes, best: Hearing,
                 events: Sequence[Judged]) -> None:  # fmt: skip
        self.meanings = meanings
        self.nodes = nodes
        self.best = best
        self.events = events
        self.hanging = {one.event.node for one in events if one.hangs}
        self.text = _Text()
        self.claims: list[HeardClaim] = []
        self.missed: list[Judged] = []
        self.todos = 0

    def written(self, title: str) -> Written:
        self._remarks()
        tree = self._tree()
        draft = Draft(title, is_draft=True, is_ready=True)
        drafts = tree_drafts(draft, tree)
        return Written(drafts, self.claims, self.missed, self.todos)

    # --- moves -----------------------------------------------------------------------------------

    def _tree(self) -> MoveTree:
        tree = MoveTree.at(Position(self.nodes.board(ROOT)))
        tree.root.after = tuple(self.text.behind.get(ROOT, ()))
        todo = [(ROOT, tree.root)]
        while todo:
            node, parent = todo.pop()
            for index, child in enumerate(self.best.tree.children[node]):
                known = self.nodes.known[child]
                made = TreeNode(known.move, "", known.ply)
                before = tuple(self.text.before.get(child, ()))
                if index == 0 and before:
                    parent.after, before = (*parent.after, *before), ()
                made.before, made.after = before, tuple(self.text.behind.get(child, ()))
                parent.children.append(made)
                todo.append((child, made))
        return tree

    # --- words -----------------------------------------------------------------------------------

    def _remarks(self) -> None:
        """Gives every stretch of words to the move behind which, or before which, it was said."""
        at, node = 0, ROOT
        for judged in self.events:
            event = judged.event
            if event.kind == UNHEARD and event.is_new:
                self._note(event.node, self._unheard(event))
            if event.kind != PLAYED:
                continue
            turn = self._turn(at, event.mention.start) if event.jumped else event.mention.start
            self._add(self.text.behind, node, at, turn, node)
            target = self.text.before if event.is_new and event.jumped else self.text.behind
            self._add(target, event.node if target is self.text.before else node, turn,
                      event.mention.start, None)  # fmt: skip
            node, at = event.node, event.mention.end
            if judged.is_unsure:
                self._note(node, self._doubt(judged))
            elif event.is_new and self._hangs_first(judged):
                self._note(node, f"{clock(self.meanings.words[event.mention.start].time)} this and what "
                                 "follows hang on moves that are unsure")  # fmt: skip
        self._add(self.text.behind, node, at, len(self.meanings.words), node)
        self._tell_missed()

    def _turn(self, start: int, end: int) -> int:
        """The first word that leads away: where the cue for a way back stands."""
        for at in range(start, end):
            if any(cue.cue.kind in RETURNS and cue.cue.weight > 0.6 for cue in self.meanings.cues[at]):
                return at
        return end

    def _add(self, into: dict[int, list[str]], key: int, start: int, end: int,
             node: int | None) -> None:  # fmt: skip
        """Adds the words between two as a remark; claims in them are of the position `node`."""
        start, end = self._trimmed(start, end)
        words = self.meanings.words
        telling = [word for word in words[start:end] if not self.meanings.lexicon.knows(word.text)]
        if len(telling) < _LEAST_WORDS:
            return
        claims: list[HeardClaim] = []
        if node is not None:
            claims = list(claims_in(self.meanings, start, end, self.nodes.board(node)))
        self.claims += claims
        text = "".join(self._with_claims(start, end, claims)).strip()
        text = text[:1].upper() + text[1:]
        into.setdefault(key, []).append(f"{text}{_time(words[start].time)}")
        for claim in claims:
            if claim.truth:
                said = self._said(claim.start, claim.end)
                time = clock(words[claim.start].time)
                self._note(key, f"{time} heard {said}: {escaped(clean(claim.truth))}")

    def _trimmed(self, start: int, end: int) -> tuple[int, int]:
        """Without what only led to a move ('White continues'), and without the words at both ends
        that say nothing by themselves; sentences keep their beginnings."""
        words = self.meanings.words
        hearing = self.meanings.hearing
        stops = [at + 1 for at in range(start, end) if words[at].stop == END]
        if stops and 0 < end - stops[-1] <= _LEADING:
            end = stops[-1]
        while start < end and not (start == 0 or words[start - 1].stop == END) and _is_little(hearing.kinds(start)):  # fmt: skip
            start += 1
        while end > start and words[end - 1].stop != END and _is_little(hearing.kinds(end - 1)):
            end -= 1
        return start, end

    def _with_claims(self, start: int, end: int, claims: Sequence[HeardClaim]) -> Iterator[str]:
        at = start
        for claim in claims:
            if not claim.truth:
                yield f" {escaped(self._raw(at, claim.start))}" if claim.start > at else ""
                yield f" [{escaped(self._raw(claim.start, claim.end))}]{{{claim.text}}}"
                at = claim.end
        yield f" {escaped(self._raw(at, end))}"

    def _raw(self, start: int, end: int) -> str:
        return clean(" ".join(word.raw for word in self.meanings.words[start:end]))

    def _said(self, start: int, end: int) -> str:
        return f"“{escaped(self._raw(start, end))}”"

    # --- notes -----------------------------------------------------------------------------------

    def _note(self, node: int, text: str) -> None:
        self.todos += 1
        self.text.behind.setdefault(node, []).append(f"{TODO} {text}.")

    def _doubt(self, judged: Judged) -> str:
        """`3:12 heard “knight d7”: 5...Nbd7, or 5...Nfd7?`"""
        mention = judged.event.mention
        labels = [label(self.nodes, judged.event.node)]
        for reading in judged.others:
            name = self._reading(judged.event.node, reading.node)
            if name not in labels:
                labels.append(name)
        time = clock(self.meanings.words[mention.start].time)
        if len(labels) == 1:
            labels.append("something else")
        return f"{time} heard {self._said(mention.start, mention.end)}: {', or '.join(labels)}"

    def _unheard(self, event: Event) -> str:
        """`3:12 no move was heard before “knight f3”: 2...d6?`"""
        mention = event.mention
        time = clock(self.meanings.words[mention.start].time)
        said = self._said(mention.start, mention.end)
        return f"{time} no move was heard before {said}: {label(self.nodes, event.node)}?"

    def _hangs_first(self, judged: Judged) -> bool:
        parent = self.nodes.known[judged.event.node].parent
        return judged.hangs and parent not in self.hanging

    def _reading(self, chosen: int, other: int | None) -> str:
        if other is None:
            return "no move"
        name = label(self.nodes, other)
        if name != label(self.nodes, chosen):
            return name
        parent = self.nodes.known[other].parent
        return f"{name} after {label(self.nodes, parent)}" if parent != ROOT else f"{name} at the start"

    def _tell_missed(self) -> None:
        """Words that are surely a move, and fit none that could be played."""
        for judged, following in zip(self.events, [*self.events[1:], None], strict=True):
            event = judged.event
            if event.kind != MISSED or event.cost < _MISSED:
                continue
            if following is not None and following.event.mention.start < event.mention.end:
                continue
            self.missed.append(judged)
            time = clock(self.meanings.words[event.mention.start].time)
            said = self._said(event.mention.start, event.mention.end)
            self._note(event.node, f"{time} heard {said}, which could be placed nowhere")


def _is_little(kinds: tuple[str, ...]) -> bool:
    return any(kind in kinds for kind in ("<filler>", "<and>", "<go>", "side", "<put>", "<by>"))


def _time(seconds: float) -> str:
    """When it was said, for the author. It hangs on the last word: at the start of a line it would
    be a block of HTML."""
    return f"<!--{clock(seconds)}-->"

