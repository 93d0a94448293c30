"""A document from HTML to PDF: its parts laid out, side by side, until their pages agree.

A part's layout depends on nothing but its own HTML, the side it opens on, and how many digits the
page numbers have that it prints (`builder.press.numbers`). The digits are guessed from the
lengths of the parts at first; then the parts that a wrong guess touched are laid out again. The
guess does not depend on what is kept from earlier builds: those builds only save the work, and
the result is the same byte for byte.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, replace
from hashlib import sha256
from importlib.metadata import version
from itertools import accumulate
from pathlib import Path

from builder.draw import print_board
from builder.faults import Fault, Faults, Severity
from builder.place import Place, file_place
from builder.press import fetch
from builder.press.join import COVER_PAGES, Whole, join
from builder.press.kept import Kept
from builder.press.laid import Extent, FontUse, Laid, decode, extent
from builder.press.parts import Part, Role, split
from builder.press.variants import PLAIN
from builder.press.weasy import Setting, Sheaf, Spot
from builder.press.workers import Done, Glyphs, Helpers, Workers
from builder.settings import SETTINGS_FILE

_HERE = file_place(SETTINGS_FILE)
_TAG = re.compile(r"<[^>]*>")
_BOARD = 330  # letters of text that would stand in a board's room, for a guess (measured)
_ROUNDS = 10
_ONLY_MORE = 6  # rounds after which room for digits only grows, so that the rounds end


@dataclass(frozen=True, slots=True)
class PdfFacts:
    """What the other outputs want to know of the PDF.

    `pages` counts every page, also the `blanks` behind the text and a cover's. `front_pages` counts
    those before page 1, which are numbered in roman. `page_of` gives the printed page number of every
    anchor behind the front.
    """

    pages: int
    front_pages: int
    page_of: Mapping[str, int]
    blanks: int = 0


@dataclass(frozen=True, slots=True)
class Wrap:
    """A cover's front and back as documents of a page each, laid out in their own setting."""

    front: str
    back: str
    setting: Setting


@dataclass(frozen=True, slots=True)
class Copy:
    """What is to be laid out: the main matter, what stands before and behind it, and the cover
    round it. Blank pages make the number of pages a multiple of `multiple`; `variant` is one of
    `press.variants`."""

    main: str
    frame: str = ""
    letters: int = 1500  # that a page holds, about, for the first guess of how many there are
    multiple: int = 1
    variant: str = PLAIN
    wrap: Wrap | None = None


def press(copy: Copy, setting: Setting, target: Path, faults: Faults, kept: Kept,
          helpers: Helpers | None = None) -> PdfFacts:  # fmt: skip
    """Lays out `copy` and writes the PDF to `target`.

    With `helpers` they alone lay out, and this process does something else meanwhile. Raises
    PressMissing, PressFailed.
    """
    fonts: dict[str, bytes] = {}
    if copy.wrap and setting.bounds is None:  # a cover's fonts are cut down here, too
        setting = replace(setting, bounds=copy.wrap.setting.bounds)
    with Workers(setting, lent=helpers) as workers:
        store = _Store(setting, workers, kept, faults, fonts)
        parts = split(copy.main, copy.frame)
        book = _agreed(parts, store, copy.letters)
        cover = _cover(copy.wrap, kept, faults, fonts) if copy.wrap else None
        for anchor in book.missing():
            faults.error("print-file", _HERE, f"No anchor #{anchor} for internal URI reference")
        pages = book.pages + (COVER_PAGES if cover else 0)
        blanks = -pages % copy.multiple
        with target.open("wb") as file:
            join(
                ((decode(store.part(sheaf)), first)
                 for sheaf, first in zip(book.sheaves, book.firsts, strict=True)),
                Whole(book.front_pages, blanks, cover, setting.cut, copy.variant),
                book.page_of, store.subset, file,
            )  # fmt: skip
    kept.tidy()
    return PdfFacts(pages + blanks, book.front_pages, book.page_of, blanks)


def _cover(wrap: Wrap, kept: Kept, faults: Faults, fonts: dict[str, bytes]) -> tuple[Laid, Laid]:
    """The two outer pages; the files of their fonts go into `fonts`."""
    leaves = [Sheaf(html, recto=True, first=1, filled=False, refers_to=())
              for html in (wrap.front, wrap.back)]  # fmt: skip
    with Workers(wrap.setting, 1) as workers:
        store = _Store(wrap.setting, workers, kept, faults, fonts)
        store.lay_out(leaves)
    front, back = (decode(store.part(leaf)) for leaf in leaves)
    return front, back


def measure(html: str, setting: Setting, faults: Faults) -> Mapping[str, Spot]:
    """Where every anchor of a document would stand. Raises PressMissing, PressFailed."""
    with Workers(setting, 1) as workers:
        measured = workers.measure(html)
    faults.repeat(measured.told)
    return measured.spots


# --- pages that agree -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Book:
    """Parts with their pages, and what was laid out for them."""

    parts: Sequence[Part]
    extents: Sequence[Extent]
    sheaves: Sequence[Sheaf] = ()

    @property
    def pages(self) -> int:
        return sum(one.pages for one in self.extents)

    @property
    def front_pages(self) -> int:
        return sum(one.pages for part, one in zip(self.parts, self.extents, strict=True)
                   if part.role is Role.FRONT)  # fmt: skip

    @property
    def firsts(self) -> list[int]:
        """The number of each part's first page: the front and what follows count from 1 each."""
        before = accumulate((one.pages for one in self.extents), initial=0)
        front = self.front_pages
        return [1 + pages - (0 if part.role is Role.FRONT else front)
                for part, pages in zip(self.parts, before, strict=False)]  # fmt: skip

    @property
    def page_of(self) -> dict[str, int]:
        found: dict[str, int] = {}
        for part, one, first in zip(self.parts, self.extents, self.firsts, strict=True):
            if part.role is not Role.FRONT:
                for anchor, page in one.page_of.items():
                    found.setdefault(anchor, first + page)
        return found

    def missing(self) -> list[str]:
        """The anchors that are told the page of, and are on none."""
        known = {anchor for one in self.extents for anchor in one.page_of}
        wanted = {anchor for part in self.parts for anchor in part.refers_to}
        return sorted(wanted - known)


def _agreed(parts: Sequence[Part], store: _Store, letters: int) -> _Book:
    """Lays out until every part has the room that the numbers on its pages need.

    Two chapters of middle length come first: they tell how good the guess of the others' lengths
    is. The front and the indexes come when the main matter stands, whose pages they tell.
    """
    samples, main = _samples(parts), [at for at, part in enumerate(parts) if part.role is Role.MAIN]
    stages = [samples, main] if samples else [main]
    guessed = [_guess(part, letters) for part in parts]
    laid: dict[int, Extent] = {}
    before: list[Sheaf] = []
    room: dict[str, int] = {}
    for turn in range(_ROUNDS):
        book = _Book(parts, _mixed(guessed, laid))
        digits = {anchor: len(str(page)) for anchor, page in book.page_of.items()}
        if turn >= _ONLY_MORE:
            digits = {anchor: max(places, room.get(anchor, 1)) for anchor, places in digits.items()}
        room = digits
        sheaves = [
            _sheaf(part, first, laid[at].pages if at in laid else 1, room)
            for at, (part, first) in enumerate(zip(parts, book.firsts, strict=True))
        ]
        if sheaves == before:
            break
        asked = stages.pop(0) if stages else range(len(parts))
        if len(asked) == len(parts):
            before = sheaves
        laid.update(zip(asked, store.lay_out([sheaves[at] for at in asked]), strict=True))
    return _Book(parts, _mixed(guessed, laid), before)


def _samples(parts: Sequence[Part]) -> list[int]:
    """Chapters from the middle of their lengths, where there are many. What has no boards, as
    the solutions, is not like the others."""
    main = [at for at, part in enumerate(parts) if part.role is Role.MAIN and _boards(part)]
    ordered = sorted(main, key=lambda at: len(parts[at].html))
    middle = len(ordered) // 2
    return ordered[middle - 1 : middle + 1] if len(main) > 4 else []


def _mixed(guessed: Sequence[Extent], laid: Mapping[int, Extent]) -> list[Extent]:
    """What is laid out, and what is not guessed by it."""
    known = sum(one.pages for one in laid.values())
    # Rounded, so that the guess stays as it is when a word is changed.
    scale = round(10 * known / sum(guessed[at].pages for at in laid)) / 10 if laid else 1
    return [
        laid.get(at) or replace(one, pages=max(2, 2 * round(one.pages * scale / 2)))
        for at, one in enumerate(guessed)
    ]


def _guess(part: Part, letters: int) -> Extent:
    shown = len(" ".join(_TAG.sub("", part.html).split()))
    shown += _BOARD * _boards(part)
    return Extent(max(1, round(shown / letters)), dict.fromkeys(part.anchors, 0), {}, ())


def _boards(part: Part) -> int:
    return part.html.count(f'class="{print_board.CLASS}')


def _sheaf(part: Part, first: int, pages: int, room: Mapping[str, int]) -> Sheaf:
    """What the part is laid out from, when its first page has the number `first`.

    Numbers of as many digits are alike, as long as there is none of more digits on its pages.
    """
    filled = part.role is not Role.FRONT
    if filled and len(str(first)) == len(str(first + pages - 1)):
        alike = 10 ** (len(str(first)) - 1)
    else:
        alike = first
    html = part.text(lambda anchor: room.get(anchor, 1))
    return Sheaf(html, part.recto or first % 2 == 1, alike, filled, part.refers_to)


# --- what is laid out already ---------------------------------------------------------------------


class _Store:
    """Parts by what they are laid out from: of this build, of earlier ones, or made now."""

    def __init__(self, setting: Setting, workers: Workers, kept: Kept, faults: Faults,
                 fonts: dict[str, bytes]) -> None:  # fmt: skip
        """`fonts` are files by their SHA-256, which other stores may know too."""
        self._shelves = setting.shelves
        self._places = frozenset(setting.places.values())
        self._workers = workers
        self._kept = kept
        self._faults = faults
        self._code = _digest(*_versions(workers.pango_version()))
        self._setting = _digest(self._code, repr(setting.cut),
                                *(text for sheet in setting.sheets
                                  for text in (sheet.file, sheet.text)))  # fmt: skip
        self._parts: dict[Sheaf, bytes] = {}
        self._fonts = fonts
        self._files: dict[str, str] = {}

    def lay_out(self, sheaves: Sequence[Sheaf]) -> list[Extent]:
        for sheaf in sheaves:
            if sheaf not in self._parts and (part := self._found(sheaf)):
                self._parts[sheaf] = part
        missing = [sheaf for sheaf in dict.fromkeys(sheaves) if sheaf not in self._parts]
        for sheaf, done in zip(missing, self._workers.lay_out(missing), strict=True):
            self._take(sheaf, done)
        return [extent(self._parts[sheaf]) for sheaf in sheaves]

    def part(self, sheaf: Sheaf) -> bytes:
        return self._parts[sheaf]

    def subset(self, use: FontUse) -> bytes:
        """The font's file with the glyphs of `use`."""
        name = f"{_digest(self._code, use.file, *map(str, use.text))}.subset"
        found = self._kept.read(name)
        if found is None:
            found = self._workers.subset(Glyphs(self._font(use.file), tuple(use.text)))
            self._kept.keep(name, found)
        return found

    def _take(self, sheaf: Sheaf, done: Done) -> None:
        self._faults.repeat(done.told)
        self._parts[sheaf] = done.made.part
        self._fonts.update(done.made.fonts)
        # What is told at an author's picture is told anew by every build: its place may move.
        if not any(fault.place in self._places for fault in done.told):
            self._kept.keep(self._name(sheaf), _with_told(done))
            for digest, file in done.made.fonts.items():
                self._kept.keep(f"{digest}.font", file)

    def _found(self, sheaf: Sheaf) -> bytes | None:
        """The part as an earlier build made it, if the files are the same that it used."""
        body = self._kept.read(self._name(sheaf))
        if body is None:
            return None
        told, part = _told(body)
        same = all(self._file(address) == digest for address, digest in extent(part).files.items())
        if not same or not self._has_fonts(part):
            return None
        self._faults.repeat(told)
        return part

    def _has_fonts(self, part: bytes) -> bool:
        return all(self._font(digest) for digest in extent(part).fonts)

    def _font(self, digest: str) -> bytes:
        """A font's file; empty where it is not kept."""
        if digest not in self._fonts:
            self._fonts[digest] = self._kept.read(f"{digest}.font") or b""
        return self._fonts[digest]

    def _file(self, address: str) -> str:
        """The SHA-256 of what may be read at an address; empty where nothing may."""
        if address not in self._files:
            try:
                body, _ = fetch.read(address, self._shelves)
                self._files[address] = sha256(body).hexdigest()
            except fetch.Refused:
                self._files[address] = ""
        return self._files[address]

    def _name(self, sheaf: Sheaf) -> str:
        made_from = _digest(self._setting, sheaf.html, str(sheaf.recto), str(sheaf.first),
                            str(sheaf.filled), *sheaf.refers_to)  # fmt: skip
        return f"{made_from}.part"


def _with_told(done: Done) -> bytes:
    """A part as it is kept, behind what was told when it was laid out."""
    told = json.dumps([
        [one.code, one.severity.value, astuple(one.place), one.message, one.hint, one.excerpt,
         one.cut]
        for one in done.told
    ]).encode("ascii")  # fmt: skip
    return len(told).to_bytes(4, "big") + told + done.made.part


def _told(body: bytes) -> tuple[list[Fault], bytes]:
    """What `_with_told` put together."""
    start = 4 + int.from_bytes(body[:4], "big")
    told = [Fault(code, Severity(severity), Place(*place), *texts)
            for code, severity, place, *texts in json.loads(body[4:start])]  # fmt: skip
    return told, body[start:]


def _digest(*texts: str) -> str:
    """The SHA-256 of texts and their lengths."""
    found = sha256()
    for text in texts:
        data = text.encode("utf-8", "surrogatepass")
        found.update(len(data).to_bytes(8, "big") + data)
    return found.hexdigest()


def _versions(pango: int) -> tuple[str, ...]:
    """What else a layout depends on: the libraries, and the code of this room."""
    sources = sorted(Path(__file__).parent.glob("*.py"))
    libraries = [f"{name} {version(name)}" for name in ("weasyprint", "pydyf", "fonttools")]
    return (*libraries, f"pango {pango}", *(path.read_text("utf-8") for path in sources))
