"""The whole way: a transcript to a draft chapter and a report of what was heard."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, TypeAlias

import chess

from builder import names
from builder.faults import Faults
from builder.intake import folder as folders
from builder.intake import titles
from builder.pgn.lines import LineReader
from builder.pgn.tell import Teller
from builder.intake.writing import chapter_text, name_positions
from builder.model import Position
from builder.openings.book import opened_book
from builder.place import Place, Source
from builder.settings import SETTINGS_FILE
from builder.speech.chapter import Written, write_chapter
from builder.speech.doubts import Judged, judged
from builder.speech.lexicon import load_lexicon
from builder.speech.meanings import Meanings
from builder.speech.persons import persons_in
from builder.speech.report import report_text
from builder.speech.hearings import Hearing
from builder.speech.search import Search
from builder.speech.transcripts import MOST_WORDS, read_transcript
from builder.speech.tree import Nodes
from builder.speech.utterance import Word, words_of

Progress: TypeAlias = Callable[[str, float], None]
_FIRST_WIDTH = 28  # of the search by which is heard who the persons are
MOST_TEXT = 16 << 20  # bytes of a transcript; an hour of rolling captions has half a million


@dataclass(frozen=True, slots=True)
class Talk:
    """A transcript to draft from. `into` is the booklet's folder; `start` where the moves begin."""

    stream: BinaryIO
    name: str
    into: Path
    title: str = ""
    language: str = "en"
    start: Position | None = None


@dataclass(frozen=True, slots=True)
class Heard:
    """What a hearing of a talk came to."""

    meanings: Meanings
    nodes: Nodes
    best: Hearing
    events: tuple[Judged, ...]

    def moves(self) -> int:
        return len(self.best.tree.children) - 1

    def unsure(self) -> int:
        """How many moves it is unsure of."""
        return sum(1 for one in self.events if one.is_unsure)

    def doubted(self) -> frozenset[int]:
        """The moves that are unsure by themselves, and those that hang on such."""
        return frozenset(one.event.node for one in self.events if one.is_unsure or one.hangs)


@dataclass(frozen=True, slots=True)
class DraftReport:
    """What was written; `report` is the table's file."""

    written: tuple[Path, ...]
    report: Path
    moves: int
    unsure: int
    todos: int
    listed: bool


def draft_talk(talk: Talk, faults: Faults, progress: Progress) -> DraftReport | None:
    """Writes the draft and the report; None, and errors, where there is nothing to write.

    Raises `folder.FolderFault` where the folder can't take the files.
    """
    target = folders.look_at(talk.into)
    tell = Teller(talk.name, faults)
    words = read_words(talk, tell)
    heard = hear(words, talk, progress) if words else None
    if words and heard is not None and not heard.moves():
        tell.error("talk-moves", tell.start, "no moves were heard in it",
                   "moves are heard in sentences such as 'knight f three'")  # fmt: skip
    tell.finish()
    if heard is None or not heard.moves():
        return None
    progress("writing the chapter", 0.97)
    written = write_chapter(talk.title or titles.file_title(talk.name), heard.meanings,
                            heard.nodes, heard.best, heard.events)  # fmt: skip
    report = _report_name(talk, target)
    texts = _texts(talk, target, written)
    texts.append((report, report_text(heard.meanings, heard.nodes, heard.events, written.claims)))
    paths = folders.write_new(target, texts)
    return DraftReport(tuple(paths), paths[-1], heard.moves(), heard.unsure(), written.todos,
                       target.listed)  # fmt: skip


def hear(words: list[Word], talk: Talk, progress: Progress) -> Heard:
    """The best hearing of the words, and how sure it is."""
    lexicon = load_lexicon(talk.language)
    progress("listening for moves", 0.05)
    meanings = Meanings(words, lexicon)
    start = talk.start.board() if talk.start is not None else chess.Board()
    with opened_book() as book:
        nodes = Nodes.at(start, lexicon.costs, book)
        first = Search(meanings, nodes, _FIRST_WIDTH).best(
            lambda share: progress("following the moves", 0.1 + 0.1 * share))  # fmt: skip
        persons = persons_in(nodes, first)
        # Heard again with all care: now it is known who 'I' and 'he' are.
        best = Search(meanings, nodes, persons=persons).best(
            lambda share: progress("following the moves", 0.2 + 0.5 * share))  # fmt: skip
        progress("weighing what is unsure", 0.7)
        return Heard(meanings, nodes, best, tuple(judged(meanings, nodes, best, persons)))


def read_words(talk: Talk, tell: Teller) -> list[Word]:
    """The words of the transcript; faults are told."""
    reader = LineReader(talk.stream, tell)
    rows: list[str] = []
    for line in reader.lines():
        if line.column > 1:
            rows[-1] += line.text
        else:
            rows.append(line.text)
    if tell.errors:
        return []
    source = Source(talk.name, "\n".join(rows))
    tell.faults.add_source(source)
    cues = read_transcript(source, tell)
    words: list[Word] = []
    for word in words_of(cues, load_lexicon(talk.language)):
        if len(words) == MOST_WORDS:
            tell.warning("talk-long", word.place, f"only the first {MOST_WORDS:,} words are heard",
                         "draft it in parts")  # fmt: skip
            break
        words.append(word)
    if not words and not tell.errors:
        tell.error("talk-empty", Place(talk.name, 1, 1, 2), "there are no words with times in it",
                   "a transcript is WebVTT, SubRip, or lines such as '[00:12] knight f3'")  # fmt: skip
    return words


def _texts(talk: Talk, target: folders.Target, written: Written) -> list[tuple[str, str]]:
    named = name_positions(written.drafts, target.taken)
    files = folders.chapter_files([draft.title for draft in written.drafts], target.chapters)
    texts = [(file, chapter_text(draft, named))
             for file, draft in zip(files, written.drafts, strict=True)]  # fmt: skip
    if not target.is_booklet:
        title = talk.title or titles.file_title(talk.name)
        texts.insert(0, (SETTINGS_FILE, folders.settings_text(title, "")))
    return texts


def _report_name(talk: Talk, target: folders.Target) -> str:
    """A name that is free: `talk.heard.tsv`."""
    stem = names.slug(talk.name.rsplit(".", 1)[0])[:60].strip("-") or "talk"
    name, count = f"{stem}.heard.tsv", 1
    while (target.files.folder / name).exists():
        count += 1
        name = f"{stem}.heard-{count}.tsv"
    return name
