"""The site's indexes: of positions, of variations, of named positions."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from builder.book.tree import Node, Tree, move_trees
from builder.model import Booklet, Diagram, NamedPosition
from builder.render import moves
from builder.render.notation import number_text, plies_text, position_signs
from builder.render.position_groups import position_groups
from builder.render.site_medium import SiteMedium

# Variations deeper than this are listed, but not indented further.
_DEEPEST = 8


@dataclass(frozen=True, slots=True)
class Thumbnail:
    href: str
    number: int
    board: Markup
    words: Markup


@dataclass(frozen=True, slots=True)
class ThumbnailGroup:
    """`title` is the moves that the group's positions begin with; empty for given ones."""

    title: Markup
    thumbnails: tuple[Thumbnail, ...]


def positions(booklet: Booklet, medium: SiteMedium) -> tuple[ThumbnailGroup, ...]:
    return tuple(
        ThumbnailGroup(
            moves.row(group.moves, medium) if group.moves else Markup(""),
            tuple(_thumbnail(diagram, medium) for diagram in group.diagrams),
        )
        for group in position_groups(booklet.diagrams)
    )


def _thumbnail(diagram: Diagram, medium: SiteMedium) -> Thumbnail:
    return Thumbnail(
        href=medium.href(diagram.chapter, diagram.anchor),
        number=diagram.number or 0,
        board=medium.thumbnail(
            diagram.position, diagram.ply, diagram.flip, f"{diagram.anchor}-small"
        ),
        words=moves.position_words(diagram.ply, diagram.position, medium),
    )


@dataclass(frozen=True, slots=True)
class NameEntry:
    """`path` is the moves to the position; `diagram` its link, empty when it has none."""

    name: str
    href: str
    path: Markup
    diagram: Markup


def named(booklet: Booklet, medium: SiteMedium) -> tuple[NameEntry, ...]:
    return tuple(_name(position, medium) for position in booklet.names.values())


def _name(position: NamedPosition, medium: SiteMedium) -> NameEntry:
    diagram = position.diagram
    numbered = diagram if diagram is not None and diagram.number is not None else None
    return NameEntry(
        name=position.name,
        href=medium.href(position.chapter, position.anchor),
        path=moves.row(position.ply.path(), medium) if position.ply else Markup(""),
        diagram=medium.reference(numbered) if numbered else Markup(""),
    )


@dataclass(frozen=True, slots=True)
class VariationTree:
    """`start` names a start position that isn't the game's; `branches` is a nested list."""

    start: str
    branches: Markup


def variations(booklet: Booklet, medium: SiteMedium) -> tuple[VariationTree, ...]:
    lines = (
        line for chapter in booklet.chapters for line in chapter.lines if line.is_taught
    )
    return tuple(
        VariationTree("" if tree.start.ply_number == 0 else tree.start.fen, _branches(tree, medium))
        for tree in move_trees(lines)
    )


def _branches(tree: Tree, medium: SiteMedium) -> Markup:
    """The tree as nested lists. An entry runs on with each move's first answer to the end; the
    other answers are the entries under it, the earliest first.

    A loop, with `open_lists` as its stack: the tree may be thousands deep.
    """
    out: list[Markup] = []
    open_lists = 0
    waiting = [(node, 1) for node in reversed(tree.children)]
    while waiting:
        node, depth = waiting.pop()
        depth = min(depth, _DEEPEST)
        if depth > open_lists:
            out.append(Markup("<ul>"))
            open_lists += 1
        else:
            out.append(Markup("</li>"))
            while open_lists > depth:
                out.append(Markup("</ul></li>"))
                open_lists -= 1
        run = _run(node)
        out.append(Markup("<li>{}").format(_entry(run, medium)))
        others = [other for step in run for other in step.children[1:]]
        waiting.extend((other, depth + 1) for other in reversed(others))
    out.append(Markup("</li></ul>") * open_lists)
    return Markup("\n").join(out)


def _run(node: Node) -> list[Node]:
    run = [node]
    while run[-1].children:
        run.append(run[-1].children[0])
    return run


def _entry(run: list[Node], medium: SiteMedium) -> Markup:
    """The run's moves, the first a link to the text; at the end the verdict on the last."""
    plies = [node.ply for node in run]
    first = Markup('<a class="move" href="{}">{}</a>').format(
        medium.href(plies[0].chapter, plies[0].anchor),
        number_text(plies[0]) + medium.notation.san(plies[0].san),
    )
    rest = plies_text(tuple(plies), medium.notation).partition(" ")[2]
    judged = position_signs(plies[-1].nags)
    return first + Markup(' <span class="move">{}</span>').format(rest + judged)
