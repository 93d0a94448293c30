"""How often moves are played, to HTML: a table whose bars repeat what its numbers say.

The bar is a drawing in the ink of the text, full for games that play the move, so that it reads in
grey and needs no words; who can't see it has the numbers.
"""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup, escape

from builder.model import GamesFile, Played, PlayedMove
from builder.render import moves
from builder.render.medium import Context
from builder.render.words import Words

_THIN = "\u202f"  # between thousands (ISO 80000-1, 7.3.1), and before a per cent sign (7.4)


def played(node: Played, at: Context) -> Markup:
    rows = Markup("\n").join(_rows(node, at))
    words = at.medium.words
    return Markup(
        '<div class="played" id="{}">\n<table>\n<caption>{}</caption>\n'
        '<thead><tr><td></td><td></td><th scope="col">{}</th><th scope="col">{}</th></tr></thead>\n<tbody>\n{}\n</tbody>\n</table>\n'
        '<p class="source">{}</p>\n</div>'
    ).format(
        node.anchor, _caption(node, at), words.share, words.white_score, rows,
        _source(node.files, words),
    )  # fmt: skip


def _caption(node: Played, at: Context) -> Markup:
    """`After 4.Nxd4, 4 113 games`."""
    where = moves.position_words(node.ply, node.position, at.medium)
    return Markup('{}: <span class="games">{}</span>').format(where, _games(node.games, at.medium.words))


def _rows(node: Played, at: Context) -> Iterator[Markup]:
    for row in node.moves:
        name = _name(row, at)
        score = "\u2013" if row.score is None else _percent(row.score)
        yield Markup(
            '<tr><th scope="row">{}</th><td class="bar">{}</td><td class="share">{}</td>'
            '<td class="score">{}</td></tr>'
        ).format(name, _bar(row.share), _percent(row.share), score)


def _name(row: PlayedMove, at: Context) -> Markup:
    if row.ply is None:
        return escape(at.medium.words.other_moves)
    return moves.move(row.ply, at.medium, (), numbered=True)


def _bar(share: float) -> Markup:
    """The share as a length; a share that is not nothing is seen."""
    length = Markup('<path d="M0 0H{:.1f}V8H0Z" fill="currentColor"/>').format(max(share * 100, 0.8))
    return Markup(
        '<svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">'
        '<path d="M0 7.5H100" fill="none" stroke="currentColor" stroke-width="0.6"/>{}</svg>'
    ).format(length if share else "")


def _source(files: tuple[GamesFile, ...], words: Words) -> Markup:
    return escape(words.games_from.format(files="; ".join(
        words.file_until.format(file=file.name, date=file.latest.replace(".", "-"))
        if file.latest else file.name for file in files
    )))  # fmt: skip


def _games(number: int, words: Words) -> str:
    if number == 1:
        return words.one_game
    return words.many_games.format(number=f"{number:,}".replace(",", _THIN))


def _percent(share: float) -> str:
    return f"{100 * share:.0f}{_THIN}%"
