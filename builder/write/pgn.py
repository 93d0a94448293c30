"""The booklet's moves as PGN, in the standard's export format.

Section numbers are those of the PGN standard (revision of 1994-03-12). Each chapter is a game
for every position that its lines start from, with all its lines merged into one tree; exercises
are games of their own after it.

Two deliberate departures. The standard knows ISO 8859-1 (4.1); this is UTF-8, without which an
author's dashes, quotation marks and most of the world's names could not be written, and which
today's readers take for granted. And the standard has no null moves (8.2: only legal moves are
permitted), so a variation with a pass is written as the words of a comment, unless a `PgnForm`
asks for `--`.

What `builder.intake` needs to read a booklet's own file back stands in it: the tag `Booklet`, and
in front of a comment's own words the position's name and its diagram's number. Words that could
be taken for those are kept apart from them. A position has one comment, in front of
its variations: npm chess.js 1.4.0 stops at a second one, and at one behind a variation.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeAlias

import chess

from builder.book.tree import Node, Tree, move_trees
from builder.model import Booklet, Chapter, Exercise, Game, Line
from builder.own_file import Kind, beginning
from builder.write.pgn_remarks import BOOKLET_TAG, CITED_TAG, LIKE_A_MARK, PgnForm, Remarks
from builder.write.plain import SUFFIXES, blocks_text

WIDTH = 79  # 8.2.1: "less than 80 printing characters"
_ECO = re.compile(r"[A-E]\d\d(?:/\d\d)?")  # 9.5.1
_Step: TypeAlias = "str | Node | tuple[Node, ...]"
WHOLE = PgnForm()
MOVES = Kind(beginning(lambda head: any(f'\n[{tag} "'.encode() in head
                                        for tag in (BOOKLET_TAG, CITED_TAG))),
             "this is no booklet's moves that Plyleaf gave out")  # fmt: skip


def write_pgn(booklet: Booklet, target: Path) -> None:
    target.write_text(pgn_text(booklet), encoding="utf-8", newline="\n")


def pgn_text(booklet: Booklet, form: PgnForm = WHOLE) -> str:
    """All games, each followed by an empty line."""
    return "".join(
        game for chapter in booklet.chapters if form.chapter in (None, chapter.slug)
        for game in _games(chapter, booklet, form)
    )  # fmt: skip


# --- games ------------------------------------------------------------------------------------


def _games(chapter: Chapter, booklet: Booklet, form: PgnForm) -> Iterator[str]:
    lines = [line for line in chapter.lines if line.is_taught]
    trees = move_trees(lines)
    remarks = Remarks.of(lines, booklet, form)
    remarks.read_prose(chapter.blocks, trees)
    for number, tree in enumerate(trees, start=1):
        head = _Head(chapter, f"{chapter.number}.{number}", chapter.title)
        yield _game(booklet, head, tree, remarks)
    for game in chapter.games:
        yield _cited(game, chapter, booklet, form)
    for exercise in chapter.exercises:
        yield _exercise(exercise, chapter, booklet, form)


def _cited(game: Game, chapter: Chapter, booklet: Booklet, form: PgnForm) -> str:
    """A game from a file, with its own tags and what the booklet says about it. It is no game of
    a booklet's, so nothing in its comments is a mark."""
    lines = [line for line in chapter.lines if line.anchor == game.line.anchor]
    tree = next(iter(move_trees(lines)), Tree(game.line.start, ()))
    remarks = Remarks.of(lines, booklet, replace(form, marks=False))
    tokens = _Movetext(remarks).tokens(tree, "")
    result = "*" if game.cut else game.tags.result
    tags = _cited_tags(game, booklet.title if form.cites else "")
    return f"{tags}\n{wrapped([*tokens, result])}\n"


def _cited_tags(game: Game, booklet: str) -> str:
    """The seven tag roster (8.1.1), then what else the file tells, in ASCII order."""
    roster = {"Event": "?", "Site": "?", "Date": "????.??.??", "Round": "?", "White": "?",
              "Black": "?", "Result": "*"}  # fmt: skip
    found = {name: value for name, value in game.tags.pairs if name != BOOKLET_TAG}
    if booklet:
        found[CITED_TAG] = booklet
    if game.cut:
        found["Result"] = "*"
    if game.line.start.fen != chess.STARTING_FEN:
        found |= {"FEN": game.line.start.fen, "SetUp": "1"}  # 9.7
    others = sorted(found.keys() - roster.keys() - {"PlyCount"})
    pairs = [(name, found.get(name) or unknown) for name, unknown in roster.items()]
    pairs += [(name, found[name]) for name in others]
    return "".join(f'[{name} "{tag_value(value)}"]\n' for name, value in pairs)


def _exercise(exercise: Exercise, chapter: Chapter, booklet: Booklet, form: PgnForm) -> str:
    """The solution as a game from the exercise's position, the task in front."""
    start = exercise.solution.start
    tree = _from_start(exercise.solution) or Tree(start, ())
    task = blocks_text(exercise.task, booklet.names)
    head = _Head(chapter, f"{chapter.number}.E{exercise.number}",
                 f"{chapter.title}: exercise {exercise.number}", task)  # fmt: skip
    return _game(booklet, head, tree, Remarks.of((exercise.solution,), booklet, form))


def _from_start(line: Line) -> Tree | None:
    """The line's own part of its tree, without the moves that lead to its start."""
    for tree in move_trees((line,)):
        if line.start_ply is None:
            return tree
        for node, _ in tree.walk():
            if any(ply.anchor == line.start_ply.anchor for ply in node.plies):
                return Tree(line.start, node.children)
    return None


@dataclass(frozen=True, slots=True)
class _Head:
    """What a game of the booklet's own is called, and the words in front of its moves."""

    chapter: Chapter
    game_round: str
    title: str
    words: str = ""


def _game(booklet: Booklet, head: _Head, tree: Tree, remarks: Remarks) -> str:
    tokens = _Movetext(remarks).tokens(tree, head.words)
    return f"{_tags(booklet, head, tree)}\n{wrapped([*tokens, '*'])}\n"


def _tags(booklet: Booklet, head: _Head, tree: Tree) -> str:
    """The seven tag roster in its order (8.1.1), then the others in ASCII order of their names."""
    pairs = [
        ("Event", f"{booklet.title}: {head.title}"),
        ("Site", "?"),
        ("Date", booklet.date.replace("-", ".") or "????.??.??"),
        ("Round", head.game_round),
        ("White", "?"),
        ("Black", "?"),
        ("Result", "*"),
    ]
    if booklet.author:
        pairs.append(("Annotator", booklet.author))
    pairs.append((BOOKLET_TAG, booklet.title))
    from_start = tree.start.fen == chess.STARTING_FEN
    chapter = head.chapter
    code = chapter.code if from_start else chapter.eco
    if _ECO.fullmatch(code):
        pairs.append(("ECO", code))
    if from_start and chapter.opening_name:
        pairs.append(("Opening", chapter.opening_name))
    if not from_start:
        pairs += [("FEN", tree.start.fen), ("SetUp", "1")]  # 9.7
    return "".join(f'[{name} "{tag_value(value)}"]\n' for name, value in pairs)


def tag_value(text: str) -> str:
    """A string token's inside (7): 255 characters at most, backslashes escaped.

    The standard's escape for a quotation mark is one that not every reader knows (npm chess.js
    1.4.0 stops at it), so an apostrophe stands in.
    """
    flat = "".join(char if char.isprintable() else " " for char in text).replace('"', "'")
    escaped = ["\\\\" if char == "\\" else char for char in " ".join(flat.split())]
    while sum(map(len, escaped)) > 255:
        escaped.pop()
    return "".join(escaped)


# --- movetext ---------------------------------------------------------------------------------


@dataclass(slots=True)
class _Movetext:
    """A tree's tokens. Loops, not recursion: variations may be nested thousands deep."""

    remarks: Remarks
    _numbered: bool = True  # whether a black move needs its number (8.2.2.2)

    def tokens(self, tree: Tree, opening_words: str) -> Iterator[str]:
        passes, first = self._parted(tree.children)
        yield from self._comment(
            self._found(self.remarks.marks_before, *first[:1]),
            [opening_words, *(self._words(node) for node in passes),
             *self._found(self.remarks.before, *first[:1])],
        )  # fmt: skip
        todo: list[_Step] = [first]
        while todo:
            step = todo.pop()
            match step:
                case str():
                    self._numbered = True
                    yield step
                case Node():
                    yield from self._comment(self._found(self.remarks.marks_before, step),
                                             self._found(self.remarks.before, step))  # fmt: skip
                    yield from self._move(step)
                case (main, *others):
                    # Variations stand behind the move that they replace (8.2.5).
                    yield from self._move(main)
                    todo.append(self._parted(main.children)[1])
                    for node in reversed(others):
                        todo += [")", self._parted(node.children)[1], node, "("]

    def _move(self, node: Node) -> Iterator[str]:
        """The move, and the one comment behind it, with what stands before the next move."""
        ply = node.ply
        if ply.by_white or self._numbered:
            yield f"{ply.number}{'.' if ply.by_white else '...'}"
        yield ply.san
        nags = list(dict.fromkeys(nag for one in node.plies for nag in one.nags))
        self._numbered = bool(nags)
        yield from (f"${nag}" for nag in nags)
        passes, following = self._parted(node.children)
        yield from self._comment(
            [*self._found(self.remarks.marks_behind, node),
             *self._found(self.remarks.marks_before, *following[:1])],
            [*self._found(self.remarks.behind, node), *(self._words(one) for one in passes),
             *self._found(self.remarks.before, *following[:1])],
        )  # fmt: skip

    def _comment(self, marks: list[str], texts: list[str]) -> Iterator[str]:
        """Marks in front. Words that could be taken for marks begin with a space or, where
        marks stand before them, with a dash."""
        text = " ".join(text for text in dict.fromkeys(texts) if text)
        if LIKE_A_MARK.match(text):
            text = f"- {text}" if marks else f" {text}"
        text = " ".join([*dict.fromkeys(marks), *([text] if text else [])])
        if text:
            self._numbered = True
            # 5: braces don't nest. npm kokopu takes a backslash in front of one for an escape.
            end = " }" if text.endswith("\\") else "}"
            yield "{" + text.replace("{", "(").replace("}", ")") + end

    def _found(self, texts: Mapping[str, list[str]], *nodes: Node) -> list[str]:
        return [text for node in nodes for ply in node.plies
                for text in texts.get(ply.anchor, ())]  # fmt: skip

    def _parted(self, nodes: tuple[Node, ...]) -> tuple[tuple[Node, ...], tuple[Node, ...]]:
        """The passes among alternatives that are written as words, and the moves."""
        words = () if self.remarks.form.passes else tuple(
            node for node in nodes if node.ply.is_pass
        )
        return words, tuple(node for node in nodes if node not in words)

    def _words(self, node: Node) -> str:
        """A node and all behind it as the words of a comment."""
        out = ""
        numbered = True
        todo: list[_Step] = [(node,)]
        while todo:
            step = todo.pop()
            match step:
                case str():
                    out = out.rstrip() + step if step == ")" else f"{out} {step}".lstrip()
                    numbered = True
                case Node():
                    notes = [*self._found(self.remarks.marks_before, step),
                             *self._found(self.remarks.before, step),
                             *self._found(self.remarks.marks_behind, step),
                             *self._found(self.remarks.behind, step)]  # fmt: skip
                    out += ("" if out.endswith("(") or not out else " ") + " ".join(
                        [_move_words(step, numbered), *notes]
                    )
                    numbered = bool(notes)
                case (main, *others):
                    todo.append(main.children)
                    for other in reversed(others):
                        todo += [")", other.children, other, "("]
                    todo.append(main)
        return out


def _move_words(node: Node, numbered: bool) -> str:
    ply = node.ply
    number = f"{ply.number}{'.' if ply.by_white else '...'}" if ply.by_white or numbered else ""
    signs = "".join(SUFFIXES.get(nag, "") for nag in ply.nags)
    return f"{number}{'(pass)' if ply.is_pass else ply.san}{signs}"


# --- lines of text ----------------------------------------------------------------------------


def wrapped(tokens: Iterable[str]) -> str:
    """Tokens on lines of at most `WIDTH` characters, as many on each as fit (8.2.1).

    A bracket needs no space to its inside; the opening one stays with the move after it.
    """
    lines = [""]
    opened = ""
    for token in tokens:
        if token == "(":
            opened = token
            continue
        for word in _words(token, WIDTH - len(opened)):
            gap = "" if not lines[-1] or token == ")" else " "
            word = opened + word
            opened = ""
            if len(lines[-1]) + len(gap) + len(word) <= WIDTH:
                lines[-1] += gap + word
            else:
                lines.append(word)
    return "\n".join(lines) + "\n"


def _words(token: str, width: int) -> Iterator[str]:
    """Where a token may be broken: a comment between words, and in a word that fills a line.

    A line must not begin with `%`, which would hide the rest of it (6).
    """
    if not token.startswith("{"):
        yield token
        return
    for word in re.split(r" (?!%)", token):
        while len(word) > width:
            cut = width
            while word[cut] == "%" and cut > 1:
                cut -= 1
            yield word[:cut]
            word = word[cut:]
        yield word
