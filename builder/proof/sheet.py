"""The proof sheet: one HTML page for the author, and its summary for the terminal.

In: a report and the model. Out: a page that is whole in itself: style, fonts and boards are in
it, it has no script and fetches nothing. Findings stand by chapter, the worst first.
"""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeAlias

import jinja2
from markupsafe import Markup

from builder.draw import glyphs, svg
from builder.draw.board import BoardView
from builder.draw.text import describe
from builder.faults import Faults, Severity
from builder.model import Booklet, Chapter
from builder.own_file import Kind, OwnFile, beginning, write_own_files
from builder.place import Place, Source, file_place
from builder.proof.finding import Finding
from builder.proof.report import ProofReport
from builder.source.files import BookletFiles
from builder.source.kept import FOLDER

TEMPLATES = glyphs.FONTS.parent / "proof"
SHEET_FILE = f"{FOLDER}/proof.html"
_MARK = b'<meta name="generator" content="Plyleaf, a proof sheet">'
_KIND = Kind(beginning(lambda head: _MARK in head), "this is no proof sheet")
MANY = 5  # notices of one code in a chapter; more are folded
_FACES = (
    ("SourceSerif4-Regular.ttf.woff2", "normal", 400),
    ("SourceSerif4-It.ttf.woff2", "italic", 400),
    ("SourceSerif4-Semibold.ttf.woff2", "normal", 600),
)
Texts: TypeAlias = Mapping[str, Source]  # the authors' files by name, to quote lines from


@dataclass(frozen=True, slots=True)
class Excerpt:
    """An authored line in three parts, the middle one being what the finding is about."""

    before: str
    marked: str
    behind: str


@dataclass(frozen=True, slots=True)
class Item:
    """A finding as the page shows it; `accept` is empty where it can't be accepted."""

    severity: str
    code: str
    place: str
    message: str
    hint: str
    excerpt: Excerpt | None
    accept: str
    board: Markup
    turn: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Fold:
    """Many notices of one kind: a list to open, without boards."""

    title: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A chapter with findings."""

    title: str
    count: str
    items: tuple[Item, ...]
    folds: tuple[Fold, ...]


def sheet_html(booklet: Booklet, report: ProofReport, texts: Texts) -> str:
    """The page."""
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES), autoescape=True,
        undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    style = (TEMPLATES / "sheet.css").read_text(encoding="utf-8")
    return environment.get_template("sheet.html").render(
        title=booklet.title,
        style=Markup("".join(_faces()) + svg.STYLE + style),
        symbols=Markup(svg.symbols()),
        summary=summary_text(report),
        facts=tuple(facts(report)),
        chapters=tuple(_sections(booklet, report.findings, texts)),
        accepted=tuple(_accepted(booklet, report)),
    )  # fmt: skip


def summary_text(report: ProofReport) -> str:
    """`2 errors, 7 warnings, 1 notice`, or that all is well."""
    counts = _counts(report.findings)
    if report.broken:
        return counts or "The chapters have errors"
    return counts or "Nothing found: the booklet is clean"


def facts(report: ProofReport) -> Iterator[str]:
    """Sentences about what was looked at."""
    claims = report.claims
    if report.broken:
        yield "The chapters have errors, so that only the claims were proved: plyleaf check tells"
    if claims.total:
        true = claims.total - claims.false - claims.skipped
        parts = [f"{true} proved"]
        parts += [f"{claims.false} false"] if claims.false else []
        parts += [f"{claims.skipped} left to an engine"] if claims.skipped else []
        yield f"{_counted(claims.total, 'claim')}: {', '.join(parts)}"
    engine = report.engine
    if engine is not None:
        verdicts = _counted(engine.judged, "verdict")
        answers = _counted(engine.asked + engine.kept, "answer")
        yield (f"{engine.name}, {engine.nodes:,} nodes a position: {verdicts} from {answers}, "
               f"{engine.asked:,} of them new")  # fmt: skip
        if engine.failure:
            questions = _counted(engine.missing, "question")
            yield f"The engine failed: {engine.failure}; {questions} left open"
    if report.accepted:
        yield f"{_counted(len(report.accepted), 'finding')} accepted"


# --- findings -----------------------------------------------------------------------------------


def _sections(booklet: Booklet, findings: Iterable[Finding],
              texts: Texts) -> Iterator[Section]:  # fmt: skip
    by_chapter: dict[str, list[Finding]] = {}
    for finding in findings:
        by_chapter.setdefault(finding.chapter, []).append(finding)
    for chapter in booklet.chapters:
        found = by_chapter.get(chapter.slug, [])
        found.sort(key=lambda finding: (-finding.severity, finding.place, finding.code))
        notices = Counter(one.code for one in found if one.severity == Severity.NOTICE)
        many = [code for code, count in notices.items() if count > MANY]
        if found:
            yield Section(
                chapter.title, _counts(found),
                tuple(_item(one, chapter, texts, number) for number, one in enumerate(found)
                      if one.code not in many),
                tuple(_fold(code, found, chapter, texts) for code in many),
            )  # fmt: skip


def _fold(code: str, found: list[Finding], chapter: Chapter, texts: Texts) -> Fold:
    items = tuple(_item(replace(one, position=None), chapter, texts, number)
                  for number, one in enumerate(found) if one.code == code)  # fmt: skip
    return Fold(f"{code}: {_counted(len(items), 'notice')}", items)


def _item(finding: Finding, chapter: Chapter, texts: Texts, number: int) -> Item:
    position = finding.position
    turn = "" if position is None else f"{'White' if position.white_to_move else 'Black'} to move"
    return Item(
        severity=finding.severity.word,
        code=finding.code,
        place=str(finding.place),
        message=_sentence(finding.message),
        hint=finding.hint,
        excerpt=_excerpt(finding.place, _line(texts, finding.place)),
        accept="" if finding.severity == Severity.ERROR else f'"{finding.key}: …"',
        board=_board(finding, chapter, f"finding.{chapter.slug}.{number}"),
        turn=turn,
    )


def _accepted(booklet: Booklet, report: ProofReport) -> Iterator[Item]:
    for accepted in report.accepted:
        finding = accepted.finding
        yield Item(finding.severity.word, finding.code, str(finding.place),
                   _sentence(finding.message), "", None, "", Markup(""), "", accepted.reason)  # fmt: skip


def _board(finding: Finding, chapter: Chapter, ident: str) -> Markup:
    position = finding.position
    if position is None:
        return Markup("")
    view = BoardView(position.placement, white_to_move=position.white_to_move,
                     flip=chapter.side == "black")  # fmt: skip
    title = f"{finding.code} at {finding.place}"
    return Markup(svg.board_svg(view, title=title, ident=ident, desc=describe(view)))


def _line(texts: Texts, place: Place) -> str:
    source = texts.get(place.file)
    return source.line_text(place.line) if source else ""


def _excerpt(place: Place, line: str, room: int = 200) -> Excerpt | None:
    """The line round the place, cut where it is long."""
    if not line.strip():
        return None
    start, end = place.column - 1, min(place.end_column - 1, place.column - 1 + room)
    before, marked, behind = line[:start].lstrip(), line[start:end], line[end:].rstrip()
    if len(before) > room:
        before = "…" + before[-room:]
    if len(behind) > room:
        behind = behind[:room] + "…"
    return Excerpt(before, marked, behind)


# --- words --------------------------------------------------------------------------------------


def _counts(findings: Iterable[Finding]) -> str:
    severities = [finding.severity for finding in findings]
    counted = ((severities.count(severity), severity.word) for severity in
               (Severity.ERROR, Severity.WARNING, Severity.NOTICE))  # fmt: skip
    return ", ".join(_counted(number, word) for number, word in counted if number)


def _counted(number: int, word: str) -> str:
    return f"{number:,} {word}" if number == 1 else f"{number:,} {word}s"


def _sentence(message: str) -> str:
    return message[:1].upper() + message[1:] if message[:1].islower() else message


def _faces() -> Iterator[str]:
    """The text faces, in the page itself."""
    for file, style, weight in _FACES:
        data = base64.b64encode((glyphs.FONTS / file).read_bytes()).decode("ascii")
        yield (f'@font-face {{ font-family: "Source Serif 4"; font-style: {style}; '
               f"font-weight: {weight}; src: url(data:font/woff2;base64,{data}) "
               'format("woff2"); }\n')  # fmt: skip


def write_sheet(html: str, files: BookletFiles, out: Path | None, faults: Faults) -> Path | None:
    """Writes the page to `out`, or into its place in the booklet; where it is now, None after an
    error."""
    path = out or files.inside(SHEET_FILE)
    if path is None or (out is None and path.parent != files.folder / FOLDER):
        faults.error("out-place", file_place(SHEET_FILE), "a link in the booklet leads out of it",
                     "choose a file with --out")  # fmt: skip
        return None
    sheet = OwnFile(_KIND, path, html.encode("utf-8"), "" if out else SHEET_FILE)
    return path if write_own_files([sheet], faults) else None
