"""Games to HTML: a head that tells who played and when, the moves, and what connects them with
the booklet; and the index of games and players."""

from __future__ import annotations

import re
from dataclasses import dataclass

from markupsafe import Markup, escape

from builder.model import Booklet, Game, GameTags, Parting, Ply
from builder.render import lines, moves
from builder.render.medium import Context, Medium
from builder.render.notation import number_text, result_text
from builder.render.words import Words

# A date of the PGN standard (8.1.1.3) as far as its parts are known.
_DATE = re.compile(r"(\d{4})(?:\.(0[1-9]|1[0-2])(?:\.(0[1-9]|[12]\d|3[01]))?)?")
_MOST_GOES_ON = 3  # moves of the booklet that are told where a game leaves it


def game(node: Game, at: Context) -> Markup:
    """The whole game under its head."""
    notes = {}
    if node.parting is not None:
        notes[node.parting.ply.anchor] = _parting(node.parting, at)
    level = at.title_level or at.medium.heading_level + 1
    return Markup(
        '<section class="game" id="{0}" aria-labelledby="{0}-title">\n{1}\n{2}\n</section>'
    ).format(
        node.anchor, _head(node, level, at.medium),
        lines.line(node.line, at, lead=len(node.lead()), notes=notes, cut=node.cut),
    )  # fmt: skip


def _head(node: Game, level: int, medium: Medium) -> Markup:
    words = medium.words
    facts = game_facts(node.tags, words)
    return Markup(
        '<header><p class="over">{0}\u00a0{1}</p>\n<h{2} class="title" id="{3}-title">{4}</h{2}>{5}</header>'
    ).format(
        words.game, node.number, level, node.anchor, players(node.tags, rated=True),
        Markup('\n<p class="facts">{}</p>').format(facts) if facts else "",
    )  # fmt: skip


# --- what the tags tell -----------------------------------------------------------------------


def players(tags: GameTags, rated: bool = False) -> str:
    """`Ann Quay – Bo Pier`, with ratings where they are known."""
    return " \u2013 ".join(
        spoken(tags.get(side)) + _rating(tags.get(f"{side}Elo") if rated else "")
        for side in ("White", "Black")
    )


def _rating(elo: str) -> str:
    return f" ({elo})" if re.fullmatch(r"\d{3,4}", elo) else ""


def spoken(name: str) -> str:
    """`Ann Quay` for the standard's `Quay, Ann` (8.1.1.4); a dash for one who isn't known."""
    last, comma, first = name.partition(", ")
    if not name:
        return "N.\u00a0N."
    return f"{first} {last}" if comma and first and "," not in first else name


def game_facts(tags: GameTags, words: Words) -> str:
    """Event, place, round, date, ECO code and result, as far as they are known."""
    event, site = tags.get("Event"), tags.get("Site")
    code = re.match(r"[A-E]\d\d", tags.get("ECO"))
    told = [event, site if site != event else ""]
    if tags.get("Round"):
        told.append(words.round.format(round=tags.get("Round")))
    told.append(pgn_date(tags.get("Date"), words))
    facts = ", ".join(part for part in told if part)
    ends = [code.group() if code else "", result_text(tags.result) if tags.result != "*" else ""]
    return " \u00b7 ".join(part for part in (facts, *ends) if part)


def pgn_date(value: str, words: Words) -> str:
    """A PGN date in words: the year, the month and the day as far as they are known."""
    found = _DATE.match(value)
    if found is None:
        return ""
    year, month, day = found.groups()
    if month is None:
        return year
    name = words.months[int(month) - 1]
    return f"{name} {year}" if day is None else words.date.format(day=int(day), month=name, year=year)


# --- the booklet's lines ----------------------------------------------------------------------


def _parting(parting: Parting, at: Context) -> Markup:
    """`To 8...Nb6 as in Chapter 2, Diagram 7, page 12. There the booklet goes on with 9.Nc3.`"""
    medium = at.medium
    words = medium.words
    told = words.as_in_other_order if parting.transposed else words.as_in
    text = escape(told).format(move=moves.row((parting.ply,), medium), place=_place(parting, at))
    if parting.goes_on:
        shown = Markup(", ").join(_link(ply, medium) for ply in parting.goes_on[:_MOST_GOES_ON])
        text += " " + escape(words.booklet_goes_on).format(moves=shown)
    return Markup('<p class="parting">{}</p>').format(text)


def _place(parting: Parting, at: Context) -> Markup:
    words, met = at.medium.words, parting.met
    href = at.medium.href(met.chapter, met.anchor)
    chapter = Markup("{}\u00a0{}").format(words.chapter, parting.chapter)
    if parting.diagram is not None:
        told = Markup('<a href="{}">{}</a>').format(href, chapter) if href else chapter
        return Markup("{}, {}").format(told, at.medium.reference(parting.diagram))
    return Markup('<a class="ref" href="{}">{}</a>').format(href, chapter) if href else chapter


def _link(ply: Ply, medium: Medium) -> Markup:
    """A move with the way to its place in the text."""
    text = number_text(ply) + medium.notation.san(ply.san)
    href = medium.href(ply.chapter, ply.anchor)
    if not href:
        return Markup('<span class="move">{}</span>').format(text)
    return Markup('<a class="move" href="{}">{}</a>').format(href, text)


# --- the index --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class GameEntry:
    """A game in the index."""

    anchor: str
    chapter: str
    number: int
    players: str
    facts: str


@dataclass(frozen=True, slots=True)
class PlayerEntry:
    """A player with the games in which he had either side."""

    name: str
    games: tuple[GameEntry, ...]


def game_entries(booklet: Booklet, words: Words) -> tuple[GameEntry, ...]:
    """In the order of the booklet."""
    return tuple(
        GameEntry(one.anchor, one.chapter, one.number, players(one.tags),
                  game_facts(one.tags, words))
        for one in booklet.games
    )  # fmt: skip


def player_entries(booklet: Booklet, entries: tuple[GameEntry, ...]) -> tuple[PlayerEntry, ...]:
    """The players who are known by name, in alphabetical order, as the files have their names."""
    found: dict[str, list[GameEntry]] = {}
    for one, entry in zip(booklet.games, entries, strict=True):
        for name in dict.fromkeys((one.tags.white, one.tags.black)):
            if name:
                found.setdefault(name, []).append(entry)
    return tuple(
        PlayerEntry(name, tuple(games))
        for name, games in sorted(found.items(), key=lambda item: (item[0].casefold(), item[0]))
    )


def game_words(node: Game, words: Words) -> str:
    """A game's head as words, for the search."""
    return f"{players(node.tags)}, {game_facts(node.tags, words)}".rstrip(", ")

