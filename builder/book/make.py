"""The parsed booklet to the model: the only place where a `Booklet` is made."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from builder import names
from builder.book.blocks import resolve_chapter
from builder.book.complete import complete
from builder.book.lines import Named, PlayedLines, play_lines
from builder.book.reading import Numbering, Reading
from builder.counting.booklet import Progress, booklet_counts, no_progress
from builder.faults import Faults
from builder.model import (
    NO_GAMES, Block, Booklet, Chapter, Diagram, GameCounts, NamedPosition, Ply, PositionKey,
)  # fmt: skip
from builder.openings import Openings
from builder.settings import Settings
from builder.source.booklet import BookletSource


def make_booklet(source: BookletSource, faults: Faults, drafts: bool = True,
                 games: Faults | None = None, counting: Progress = no_progress) -> Booklet:  # fmt: skip
    """Plays out, numbers and resolves everything.

    With `drafts` false, draft chapters are left out, as if they weren't there. The booklet's games
    are counted where a block asks for it, and what hinders is told to `faults`; or where there is
    no error yet and `games` are given, which are told it then. After errors the booklet holds what
    could be made; it is for checking further, not for printing.
    """
    chapters = tuple(chapter for chapter in source.chapters if drafts or not chapter.draft)
    played = play_lines(chapters, faults)
    numbering = Numbering()
    openings = Openings.read()
    chapter_of = {chapter.source.file: chapter.slug for chapter in chapters}
    made: list[Chapter] = []
    asked = False
    for number, chapter in enumerate(chapters, start=1):
        reading = Reading(chapter, played, numbering, chapter_of, faults)
        blocks = resolve_chapter(reading)
        made.append(_chapter(reading, number, blocks, source.settings, openings))
        asked = asked or bool(reading.found.played)
    reached = _reached(tuple(made))
    told = faults if asked else None if faults.has_errors else games
    counts = booklet_counts(reached, source.files, told, counting) if told is not None else None
    chapters_made = complete(tuple(made), reached, counts or NO_GAMES, faults)
    return _booklet(source.settings, chapters_made, played, reached, counts)


def _chapter(reading: Reading, number: int, blocks: tuple[Block, ...], settings: Settings,
             openings: Openings) -> Chapter:  # fmt: skip
    chapter, found = reading.chapter, reading.found
    return Chapter(
        slug=chapter.slug,
        anchor=names.chapter_anchor(chapter.slug),
        number=number,
        title=chapter.title,
        side=chapter.side or settings.side,
        eco=chapter.eco,
        opening=openings.of(line for line in found.lines if line.kind == "line"),
        summary=chapter.summary,
        draft=chapter.draft,
        blocks=blocks,
        footnotes=tuple(note for _, note in sorted(found.footnotes.items())),
        lines=tuple(found.lines),
        diagrams=tuple(found.diagrams),
        exercises=tuple(found.exercises),
        games=tuple(found.games),
        claims=tuple(found.claims),
        file=chapter.source.file,
    )


def _booklet(settings: Settings, chapters: tuple[Chapter, ...], played: PlayedLines,
             reached: dict[PositionKey, tuple[Ply, ...]], counts: GameCounts | None) -> Booklet:  # fmt: skip
    diagrams = tuple(diagram for chapter in chapters for diagram in chapter.diagrams)
    by_name = {
        name: _named_position(played.named[name], diagrams) for name in sorted(played.named)
    }
    return Booklet(
        title=settings.title,
        subtitle=settings.subtitle,
        author=settings.author,
        edition=settings.edition,
        date=settings.date,
        language=settings.language,
        side=settings.side,
        figurines=settings.notation == "figurine",
        chapters=chapters,
        names=MappingProxyType(by_name),
        reached=MappingProxyType(reached),
        diagrams=diagrams,
        exercises=tuple(exercise for chapter in chapters for exercise in chapter.exercises),
        games=tuple(game for chapter in chapters for game in chapter.games),
        counts=counts,
    )


def _named_position(named: Named, diagrams: tuple[Diagram, ...]) -> NamedPosition:
    """Its diagram is one that was asked for by its name, else the first of that position."""
    same = [diagram for diagram in diagrams if diagram.position.key == named.position.key]
    by_name = [diagram for diagram in same if diagram.name == named.name]
    diagram = next(iter(by_name or same), None)
    return NamedPosition(named.name, named.anchor, named.chapter, named.position, named.ply,
                         diagram, named.place)  # fmt: skip


@dataclass(slots=True)
class _Passes:
    """Tells plies behind a pass: no game reaches their positions."""

    anchors: set[str]

    def behind(self, ply: Ply) -> bool:
        if ply.is_pass or (ply.parent is not None and ply.parent.anchor in self.anchors):
            self.anchors.add(ply.anchor)
            return True
        return False


def _reached(chapters: tuple[Chapter, ...]) -> dict[PositionKey, tuple[Ply, ...]]:
    """The plies that reach each position, in reading order; solutions, games and passes left
    out."""
    found: dict[PositionKey, list[Ply]] = {}
    passes = _Passes(set())
    for chapter in chapters:
        for line in chapter.lines:
            for ply in line.plies():
                if not passes.behind(ply) and line.is_taught:
                    found.setdefault(ply.after.key, []).append(ply)
    return {key: tuple(plies) for key, plies in found.items()}
