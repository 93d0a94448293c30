"""A game that is cited, in the PGN file: its own tags, its moves, and what the booklet says of it."""

from __future__ import annotations

import io

import chess.pgn
from intake.samples import STANDARD
from played import LINE, OPENING, block, game_of, with_games

from builder.write.pgn import pgn_text


def games(made) -> list[chess.pgn.Game]:
    """What PyPI `chess` reads."""
    text, found = io.StringIO(pgn_text(made.booklet)), []
    while (game := chess.pgn.read_game(text)) is not None:
        assert not game.errors
        found.append(game)
    return found


def test_the_standards_sample_comes_out_as_it_went_in(tmp_path):
    """PGN standard, section 2.3; the whole text is the same but for where its lines end."""
    made = with_games(tmp_path, STANDARD, block())
    assert pgn_text(made.booklet).split() == STANDARD.split()


def test_a_game_has_its_own_tags_and_the_booklets_notes(tmp_path):
    made = with_games(tmp_path, game_of(f"{OPENING} Nf4 9. Qe4 {{From the file.}} (9. Qf3) 1-0"),
                      f"{LINE}\n{block(body='8... Nf4 @fork {Mine.}')}")  # fmt: skip
    lines, game = games(made)
    assert game.headers["White"] == "Quay, Ann" and game.headers["Result"] == "1-0"
    assert "Booklet" not in game.headers and "Booklet" in lines.headers
    last = game.end()
    assert last.comment == "From the file." and last.parent.comment == "Mine."
    assert [child.san() for child in last.parent.variations] == ["Qe4", "Qf3"]


def test_the_booklets_own_game_has_nothing_of_it(tmp_path):
    made = with_games(tmp_path, game_of(f"{OPENING} Nf4 9. Qe4 {{Or 9.Qf3.}} 1-0"),
                      f"{LINE}\n{block()}")  # fmt: skip
    lines, _ = games(made)
    assert "Nf4" not in str(lines) and "Qf3" not in str(lines)


def test_a_part_is_a_game_without_a_result(tmp_path):
    made = with_games(tmp_path, game_of("1. e4 e5 2. Nf3 Nc6 1-0"), block("games/club.pgn to 2"))
    (game,) = games(made)
    assert game.headers["Result"] == "*" and game.end().san() == "Nf3"


def test_a_game_from_a_position(tmp_path):
    fen = "4k3/4p3/8/8/8/8/4P3/4K3 b - - 0 30"
    made = with_games(tmp_path, f'[SetUp "1"]\n[FEN "{fen}"]\n\n30... e5 31. e4 *\n', block())
    (game,) = games(made)
    assert game.board().fen() == fen and game.headers["White"] == "?"
