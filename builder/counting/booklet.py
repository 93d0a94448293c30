"""What games say about a booklet's positions: the one way to their counts.

In: the booklet's positions, its files, and PGN files of any size. Out: counts by position, from what is kept
where the file was counted before. What hinders is told to `faults` and passed over.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path, PurePosixPath
from typing import TypeAlias, TypeVar

from builder.counting.content import CountFault, Stamp, content_hash
from builder.counting.follow import MOST_SLIPS, Wanted
from builder.counting.kept_file import SUFFIX, counts_text, epds, read_counts
from builder.counting.store import NOTHING, STORE_FILE, Kept, Store, kept_of
from builder.counting.work import Behind, count_file
from builder.faults import Faults
from builder.model import Ply, PositionKey
from builder.model.counts import CountedFile, GameCounts, together
from builder.place import Place, file_place
from builder.source.files import BookletFiles
from builder.source.kept import StoreFault

# How many half-moves of a game are looked at: as many as the booklet's longest line has, in steps, so
# that a line more doesn't have everything counted anew.
LEAST_PLIES = 40
PLIES_STEP = 20

Progress: TypeAlias = Callable[[int, int], None]
T = TypeVar("T")
Reached: TypeAlias = Mapping[PositionKey, tuple[Ply, ...]]  # as Booklet.reached


def no_progress(done: int, total: int) -> None:
    """Where nobody looks on."""


def wanted_of(reached: Reached) -> Wanted:
    """The positions in front of and behind every move of the booklet."""
    keys: dict[PositionKey, None] = {}
    last = 0
    for plies in reached.values():
        for ply in plies:
            keys[ply.before.key] = keys[ply.after.key] = None
            last = max(last, ply.after.ply_number)
    steps = max(0, -(-(last - LEAST_PLIES) // PLIES_STEP))
    return Wanted(tuple(sorted(keys)), LEAST_PLIES + steps * PLIES_STEP)


def game_files(files: BookletFiles, suffix: str = ".pgn") -> tuple[str, ...]:
    """The PGN files of games/, in file-name order, relative to the booklet; or other files."""
    folder = files.inside("games")
    if folder is None or not folder.is_dir():
        return ()
    return tuple(
        f"games/{entry.name}" for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
        if entry.suffix.lower() == suffix and files.inside(f"games/{entry.name}") is not None
    )  # fmt: skip


def booklet_counts(reached: Reached, files: BookletFiles, faults: Faults,
                   progress: Progress = no_progress) -> GameCounts:  # fmt: skip
    """What the files in games/ say: PGN files, and counts that are kept in place of one."""
    wanted = wanted_of(reached)
    named = {name: path for name in game_files(files) if (path := files.inside(name)) is not None}
    stems = {PurePosixPath(name).stem for name in named}
    travelling = [name for name in game_files(files, SUFFIX) if PurePosixPath(name).stem not in stems]
    parts = [counts_of(named, wanted, files, faults, progress)]
    names = epds(reached) if travelling else {}
    for name in travelling:
        found = read_counts(name, files, names, wanted.plies, faults)
        if found is not None:
            parts.append(_counts(*found))
    return together(parts)


def counts_to_keep(path: Path, reached: Reached, files: BookletFiles, faults: Faults,
                   progress: Progress = no_progress) -> str | None:  # fmt: skip
    """What a PGN file says, as the text of a file that travels in its place; None after an error."""
    wanted = wanted_of(reached)
    with _Shelf(files, faults) as shelf:
        total = max(1, _size(path))
        kept = _count(str(path), path, wanted, shelf, faults, lambda done: progress(done, total))
    return counts_text(path.name, kept, wanted.plies, epds(reached)) if kept is not None else None


def counts_of(named: dict[str, Path], wanted: Wanted, files: BookletFiles, faults: Faults,
              progress: Progress = no_progress) -> GameCounts:  # fmt: skip
    """What PGN files say, by the names that they are told by. `progress` is called with the bytes
    that are behind, and those in all."""
    parts = []
    with _Shelf(files, faults) as shelf:
        sizes = [_size(path) for path in named.values()]
        for index, (name, path) in enumerate(named.items()):
            before, total = sum(sizes[:index]), max(1, sum(sizes))
            kept = _count(name, path, wanted, shelf, faults,
                          lambda done, before=before: progress(before + done, total))  # fmt: skip
            if kept is not None:
                _tell_slips(name, kept, faults)
                parts.append(_counts(name, kept))
    return together(parts)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0  # which is told when it is read


def _count(name: str, path: Path, wanted: Wanted, shelf: _Shelf, faults: Faults,
           behind: Behind) -> Kept | None:  # fmt: skip
    """What a file says of the wanted positions, from what is kept as far as it goes."""
    try:
        content = content_hash(path, shelf.known, shelf.remember)
        kept = shelf.find(content, wanted)
        missing = tuple(key for key in wanted.keys if key not in kept.tallies)
        if missing:
            wanted = Wanted(missing, wanted.plies)
            kept = kept_of(count_file(path, content, wanted, behind), wanted, kept)
            shelf.keep(content, wanted.plies, kept)
    except CountFault as fault:
        faults.error(fault.code, file_place(name), fault.message, fault.hint)
        return None
    return kept


def _counts(name: str, kept: Kept) -> GameCounts:
    had = {key: tally for key, tally in kept.tallies.items() if tally.games}
    return GameCounts((CountedFile(name, kept.games, kept.latest),), had)


def _tell_slips(name: str, kept: Kept, faults: Faults) -> None:
    """The first games that can't be read, one by one, and how many more there are."""
    for slip in kept.slips[:MOST_SLIPS]:
        faults.warning("game-move", Place(name, slip.line, 1, 2),
                       f"this game counts only as far as it can be read: {slip.words}")  # fmt: skip
    more = kept.unread - len(kept.slips[:MOST_SLIPS])
    if more > 0:
        faults.warning("game-move", file_place(name),
                       f"{more:,} more games of this file count only as far as they can be read")  # fmt: skip


class _Shelf:
    """Where counts are kept; where that can't be, one notice tells it and everything is counted."""

    def __init__(self, files: BookletFiles, faults: Faults) -> None:
        self._files = files
        self._faults = faults
        self._store: Store | None = None
        self._usable = True

    def __enter__(self) -> _Shelf:
        return self

    def __exit__(self, *_: object) -> None:
        if self._store is not None:
            self._store.close()

    def known(self, stamp: Stamp) -> bytes | None:
        """The content of a file that bore the stamp; None where that is not known."""
        return self._ask(lambda store: store.content(stamp), None)

    def remember(self, stamp: Stamp, content: bytes) -> None:
        self._ask(lambda store: store.remember(stamp, content), None)

    def find(self, content: bytes, wanted: Wanted) -> Kept:
        """What is kept; nothing where there is none."""
        return self._ask(lambda store: store.find(content, wanted.plies, wanted.keys), NOTHING)

    def keep(self, content: bytes, plies: int, kept: Kept) -> None:
        self._ask(lambda store: store.keep(content, plies, kept), None)

    def _ask(self, work: Callable[[Store], T], otherwise: T) -> T:
        """The store is opened when it is first wanted, and left alone once it has failed."""
        if self._usable:
            try:
                self._store = self._store or Store.open(self._files)
                return work(self._store)
            except StoreFault as fault:
                self._usable = False
                self._faults.notice("counts-store", file_place(STORE_FILE),
                                    f"the games are counted anew: {fault}", "move the file away")  # fmt: skip
        return otherwise
