"""What is only talked of: plans, threats, wishes, other games, what is denied. For each word, how much
speaks for a move there being none that is played.
"""

from __future__ import annotations

from collections.abc import Sequence

from builder.speech.mentions import CueAt, Mention
from builder.speech.patterns import Hearing, compiled
from builder.speech.utterance import END, PAUSE, ends_within

FULL = 2.2  # the weight of a cue that makes a mention no move for certain
_STRONG = 2.0  # the weight of a cue for what is hardly ever played
_ASKED = 2.4  # 'what would Black love? …': the answer belongs to what is talked of
_AIMED = compiled("again? <on> {square}")


class Plans:
    """The cues for what is only talked of, and how far each reaches. `plain` are the mentions at
    each word, before their context is looked at."""

    def __init__(self, hearing: Hearing, cues: Sequence[tuple[CueAt, ...]],
                 plain: Sequence[tuple[Mention, ...]]) -> None:  # fmt: skip
        self.hearing = hearing
        self.words = hearing.words
        self.cues = cues
        self.plain = plain

    def found(self) -> list[float]:
        """For each word, how much speaks for a move there being only talked of."""
        plans = [0.0] * len(self.words)
        resumes = [any(cue.cue.kind == "resume" for cue in at) for at in self.cues]
        for at in self.cues:
            for cue in at:
                if cue.cue.kind in ("plan", "elsewhere", "deny") and not self._is_outdone(cue):
                    self._forward(cue, plans, resumes)
                elif cue.cue.kind == "planned":
                    self._backward(cue, plans, resumes)
                elif cue.cue.kind == "summary":
                    self._summed_up(cue, plans)
        return plans

    def _is_outdone(self, cue: CueAt) -> bool:
        """Whether the words are part of a cue for a way back: 'could also' is no plan."""
        around = [one for near in self.cues[max(0, cue.start - 3) : cue.start + 1] for one in near]
        return any(
            one.cue.kind == "alternative" and one.end >= cue.end
            and one.end - one.start > cue.end - cue.start for one in around
        )  # fmt: skip

    def _forward(self, cue: CueAt, plans: list[float], resumes: Sequence[bool]) -> None:
        """From a cue to where its sentence ends or speech takes up the game again. Moves that are
        strung together ('rook e1, f4 and g4') belong to one plan."""
        at = last = cue.end
        level, reach = cue.cue.weight, max(1, cue.cue.reach)
        full = min(3, reach // 2)
        while at < len(self.words):
            asked = level >= _ASKED and self.words[at - 1].raw.endswith("?")
            taken_up = at > cue.end and resumes[at] and cue.cue.kind != "elsewhere"
            if taken_up or (self.words[at - 1].stop == END and not asked):
                return
            if level < _STRONG and any(one.cue.kind == "alternative" and one.cue.weight >= 0.5
                                       for one in self.cues[at]):  # fmt: skip
                return
            if mate := self.hearing.edges(at, "<mate>"):
                self._fill(plans, at, self._behind_mate(mate[0].end), level)
                return
            share = level * (1.0 - max(0, at - last - full) / reach)
            if share <= 0.2 or at - last > reach:
                return
            if last == cue.end and self.hearing.edges(at, "<conjunction>"):
                return  # What it tells of is no move: 'white wants to know and …'
            plans[at] = max(plans[at], share)
            ends = [one.end for one in self.plain[at]
                    if one.plainly >= 2.0 and not ends_within(self.words, at, one.end)
                    and not any(resumes[at + 1 : one.end])]  # fmt: skip
            if ends and cue.cue.kind != "deny":
                for inner in range(at, max(ends)):
                    plans[inner] = max(plans[inner], share)
                at = last = max(ends)
                level = share * self._strung(at, cue.cue.weight >= _STRONG)
                continue
            at += 1

    def _behind_mate(self, at: int) -> int:
        """The end of 'mate on f7', or of 'mate' alone."""
        ends = [way.end for way in self.hearing.ways(_AIMED, at)] if at < len(self.words) else []
        return max(ends, default=at)

    @staticmethod
    def _fill(plans: list[float], start: int, end: int, level: float) -> None:
        for at in range(start, end):
            plans[at] = max(plans[at], level)

    def _summed_up(self, cue: CueAt, plans: list[float]) -> None:
        for at in range(cue.end, min(len(plans), cue.end + cue.cue.reach)):
            if any(one.cue.kind in ("back", "start") and one.cue.weight > 1.0 for one in self.cues[at]):
                return
            plans[at] = max(plans[at], cue.cue.weight)

    def _strung(self, at: int, strong: bool) -> float:
        """How surely the word `at`, behind a move, goes on with what is only talked of."""
        if at < len(self.words) and (self.hearing.edges(at, "<and>") or self.hearing.edges(at, "square")):  # fmt: skip
            return 1.0
        if self.words[at - 1].stop == PAUSE:
            return 0.9 if strong else 0.7
        return 0.5

    def _backward(self, cue: CueAt, plans: list[float], resumes: Sequence[bool]) -> None:
        for at in range(cue.start - 1, max(-1, cue.start - 1 - cue.cue.reach), -1):
            if self.words[at].stop == END:
                return
            share = 1.0 - max(0, cue.start - at - 6) / max(1, cue.cue.reach)
            plans[at] = max(plans[at], cue.cue.weight * share)
            if resumes[at]:
                return
