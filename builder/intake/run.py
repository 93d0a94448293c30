"""The whole way: a file, a list of moves or a position to new chapters of a booklet."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import BinaryIO, TypeAlias

from builder.faults import Faults
from builder.intake import folder as folders
from builder.intake import titles
from builder.intake.drafts import game_drafts, joined_drafts, position_draft
from builder.intake.gather import Gathered, Split, gather
from builder.intake.play import Budget
from builder.intake.positions import holds_positions, read_positions
from builder.intake.reading import read_trees
from builder.intake.writing import Draft, chapter_text, name_positions
from builder.model import Position
from builder.pgn.games import RawGame, read_games
from builder.pgn.lines import LineReader
from builder.pgn.tell import Teller
from builder.settings import SETTINGS_FILE

Progress: TypeAlias = Callable[[str, float], None]
_HEAD_LINES = 50


@dataclass(frozen=True, slots=True)
class Order:
    """What to import, and how.

    `stream` can be read twice (`seek`); `name` is the file's, `size` its bytes; what is `pasted`
    has no file, and is written only if it has no error. `games` are the
    first and last number of those wanted. `plies` is how many half-moves of a line are kept, `least`
    how many games must play a move: None leaves both to the size of the file. `start` is where games
    without a FEN tag begin.
    """

    stream: BinaryIO
    name: str
    size: int
    into: Path
    title: str = ""
    split: Split = Split()
    games: tuple[int, int] | None = None
    plies: int | None = None
    least: int | None = None
    start: Position | None = None
    pasted: bool = False

    @property
    def called(self) -> str:
        """A title from the file's name, if it has one."""
        return "" if self.pasted else titles.file_title(self.name)


@dataclass(frozen=True, slots=True)
class Report:
    """What was written. `joined` counts lines that were joined to others."""

    written: tuple[Path, ...]
    games: int
    moves: int
    chapters: int
    lines: int
    diagrams: int
    names: int
    joined: int
    listed: bool


def import_games(order: Order, faults: Faults, progress: Progress) -> Report | None:
    """Writes new chapters; None where there is nothing to write. Faults are told.

    Raises `folder.FolderFault` where the folder can't take the files.
    """
    target = folders.look_at(order.into)
    tell = Teller(order.name, faults)
    gathered = Gathered()
    if _holds_positions(order):
        drafts = _positions(order, tell)
    else:
        gathered = _gather(order, tell, progress)
        drafts = _drafts(order, gathered, tell)
        if tell.errors and not any(draft.moves() for draft in drafts):
            drafts = []  # Words alone, in a file with errors, are hardly what was meant.
    if not drafts and not tell.errors:
        tell.error("pgn-empty", tell.start, "there is nothing in it that could become a chapter",
                   "a PGN file holds games: tags in brackets, then moves")  # fmt: skip
    tell.finish()
    if not drafts or (order.pasted and faults.has_errors):
        return None
    progress("writing the chapters", 0.95)
    named = name_positions(drafts, target.taken)
    files = folders.chapter_files([draft.title for draft in drafts], target.chapters)
    texts = [(file, chapter_text(draft, named)) for file, draft in zip(files, drafts, strict=True)]
    if not target.is_booklet:
        texts.insert(0, (SETTINGS_FILE, _settings(order, gathered, drafts)))
    written = folders.write_new(target, texts)
    return _report(written, gathered, drafts, len(named), target.listed)


# --- reading --------------------------------------------------------------------------------------


def _holds_positions(order: Order) -> bool:
    lines = LineReader(order.stream, Teller(order.name, Faults())).lines()
    found = order.start is None and holds_positions(islice(lines, _HEAD_LINES))
    order.stream.seek(0)
    return found


def _positions(order: Order, tell: Teller) -> list[Draft]:
    given = list(read_positions(LineReader(order.stream, tell).lines(), tell))
    return [position_draft(given, order.title)] if given else []


def _gather(order: Order, tell: Teller, progress: Progress) -> Gathered:
    reader = LineReader(order.stream, tell)
    budget = Budget() if order.plies is None else Budget(plies=order.plies)

    def seen(games: int) -> None:
        progress(f"reading {order.name}: {games:,} games", 0.9 * reader.read / max(1, order.size))

    raws = _wanted(read_games(reader.lines(), tell), order.games, seen)
    return gather(lambda guide: read_trees(raws, tell, budget, order.start, guide),
                  order.split, budget, tell, order.plies is None)  # fmt: skip


def _wanted(raws: Iterator[RawGame], games: tuple[int, int] | None,
            seen: Callable[[int], None]) -> Iterator[RawGame]:  # fmt: skip
    first, last = games or (1, None)
    for raw in raws:
        if raw.number % 50 == 0:
            seen(raw.number)
        if last is not None and raw.number > last:
            return
        if raw.number >= first:
            yield raw


# --- writing --------------------------------------------------------------------------------------


def _drafts(order: Order, gathered: Gathered, tell: Teller) -> list[Draft]:
    title = order.title or titles.booklet_title(gathered.raws, order.called)
    if gathered.is_joined:
        return joined_drafts(gathered, order.split, order.least, title, tell)
    return game_drafts(gathered, order.split, title, tell)


def _settings(order: Order, gathered: Gathered, drafts: list[Draft]) -> str:
    fallback = drafts[0].title if len(drafts) == 1 else order.called
    title = order.title or titles.booklet_title(gathered.raws, fallback)
    return folders.settings_text(title, titles.annotator(gathered.raws))


def _report(written: list[Path], gathered: Gathered, drafts: list[Draft], names: int,
            listed: bool) -> Report:  # fmt: skip
    blocks = [block for draft in drafts for part in draft.lines() for block in part.blocks]
    diagrams = sum(len(block.diagrams) + block.opens for block in blocks)
    diagrams += sum(draft.boards() for draft in drafts)
    return Report(
        written=tuple(written),
        games=gathered.count,
        moves=sum(draft.moves() for draft in drafts),
        chapters=len(drafts),
        lines=len(blocks),
        diagrams=diagrams,
        names=names,
        joined=gathered.joined,
        listed=listed,
    )
