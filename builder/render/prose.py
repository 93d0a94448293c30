"""Blocks to HTML fragments.

In: a chapter's blocks. Out: `Markup`, with everything an author wrote escaped. Diagrams that
stand inside a paragraph are set between its parts, because a figure can't stand in one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from markupsafe import Markup

from builder import names
from builder.model import (
    Block, Break, CodeBlock, Diagram, Exercise, Footnote, FootnoteRef, Game, Heading, Inline,
    ItemList, Line, OpeningTable, Paragraph, Picture, Played, Quote, Rule, Table, Text,
)  # fmt: skip
from builder.render import exercises, figures, games, lines, opening_tables, played
from builder.render.inline import bare, inline, inlines, plain
from builder.render.medium import Context

_EMPTY = Markup("")
_SENTENCE_ENDS = (".", "!", "?", ":", "\u2026")


# Exercises stand two abreast when nothing of them is longer than this, in letters.
_SHORT_TASK = 240
# From so many columns on a table is wide, and with more rows than this it may be parted.
_MANY_COLUMNS = 6
_MANY_ROWS = 12


def blocks(nodes: Iterable[Block], at: Context) -> Markup:
    return Markup("\n").join(_together(nodes, at))


def _together(nodes: Iterable[Block], at: Context) -> Iterator[Markup]:
    """The blocks one after another; diagrams and short exercises that follow each other, and
    nothing between them, are set as one."""
    diagrams: list[Diagram] = []
    tasks: list[Exercise] = []
    for node in nodes:
        alone = _diagrams_alone(node)
        if diagrams and not alone:
            yield figures.row(diagrams, at)
            diagrams = []
        is_short = isinstance(node, Exercise) and _is_short(node)
        if tasks and not is_short:
            yield _tasks(tasks, at)
            tasks = []
        if alone:
            diagrams.extend(alone)
        elif isinstance(node, Exercise) and is_short:
            tasks.append(node)
        else:
            yield _block(node, at)
    if diagrams:
        yield figures.row(diagrams, at)
    if tasks:
        yield _tasks(tasks, at)


def _diagrams_alone(node: Block) -> list[Diagram]:
    """The diagrams of a block that holds nothing else."""
    if isinstance(node, Diagram):
        return [node]
    if not isinstance(node, Paragraph):
        return []
    rest = [one for one in node.inlines if not isinstance(one, Diagram)]
    if any(not isinstance(one, Break) and not _is_blank(one) for one in rest):
        return []
    return [one for one in node.inlines if isinstance(one, Diagram)]


def _is_blank(node: Inline) -> bool:
    return isinstance(node, Text) and not node.text.strip()


def _is_short(exercise: Exercise) -> bool:
    texts = (*exercise.task, *exercise.hint)
    return figures.can_stand_abreast(exercise.diagram) and all(
        isinstance(block, Paragraph)
        and len(plain(block.inlines)) <= _SHORT_TASK
        and not any(isinstance(node, Diagram | Picture) for node in block.inlines)
        for block in texts
    ) and len(texts) <= 2  # fmt: skip


def _tasks(tasks: list[Exercise], at: Context) -> Markup:
    found = Markup("\n").join(_block(task, at) for task in tasks)
    if len(tasks) == 1 or not at.medium.on_paper or at.medium.beside(tasks[0]):
        return found
    return Markup('<div class="exercises">\n{}\n</div>').format(found)


def _block(node: Block, at: Context) -> Markup:
    match node:
        case Paragraph():
            return paragraph(node.inlines, at)
        case Heading():
            return _heading(node, at)
        case Line():
            return lines.line(node, at)
        case Diagram():
            return figures.figure(node, at)
        case Exercise():
            return exercises.task(node, blocks(node.task, at), blocks(node.hint, at), at)
        case ItemList():
            return _item_list(node, at)
        case Quote():
            return Markup("<blockquote>\n{}\n</blockquote>").format(blocks(node.blocks, at))
        case CodeBlock():
            return Markup("<pre><code>{}</code></pre>").format(node.text)
        case Rule():
            return Markup("<hr>")
        case Table():
            return _table(node, at)
        case Game():
            return games.game(node, at)
        case OpeningTable():
            return opening_tables.table(node, at)
        case Played():
            return played.played(node, at)
    raise TypeError(f"no block: {node!r}")


def solution(exercise: Exercise, at: Context) -> Markup:
    """An exercise's solution, for the back of the booklet."""
    return exercises.solution(exercise, blocks(exercise.hint, at), at)


def paragraph(nodes: Iterable[Inline], at: Context) -> Markup:
    """One paragraph, or as many as its diagrams part it into."""
    nodes = tuple(nodes)
    pictured = at.medium.on_paper and all(isinstance(one, Picture) for one in nodes)
    style = Markup(' class="picture"') if pictured else _EMPTY
    out: list[Markup] = []
    waiting: list[Diagram] = []
    for words, found in _parts(nodes, at):
        if words.strip():
            if waiting:
                out.append(figures.row(waiting, at))
            out.append(Markup("<p{}>{}</p>").format(style, words.strip()))
            waiting = []
        waiting.extend(found)
    if waiting:
        out.append(figures.row(waiting, at))
    return Markup("\n").join(out)


def _parts(nodes: Iterable[Inline], at: Context) -> list[tuple[Markup, list[Diagram]]]:
    """Stretches of words, each with the diagrams that follow it.

    A diagram parts the words only behind a sentence; one in a sentence waits for the end.
    """
    found: list[tuple[Markup, list[Diagram]]] = []
    words: list[Markup] = []
    lifted: list[Diagram] = []
    for node in nodes:
        words.append(inline(node, at, lifted))
        text = _EMPTY.join(words).striptags() if lifted else ""
        if lifted and (not text or text.endswith(_SENTENCE_ENDS)):
            found.append((_EMPTY.join(words), lifted))
            words, lifted = [], []
    found.append((_EMPTY.join(words), lifted))
    return found


def _heading(node: Heading, at: Context) -> Markup:
    level = max(1, min(6, at.medium.heading_level + node.level - 1))
    lifted: list[Diagram] = []
    words = inlines(node.inlines, at, lifted)
    lettered = Markup(' data-plain="{}"').format(text) if (text := _lettered(node, at)) else _EMPTY
    found = Markup('<h{0} id="{1}"{2}>{3}</h{0}>').format(level, node.anchor, lettered, words)
    return Markup("\n").join([found, *(figures.figure(diagram, at) for diagram in lifted)])


def _lettered(node: Heading, at: Context) -> str:
    """The heading's words with moves in letters, for running heads and bookmarks, which no figurine
    font reaches; empty where they read so anyway."""
    if not at.medium.on_paper:
        return ""
    nodes = tuple(one for one in node.inlines if not isinstance(one, FootnoteRef))
    there = replace(at, medium=replace(at.medium, notation=at.medium.notation.lettered))
    shown, lettered = (bare(inlines(nodes, one, [])) for one in (at, there))
    return lettered if lettered != shown else ""


def _item_list(node: ItemList, at: Context) -> Markup:
    tag = "ul" if node.start is None else "ol"
    start = Markup(' start="{}"').format(node.start) if node.start not in (None, 1) else _EMPTY
    items = Markup("\n").join(
        Markup("<li>{}</li>").format(_item(item, node.tight, at)) for item in node.items
    )
    return Markup("<{0}{1}>\n{2}\n</{0}>").format(Markup(tag), start, items)


def _item(item: tuple[Block, ...], tight: bool, at: Context) -> Markup:
    """A list item; in a tight list its paragraphs are bare words."""
    if not tight:
        return blocks(item, at)
    out: list[Markup] = []
    for node in item:
        if isinstance(node, Paragraph):
            lifted: list[Diagram] = []
            out.append(inlines(node.inlines, at, lifted))
            out.extend(figures.figure(diagram, at) for diagram in lifted)
        else:
            out.append(_block(node, at))
    return Markup("\n").join(out)


def _table(node: Table, at: Context) -> Markup:
    """In a box of its own that scrolls where the page is narrower than the table."""
    head = _row(node.head, "th", node.align, at)
    rows = Markup("\n").join(_row(row, "td", node.align, at) for row in node.rows)
    body = Markup("\n<tbody>\n{}\n</tbody>").format(rows) if node.rows else _EMPTY
    style = "table"
    if len(node.head) >= _MANY_COLUMNS:
        style += " wide"
    if len(node.rows) > _MANY_ROWS:
        style += " long"
    return Markup(
        '<div class="{}"><table>\n<thead>\n{}\n</thead>{}\n</table></div>'
    ).format(style, head, body)


def _row(cells: tuple[tuple[Inline, ...], ...], tag: str, align: tuple[str, ...],
         at: Context) -> Markup:  # fmt: skip
    out: list[Markup] = []
    for index, cell in enumerate(cells):
        side = align[index] if index < len(align) else ""
        style = Markup(' class="{}"').format(side) if side in ("right", "center") else _EMPTY
        scope = Markup(' scope="col"') if tag == "th" else _EMPTY
        lifted: list[Diagram] = []
        words = inlines(cell, at, lifted)
        boards = _EMPTY.join(figures.figure(diagram, at) for diagram in lifted)
        out.append(
            Markup("<{0}{1}{2}>{3}{4}</{0}>").format(Markup(tag), scope, style, words, boards)
        )
    return Markup("<tr>{}</tr>").format(_EMPTY.join(out))


def footnotes(notes: tuple[Footnote, ...], at: Context) -> Markup:
    """A chapter's notes, each with a link back to its mark; empty when there are none."""
    if not notes:
        return _EMPTY
    items: list[Markup] = []
    for place, note in enumerate(notes, start=1):
        back = Markup(' <a href="{}" role="doc-backlink" aria-label="{}">\u2191</a>').format(
            at.medium.href(at.chapter, names.footnote_ref_anchor(at.chapter, note.number)),
            at.medium.words.back,
        )
        items.append(
            Markup('<li id="{}"{}>{}</li>').format(
                names.footnote_anchor(at.chapter, note.number),
                Markup(' value="{}"').format(note.number) if note.number != place else _EMPTY,
                _note(note, back, at),
            )
        )
    return Markup('<ol class="notes">\n{}\n</ol>').format(Markup("\n").join(items))


def _note(note: Footnote, back: Markup, at: Context) -> Markup:
    """The link back stands at the end of the note's last paragraph."""
    text = blocks(note.blocks, at)
    if text.endswith("</p>"):
        return Markup(text[: -len("</p>")]) + back + Markup("</p>")
    return text + back
