"""Cues to words: small letters, each with its place in the file and the time it was said."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from builder.place import Place
from builder.source.movetext import SAN
from builder.speech.lexicon import Lexicon
from builder.speech.transcripts import Cue, Fragment

_CHUNK = re.compile(r"\S+")
_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")
_SQUARES = re.compile(r"(?P<head>[^\W\d_]*?)(?P<tail>(?:[a-h][1-8]){1,4})")
_NUMBERED = re.compile(r"(?P<number>\d{1,3})\.{1,3}(?P<rest>\S+)")
_ENDS = re.compile(r"[.!?…]+[\"'”’)]*$")
_PAUSES = re.compile(r"[,;:–—-]+[\"'”’)]*$")
_LOW_BISHOP = re.compile(r"b[a-h]?x?[a-h][1-8][+#]?")  # a bishop's move in small letters, or a pawn's
_LONG_PAUSE = 1.0  # seconds between two cues: a sentence may end there
_LONGEST_SENTENCE = 40  # words in one on average, where a transcript marks their ends
END, PAUSE = 2, 1


@dataclass(frozen=True, slots=True)
class Word:
    """`text` in small letters, `raw` as it stands with its signs; `san` if it is a move in letters.

    `stop` tells what stands behind it: `END` of a sentence, `PAUSE`, or 0. `time` is in seconds.
    """

    text: str
    raw: str
    place: Place
    time: float
    stop: int = 0
    san: str = ""


def ends_within(words: Sequence[Word], start: int, end: int) -> bool:
    """Whether a sentence ends between two words."""
    return any(word.stop == END for word in words[start : end - 1])


def words_of(cues: Iterable[Cue], lexicon: Lexicon) -> Iterator[Word]:
    """The words in order."""
    cues = list(cues)
    punctuated = _is_punctuated(cues)
    held: Word | None = None
    end = 0.0
    for cue in cues:
        for number, (fragment, text, at, time) in enumerate(_timed(cue)):
            for word in _words(fragment, text, at, time, lexicon):
                if held is not None:
                    gap = number == 0 and not punctuated and cue.start - end >= _LONG_PAUSE
                    yield _stopped(held, END) if gap and not held.stop else held
                held = word
        end = cue.end
    if held is not None:
        yield held


def _is_punctuated(cues: Sequence[Cue]) -> bool:
    """Whether the ends of sentences are marked, so that pauses need not tell them."""
    chunks = [chunk for cue in cues for fragment in cue.fragments for chunk in fragment.text.split()]
    return _LONGEST_SENTENCE * sum(1 for one in chunks if _ENDS.search(one)) > len(chunks)


def _stopped(word: Word, stop: int) -> Word:
    return Word(word.text, word.raw, word.place, word.time, stop, word.san)


def _timed(cue: Cue) -> Iterator[tuple[Fragment, str, int, float]]:
    """The stretches without blanks, with the time of each: that of its mark, or by its share."""
    chunks = [(fragment, match) for fragment in cue.fragments
              for match in _CHUNK.finditer(fragment.text)]  # fmt: skip
    for number, (fragment, match) in enumerate(chunks):
        share = number / len(chunks)
        said = cue.start + share * max(0.0, cue.end - cue.start)
        time = said if fragment.time is None else fragment.time
        yield fragment, match.group(), match.start(), time


def _words(fragment: Fragment, chunk: str, at: int, time: float, lexicon: Lexicon) -> Iterator[Word]:  # fmt: skip
    stop = END if _ENDS.search(chunk) else PAUSE if _PAUSES.search(chunk) else 0
    number = _NUMBERED.fullmatch(chunk)
    if number and _san(number["rest"]):
        yield _word(number["number"], chunk, fragment, at, len(number["number"]), time, 0)
        at += number.start("rest")
        chunk = number["rest"]
    if san := _san(chunk):
        yield _word(san.lower(), chunk, fragment, at, len(chunk), time, stop, san)
        return
    found = [piece for match in _WORD.finditer(chunk) for piece in _parted(match, lexicon)]
    for index, (text, start, length) in enumerate(found):
        last = index == len(found) - 1
        raw = chunk if len(found) == 1 else chunk[start : start + length]
        yield _word(text, raw, fragment, at + start, length, time, stop if last else 0)


def _word(text: str, raw: str, fragment: Fragment, at: int, length: int, time: float, stop: int,
          san: str = "") -> Word:  # fmt: skip
    column = fragment.column + at
    place = Place(fragment.file, fragment.line, column, column + max(1, length))
    return Word(text.lower().replace("’", "'"), raw, place, time, stop, san)


def _san(chunk: str) -> str:
    """The move that a chunk is in letters, if it says more than a square."""
    text = chunk.strip("\"'“”‘’(),;:.!?…")
    if len(text) < 3:
        return ""
    if text.lower() in ("o-o", "o-o-o"):
        return text.upper()
    if text[0] in "kqrn":
        text = text[0].upper() + text[1:]
    more = any(sign in text for sign in "=xXO0+#") or text[0] in "KQRBN" or _LOW_BISHOP.fullmatch(text)
    return text if more and (SAN.fullmatch(text) or _LOW_BISHOP.fullmatch(text)) else ""


def _parted(match: re.Match[str], lexicon: Lexicon) -> list[tuple[str, int, int]]:
    """A word that was run together of words and squares in its parts: `knightf3`, `e4e5`."""
    text, start = match.group().lower(), match.start()
    squares = _SQUARES.fullmatch(text)
    head = squares["head"] if squares else ""
    if squares and (lexicon.knows(head) if head else len(text) > 2):
        parts = [(head, start, len(head))] if head else []
        for at in range(squares.start("tail"), len(text), 2):
            parts.append((text[at : at + 2], start + at, 2))
        return parts
    if text.endswith(("th", "st", "nd", "rd")) and text[:-2].isdigit():
        return [(text, start, len(text))]
    return [(text, start, len(text))]
