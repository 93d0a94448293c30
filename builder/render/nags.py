"""NAGs that have no sign, in words.

The PGN standard's section 10 defines NAGs 0 to 139. From 24 on each judgement has two
numbers, White's and Black's; `_TOPICS` says in which order they come and in which degrees.
"""

from __future__ import annotations

from builder.render.words import Words

_SINGLE = (7, 8, 9, 20, 21, 22, 23)
_FIRST_TOPIC = 24
# The number of pairs a topic has from NAG 24 on, in the order of `Words.nag_topics`, and which
# words tell its degrees: "d" slight, clear, decisive; "w" clear, slight (very, moderately
# weak); "s" slight, clear (moderately, very strong); "q" how the phase was played; "t" clear,
# decisive (moderate, severe); "" none.
_TOPICS: tuple[tuple[int, str], ...] = (
    (3, "d"), (3, "d"), (1, ""), (1, ""), (1, ""), (1, ""), (1, ""), (1, ""),
    (3, "d"), (3, "d"), (3, "d"), (1, ""), (1, ""), (1, ""), (1, ""), (1, ""), (1, ""),
    (2, "w"), (2, "s"), (1, ""), (1, ""), (1, ""), (1, ""), (1, ""), (1, ""), (1, ""),
    (1, ""), (1, ""), (1, ""), (4, "q"), (4, "q"), (4, "q"), (3, "d"), (2, "t"),
)  # fmt: skip
_DEGREES = {"d": (0, 1, 2), "w": (1, 0), "s": (0, 1), "t": (1, 2)}


def nag_words(nag: int, words: Words) -> str:
    """What a NAG from 7 on says: `White: space, slight`."""
    if nag in _SINGLE:
        return words.nags[_SINGLE.index(nag)]
    pair, black = divmod(nag - _FIRST_TOPIC, 2)
    if pair >= 0:
        for topic, (count, degrees) in zip(words.nag_topics, _TOPICS, strict=True):
            if pair < count:
                side = words.board.black if black else words.board.white
                text = f"{topic}{_degree(degrees, pair, words)}"
                return words.labelled.format(label=side, text=text)
            pair -= count
    return f"${nag}"


def _degree(degrees: str, step: int, words: Words) -> str:
    if degrees == "q":
        return f", {words.qualities[step]}"
    return f", {words.degrees[_DEGREES[degrees][step]]}" if degrees else ""
