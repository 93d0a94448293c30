"""A line's moves, variations, comments and diagrams to HTML.

In: a `Line`. Out: paragraphs as a chess book has them. The main moves stand in bold; a
sentence about them is a paragraph of its own; a variation of the main moves is an indented
paragraph, a weighty one inside it another step in; everything deeper runs on in brackets. A
diagram stands right under its move and parts the paragraph.

The stream is walked in a loop, and the steps are known beforehand from a second loop: an
author's nesting costs no stack.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from markupsafe import Markup

from builder import names
from builder.model import (
    Claim, Comment, Diagram, Line, LineItem, Ply, Result, VariationEnd, VariationStart,
)  # fmt: skip
from builder.render import figures, moves
from builder.render.inline import inlines, plain
from builder.render.medium import Context
from builder.render.notation import result_text

NO_NOTES: Mapping[str, Markup] = MappingProxyType({})
# A variation at the second level is set as a paragraph of its own when it has a diagram or
# is longer than this, counted in moves and in words.
_WEIGHTY_PLIES = 10
_WEIGHTY_LETTERS = 160
# Diagrams with no more moves than this between them, and nothing else, stand abreast.
_SHORT_WAY = 4
# A comment on a main move is a paragraph when it is a sentence or as long as one.
_SENTENCE_ENDS = ".!?:…"
_SENTENCE_LETTERS = 60


def line(node: Line, at: Context, lead: int = 0, notes: Mapping[str, Markup] = NO_NOTES,
         cut: bool = False) -> Markup:  # fmt: skip
    """The whole line in a `<div class="line">` that carries its anchors.

    The first `lead` moves are set light; `notes` are paragraphs to stand behind moves, by the
    moves' anchors; `cut` tells that the moves went on.
    """
    held = _held(node.items) if at.medium.on_paper else frozenset[int]()
    flow = _Flow(at, _stepped(node.items), held, lead, notes)
    for index, item in enumerate(node.items):
        flow.take(index, item)
    if cut:
        flow.put(Markup("\u2026"))
    flow.close_paragraph()
    return Markup('<div class="line" id="{}"><span id="{}"></span>\n{}\n</div>').format(
        node.anchor, names.start_anchor(node.anchor), Markup("\n").join(flow.out)
    )


def _stepped(items: tuple[LineItem, ...]) -> frozenset[int]:
    """The indexes of the `VariationStart`s that are set as paragraphs of their own."""
    found: set[int] = set()
    opened: list[_Weight] = []
    for index, item in enumerate(items):
        if isinstance(item, VariationStart):
            opened.append(_Weight(index))
        elif isinstance(item, VariationEnd):
            inner = opened.pop()
            if len(opened) == 0 or (len(opened) == 1 and inner.is_weighty):
                found.add(inner.index)
            if opened:
                opened[-1].add(inner)
        elif opened:
            opened[-1].count(item)
    return frozenset(found)


def _held(items: tuple[LineItem, ...]) -> frozenset[int]:
    """The indexes of the diagrams that wait for the next one, to stand beside it."""
    found: set[int] = set()
    waiting: int | None = None
    plies = row = 0
    for index, item in enumerate(items):
        if isinstance(item, Diagram) and figures.can_stand_abreast(item):
            row += 1
            if waiting is not None and row <= figures.MOST_ABREAST:
                found.add(waiting)
            else:
                row = 1
            waiting, plies = index, 0
        elif isinstance(item, Ply) and plies < _SHORT_WAY:
            plies += 1
        elif not isinstance(item, Claim):
            waiting, row = None, 0
    return frozenset(found)


@dataclass(slots=True)
class _Weight:
    """What a variation holds, with everything inside it."""

    index: int
    plies: int = 0
    letters: int = 0
    diagrams: int = 0

    def count(self, item: LineItem) -> None:
        if isinstance(item, Ply):
            self.plies += 1
        elif isinstance(item, Diagram):
            self.diagrams += 1
        elif isinstance(item, Comment):
            self.letters += len(plain(item.inlines))
            self.diagrams += sum(isinstance(node, Diagram) for node in item.inlines)

    def add(self, inner: _Weight) -> None:
        self.plies += inner.plies
        self.letters += inner.letters
        self.diagrams += inner.diagrams

    @property
    def is_weighty(self) -> bool:
        return bool(
            self.diagrams or self.plies > _WEIGHTY_PLIES or self.letters > _WEIGHTY_LETTERS
        )


class _Flow:
    """Sets the items of one line one after another.

    `steps` holds, for each open variation, whether it is a paragraph of its own. `glued` says
    that no space comes before the next word. `waiting` are diagrams that wait for another one.
    `lead` counts the main moves that are still to be set light.
    """

    def __init__(self, at: Context, stepped: frozenset[int], held: frozenset[int], lead: int,
                 notes: Mapping[str, Markup]) -> None:  # fmt: skip
        self.at = at
        self.stepped = stepped
        self.held = held
        self.waiting: list[Diagram] = []
        self.lead = lead
        self.notes = notes
        self.out: list[Markup] = []
        self.words: list[Markup] = []
        self.steps: list[bool] = []
        self.glued = True
        self.number_next = True

    def take(self, index: int, item: LineItem) -> None:
        match item:
            case Ply():
                self._ply(item)
            case Comment():
                self._comment(item)
            case VariationStart():
                self._open(index in self.stepped)
            case VariationEnd():
                self._close()
            case Diagram():
                self._figures([item], hold=index in self.held)
            case Result():
                self.put(Markup('<span class="result">{}</span>').format(result_text(item.text)))

    def _ply(self, ply: Ply) -> None:
        numbered = ply.by_white or self.number_next
        medium = self.at.medium
        self.put(moves.move(ply, medium, ply.nags, numbered, medium.move_id(ply)))
        self.number_next = False
        for meeting in medium.meetings(ply):
            self.put(moves.meeting(meeting, medium))
            self.number_next = True
        for game in medium.games(ply):
            self.put(moves.game_reference(game, medium))
            self.number_next = True
        if not self.steps and self.lead:
            self.lead -= 1
            if not self.lead:
                self.close_paragraph("moves lead")
                self.number_next = True
        if ply.anchor in self.notes:
            self.close_paragraph("moves lead" if self.lead else "")
            self.out.append(self.notes[ply.anchor])
            self.number_next = True

    def _comment(self, comment: Comment) -> None:
        lifted: list[Diagram] = []
        words = inlines(comment.inlines, self.at, lifted).strip()
        if words and not self.steps and _is_sentence(plain(comment.inlines)):
            self.close_paragraph()
            self.out.append(Markup('<p class="comment">{}</p>').format(words))
        elif words:
            self.put(words)
        self.number_next = True
        if lifted:
            self._figures(lifted)

    def _open(self, stepped: bool) -> None:
        if stepped:
            self.close_paragraph()
            self.out.append(Markup('<div class="variation">'))
        else:
            self.put(Markup("("))
            self.glued = True
        self.steps.append(stepped)
        self.number_next = True

    def _close(self) -> None:
        if self.steps[-1]:
            self.close_paragraph()
            self.out.append(Markup("</div>"))
        else:
            self.glued = True
            self.put(Markup(")"))
        self.steps.pop()
        self.number_next = True

    def _figures(self, diagrams: list[Diagram], hold: bool = False) -> None:
        self.waiting.extend(diagrams)
        if hold:
            return
        self.close_paragraph()
        self.out.append(figures.row(self.waiting, self.at))
        self.waiting = []
        self.number_next = True

    def put(self, words: Markup) -> None:
        if self.words and not self.glued:
            self.words.append(Markup(" "))
        self.words.append(words)
        self.glued = False

    def close_paragraph(self, style: str = "") -> None:
        if self.words:
            style = style or ("moves" if self.steps else "moves main")
            text = Markup("").join(self.words)
            self.out.append(Markup('<p class="{}">{}</p>').format(style, text))
        self.words = []
        self.glued = True


def _is_sentence(words: str) -> bool:
    words = words.strip()
    return words.endswith(tuple(_SENTENCE_ENDS)) or len(words) > _SENTENCE_LETTERS
