"""What was gathered, to chapters."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from builder.intake import titles
from builder.intake.gather import Gathered, Split
from builder.intake.layout import lay_out
from builder.intake.positions import Given
from builder.intake.reading import Game
from builder.intake.split import Cuts, Piece, split_at, split_by_size
from builder.pgn.tell import Teller
from builder.intake.tree import (
    MoveTree, by_games, covers, join_transpositions, merge, nodes_at, spell, thin,
)  # fmt: skip
from builder.intake.writing import Diagrams, Draft, Part, block_title

MOST_PRINTED = 3_000  # moves of a booklet made from a crowd of games
_TITLE_PLIES = 6
_DECIDED = ("1-0", "0-1", "1/2-1/2")


def game_drafts(gathered: Gathered, split: Split, title: str, tell: Teller) -> list[Draft]:
    """A chapter for each game, or several where a game is too large for one."""
    games = list(_without_repeats(gathered, tell))
    found = titles.game_titles([game.raw for game in games])
    drafts: list[Draft] = []
    for group in _groups(games, found):
        game, name = group[0]
        draft = Draft(name or title or moves_title(game.tree), titles.eco(game.raw),
                      titles.summary(game.raw, name, title), titles.note(game.raw))  # fmt: skip
        drafts.append(draft)
        for tree, result in _trees(group):
            drafts += _fill(draft, tree, split, gathered, result)
    return drafts


def _trees(group: Sequence[tuple[Game, str]]) -> Iterator[tuple[MoveTree, str]]:
    """The trees of one chapter with their games' results; those from one position are joined."""
    found: dict[str, tuple[MoveTree, str]] = {}
    for game, _ in group:
        there, _ = found.setdefault(game.tree.start.fen, (game.tree, game.result))
        if there is not game.tree:
            merge(there.root, game.tree.root)
    return iter(found.values())


def _without_repeats(gathered: Gathered, tell: Teller) -> Iterator[Game]:
    """The games that say something which no earlier one says."""
    kept: list[Game] = []
    for game in gathered.games:
        if any(covers(other.tree, game.tree) for other in kept):
            gathered.joined += 1
            tell.leave("games that say nothing which another one does not say are left out",
                       lambda: game.raw.place)  # fmt: skip
        else:
            kept.append(game)
            yield game


def _groups(games: Sequence[Game], found: Sequence[str]) -> list[list[tuple[Game, str]]]:
    """The games of one chapter together: those that a booklet's own file took from one."""
    groups: list[list[tuple[Game, str]]] = []
    for game, name in zip(games, found, strict=True):
        last = groups[-1][0][0] if groups else None
        if last is not None and game.own and last.own and _chapter(game) == _chapter(last):
            groups[-1].append((game, name))
        else:
            groups.append([(game, name)])
    return groups


def _chapter(game: Game) -> str:
    return game.raw.tag("Round").split(".")[0]


def joined_drafts(gathered: Gathered, split: Split, least: int | None, title: str,
                  tell: Teller) -> list[Draft]:  # fmt: skip
    """Chapters from the branches of all games joined."""
    trees = list(gathered.trees.values())
    if gathered.count > 1:
        tell.leave("tags of games that are joined are left out: players, events, results",
                   lambda: tell.start)  # fmt: skip
    if gathered.crowd or least is not None:
        _thin_out(gathered, trees, least, tell)
    drafts: list[Draft] = []
    for number, tree in enumerate(trees, start=1):
        if not tree.root.children and not tree.root.after:
            continue
        name = title or moves_title(tree)
        draft = Draft(name if len(trees) == 1 else f"{name} ({number})")
        draft.note = f"{gathered.count} games of {tell.file}"
        drafts.append(draft)
        drafts += _fill(draft, tree, split, gathered, "")
    return drafts


def _thin_out(gathered: Gathered, trees: Sequence[MoveTree], least: int | None,
              tell: Teller) -> None:  # fmt: skip
    roots = [tree.root for tree in trees]
    lost, wanted = gathered.thinned, least or 2
    lost += sum(thin(root, wanted) for root in roots)
    while least is None and nodes_at(roots) > MOST_PRINTED:
        wanted += 1 + wanted // 8
        lost += sum(thin(root, wanted) for root in roots)
    for root in roots:
        by_games(root)
    if lost:
        tell.leave(f"{lost:,} moves that fewer than {wanted:,} games play are left out",
                   lambda: tell.start)  # fmt: skip


def tree_drafts(draft: Draft, tree: MoveTree) -> list[Draft]:
    """`draft` with the moves of a tree as it stands, and further chapters where it is too large
    for one."""
    others = list(_fill(draft, tree, Split(join=False), Gathered(), ""))
    for other in others:
        other.is_draft, other.is_ready = draft.is_draft, draft.is_ready
    return [draft, *others]


# --- a tree to chapters -------------------------------------------------------------------------


def _fill(draft: Draft, tree: MoveTree, split: Split, gathered: Gathered,
          result: str) -> Iterator[Draft]:  # fmt: skip
    """Adds a tree's first piece to `draft`; the others are chapters of their own."""
    spell(tree)
    if split.join:
        gathered.joined += join_transpositions(tree)
    if not tree.root.children:
        draft.prose = tree.root.comment
        return
    cuts = Cuts()
    first, *others = split_at(tree, cuts, split.depth) if split.by == "depth" else split_by_size(
        tree, cuts
    )  # fmt: skip
    main = _part(first, cuts)
    draft.parts.append(main)
    last = [block for block in main.blocks if block.main][-1]
    if result in _DECIDED and not cuts.parts(last.path[-1]):
        last.result = result
    for piece in others:
        part = _part(piece, cuts)
        yield Draft(_piece_title(piece, part), parts=[part])


def _part(piece: Piece, cuts: Cuts) -> Part:
    return Part(piece.tree, lay_out(piece, cuts.kids, cuts.parts), cuts.kids)


def _piece_title(piece: Piece, part: Part) -> str:
    """`4.Nxd4 Bc5`, with the labels of a second and more alternatives behind it."""
    title = block_title(part.blocks[0])
    others = [node.label for node in piece.first[1:3]]
    more = ", …" if len(piece.first) > 3 else ""
    return ", ".join([title, *others]) + more


def moves_title(tree: MoveTree) -> str:
    """The first moves, for what has no other title."""
    words: list[str] = []
    node = tree.root
    while node.children and len(words) < _TITLE_PLIES:
        node = node.children[0]
        words.append(node.label if node.by_white or not words else node.san)
    return " ".join(words) or "Moves"


# --- positions ------------------------------------------------------------------------------------


def position_draft(given: Iterable[Given], title: str) -> Draft:
    """A chapter of positions, each a diagram."""
    boards = tuple((one.position.fen, one.caption) for one in given)
    name = title or ("Position" if len(boards) == 1 else "Positions")
    return Draft(re.sub(r"\s+", " ", name), parts=[Diagrams(boards)])
