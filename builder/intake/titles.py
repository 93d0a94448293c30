"""What chapters are called, from the tags of games, and what the tags tell beside that."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from builder.pgn.games import RawGame
from builder.write.pgn_remarks import BOOKLET_TAG, CITED_TAG

MOST_TITLE = 120  # letters
_ECO = re.compile(r"[A-E]\d\d")  # 9.5.1
# What a chapter says elsewhere, or what the moves tell.
_USED = frozenset((
    "Event", "Site", "Date", "Round", "White", "Black", "Result", "ECO", "FEN", "SetUp", "Annotator",
    "PlyCount", BOOKLET_TAG, CITED_TAG,
))  # fmt: skip


def game_titles(raws: Sequence[RawGame]) -> list[str]:
    """A title for each game, no two the same.

    The players where both are known, else the one that is; else event, opening, variation. Where
    that is the same for several games the next of these that tells them apart is added, or a
    number.
    """
    candidates = [_candidates(raw) for raw in raws]
    titles = [_short(names[0]) if names else "" for names in candidates]
    for index, names in enumerate(candidates):
        same = [i for i, title in enumerate(titles) if title == titles[index] and title]
        if len(same) < 2:
            continue
        for place in range(1, min(len(candidates[i]) for i in same)):
            if len({candidates[i][place] for i in same}) == len(same):
                for i in same:
                    titles[i] = f"{titles[i]} ({_short(candidates[i][place])})"
                break
    seen: Counter[str] = Counter()
    counts = Counter(titles)
    for index, title in enumerate(titles):
        seen[title] += 1
        if not title:
            titles[index] = f"Game {raws[index].number}" if len(raws) > 1 else ""
        elif counts[title] > 1:
            titles[index] = f"{title} ({seen[title]})"
    return titles


def _candidates(raw: RawGame) -> list[str]:
    if raw.tag(BOOKLET_TAG):
        return [own_title(raw)]
    white, black = raw.tag("White"), raw.tag("Black")
    names = [f"{white} – {black}" if white and black else white or black]
    names += [raw.tag(name) for name in ("Event", "Opening", "Variation", "Round", "Date", "ECO")]
    return [name for name in names if name]


def own_title(raw: RawGame) -> str:
    """The chapter's title in a game of a booklet's own file."""
    return raw.tag("Event").removeprefix(raw.tag(BOOKLET_TAG)).removeprefix(":").strip()


def _short(title: str) -> str:
    return title if len(title) <= MOST_TITLE else title[:MOST_TITLE].rsplit(" ", 1)[0] + " …"


def booklet_title(raws: Sequence[RawGame], fallback: str) -> str:
    """The booklet that all games come from, else their one event, else `fallback`."""
    for name in (BOOKLET_TAG, "Event"):
        values = {raw.tag(name) for raw in raws}
        if len(values) == 1 and (value := values.pop()):
            return _short(value)
    return fallback


def annotator(raws: Sequence[RawGame]) -> str:
    values = {raw.tag("Annotator") for raw in raws} - {""}
    return values.pop() if len(values) == 1 else ""


def eco(raw: RawGame) -> str:
    found = _ECO.match(raw.tag("ECO"))
    return found.group() if found else ""


def summary(raw: RawGame, title: str, booklet: str) -> str:
    """Where and when the game was played, as far as the titles don't say it.

    A round is told with its event, also where the booklet is called like that.
    """
    if raw.tag(BOOKLET_TAG):
        return ""
    event = raw.tag("Event")
    if event and raw.tag("Round"):
        event = f"{event} ({raw.tag('Round')})"
    elif event == booklet:
        event = ""
    parts = [part for part in (event, raw.tag("Site"), _date(raw.tag("Date")))
             if part and part not in title]  # fmt: skip
    return ", ".join(parts)


def _date(value: str) -> str:
    """PGN's date (8.1.1.3) without what is not known: `1992.11.??` is 1992-11."""
    parts = []
    for part in value.split("."):
        if not part.isdigit():
            break
        parts.append(part)
    return "-".join(parts[:3])


def note(raw: RawGame) -> str:
    """Where the game comes from, and the tags that have no place of their own, for the author."""
    pairs = [f"{tag.name} {tag.value}" for tag in raw.tags
             if tag.name not in _USED and tag.value.strip("?.- ")
             and not (tag.name == "Opening" and raw.tag(BOOKLET_TAG))]  # fmt: skip
    source = f"game {raw.number} of {raw.place.file}" if raw.tags else ""
    return ": ".join(part for part in (source, ", ".join(pairs)) if part)


def file_title(name: str) -> str:
    """A title from a file's name."""
    stem = name.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
    words = " ".join(re.sub(r"[_-]+", " ", stem).split())
    return words[:1].upper() + words[1:] if words else "Moves"
