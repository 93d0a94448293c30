"""Transcripts with times: WebVTT, SubRip, or lines that begin with a time.

WebVTT is read by its specification (W3C WebVTT, 4 'Syntax' and 6 'Parsing': blocks parted by blank
lines, NOTE, STYLE and REGION blocks, cue identifiers, settings, tags, time marks within a cue);
SubRip has none, so it is read as WebVTT with commas (common practice, no source). A line of timed
text begins with a time, as `[00:12] words` or `1:02:30 words`; lines without one go on with the last.

Captions that roll repeat the line above in each cue: such repeats are dropped.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from builder.pgn.tell import Teller
from builder.place import Place, Source

MOST_WORDS = 30_000  # of a transcript; more than three hours of speech

_TIME = r"(?:(?P<{0}h>\d{{1,4}}):)?(?P<{0}m>\d{{1,2}}):(?P<{0}s>\d{{1,2}})(?:[.,](?P<{0}f>\d{{1,6}}))?"
_ARROW = re.compile(rf"\s*{_TIME.format('a')}\s*-->\s*{_TIME.format('b')}(?:\s.*)?")
_BROKEN_ARROW = re.compile(r"-->")
_LEADING = re.compile(rf"\s*[\[(<]?\s*{_TIME.format('a')}\s*[\])>]?\s*(?:[-–—:|]\s*)?(?=\S|$)")
_MARK = re.compile(rf"<{_TIME.format('a')}>")
_TAG = re.compile(r"</?[A-Za-z][^<>]*>|</>|\{\\[^{}]*\}")
_NOISE = re.compile(r"\[[^\[\]]{0,40}\]|♪[^♪]*♪?|^\s*(?:>>+|- )\s*")
_ENTITY = re.compile(r"&(?:[a-zA-Z]{2,8}|#\d{1,6}|#x[0-9a-fA-F]{1,5});")
_SKIPPED = ("NOTE", "STYLE", "REGION")


@dataclass(frozen=True, slots=True)
class Fragment:
    """Words on one line of the file; `time` in seconds if a mark stands before them. The column is
    that of the first letter."""

    text: str
    file: str
    line: int
    column: int
    time: float | None = None


@dataclass(frozen=True, slots=True)
class Cue:
    """What was said from `start` to `end`, in seconds."""

    start: float
    end: float
    fragments: tuple[Fragment, ...]


def read_transcript(source: Source, tell: Teller) -> list[Cue]:
    """The cues in the order of the file; faults are told."""
    lines = source.text.split("\n")
    if any(_ARROW.fullmatch(line) for line in lines):
        cues = list(_without_repeats(_blocks(source.file, lines, tell)))
    else:
        cues = list(_timed_lines(source.file, lines, tell))
    for before, cue in zip(cues, cues[1:], strict=False):
        if cue.start < before.start and cue.fragments:
            place = Place(source.file, cue.fragments[0].line, 1, 2)
            tell.leave("times that go backwards: what is said is read in the order of the file",
                       lambda place=place: place)  # fmt: skip
    return cues


# --- cues in blocks -------------------------------------------------------------------------------


def _blocks(file: str, lines: Sequence[str], tell: Teller) -> Iterator[Cue]:
    """Cues of WebVTT or SubRip. A cue ends at a blank line, or where the next one's times stand."""
    at, begun = 0, False
    while at < len(lines):
        line = lines[at]
        arrow = _ARROW.fullmatch(line)
        if arrow:
            begun = True
            end = at + 1
            while end < len(lines) and lines[end].strip() and not _ARROW.fullmatch(lines[end]):
                end += 1
            if end < len(lines) and _ARROW.fullmatch(lines[end]) and lines[end - 1].strip().isdigit():  # fmt: skip
                end -= 1  # The number of a cue that no blank line stands before.
            fragments = tuple(
                fragment for row in range(at + 1, end)
                for fragment in _fragments(file, lines[row], row + 1, 0)
            )  # fmt: skip
            yield Cue(_seconds(arrow, "a"), _seconds(arrow, "b"), fragments)
            at = max(end, at + 1)
        elif _BROKEN_ARROW.search(line):
            _tell_time(file, at, line, tell)
            at += 1
        elif line.split(" ")[0].strip() in _SKIPPED:
            while at < len(lines) and lines[at].strip():
                at += 1
        else:
            if begun:
                _tell_stray(file, lines, at, tell)
            at += 1


def _tell_time(file: str, at: int, line: str, tell: Teller) -> None:
    tell.error("talk-time", Place(file, at + 1, 1, len(line) + 1),
               "these times can't be read, and what was said then is left out",
               "as 00:01:02.500 --> 00:01:04.000")  # fmt: skip


def _tell_stray(file: str, lines: Sequence[str], at: int, tell: Teller) -> None:
    """Words between the cues that are no cue's identifier."""
    following = lines[at + 1] if at + 1 < len(lines) else ""
    if lines[at].strip() and "-->" not in following:
        tell.leave("words outside the cues are left out",
                   lambda: Place(file, at + 1, 1, len(lines[at]) + 1))  # fmt: skip


def _without_repeats(cues: Iterator[Cue]) -> Iterator[Cue]:
    """Cues without the lines that they repeat from the one before."""
    above: list[str] = []
    for cue in cues:
        rows: dict[int, list[Fragment]] = {}
        for fragment in cue.fragments:
            rows.setdefault(fragment.line, []).append(fragment)
        texts = [" ".join(" ".join(part.text for part in row).split()) for row in rows.values()]
        repeated = next(
            (count for count in range(min(len(above), len(texts)), 0, -1)
             if above[-count:] == texts[:count] and len(texts[0].split()) > 1),
            0,
        )  # fmt: skip
        above = texts or above
        kept = [part for row in list(rows.values())[repeated:] for part in row]
        if kept:
            yield Cue(cue.start, cue.end, tuple(kept))


# --- lines with times -----------------------------------------------------------------------------


def _timed_lines(file: str, lines: Sequence[str], tell: Teller) -> Iterator[Cue]:
    begun: float | None = None
    held: list[Fragment] = []
    untimed = 0
    for row, line in enumerate(lines, start=1):
        match = _LEADING.match(line)
        if match:
            time = _seconds(match, "a")
            if begun is not None:
                yield Cue(begun, max(begun, time), tuple(held))
            begun, held = time, []
            held += _fragments(file, line[match.end() :], row, match.end())
        elif line.strip():
            if begun is None:
                untimed, begun = untimed or row, 0.0
            held += _fragments(file, line, row, 0)
    if untimed:
        place = Place(file, untimed, 1, len(lines[untimed - 1]) + 1)
        tell.leave("words before the first time count as said at the start", lambda: place)
    if begun is not None:
        yield Cue(begun, begun + len(held), tuple(held))


# --- a line's words -------------------------------------------------------------------------------


def _fragments(file: str, line: str, row: int, offset: int) -> Iterator[Fragment]:
    """The line's words between its time marks; tags and notes of sounds become blanks, so that
    columns stay."""
    text = _NOISE.sub(_blank, _TAG.sub(_blank, line))
    text = _ENTITY.sub(lambda match: _padded(html.unescape(match.group()), match), text)
    at, time = 0, None
    for mark in [*_MARK.finditer(text), None]:
        end = mark.start() if mark else len(text)
        part = text[at:end]
        if part.strip():
            lead = len(part) - len(part.lstrip())
            yield Fragment(part.strip(), file, row, offset + at + lead + 1, time)
        if mark:
            at, time = mark.end(), _seconds(mark, "a")


def _blank(match: re.Match[str]) -> str:
    return " " * len(match.group())


def _padded(text: str, match: re.Match[str]) -> str:
    return text.ljust(len(match.group()))


def _seconds(match: re.Match[str], prefix: str) -> float:
    hours, minutes, seconds = (int(match[prefix + part] or 0) for part in "hms")
    fraction = float(f"0.{match[prefix + 'f'] or 0}")
    return hours * 3600 + minutes * 60 + seconds + fraction


def clock(seconds: float) -> str:
    """`3:07`, or `1:03:07`."""
    whole = int(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{left:02}" if hours else f"{minutes}:{left:02}"
