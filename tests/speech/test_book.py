"""The book of openings: Debian's file, read by the rules library, and what the hearing asks of it."""

from __future__ import annotations

import hashlib

import chess
import pytest
from builder.openings.book import DATA, opened_book

# Of usr/share/games/gnuchess/book.bin in Debian's gnuchess-book_1.02-2.1_all.deb.
SHA256 = "4b59fd532267a3508f63780c40fd9b91ff13f7f75654abb5c934885ae36ea6a0"


def test_it_is_the_file_of_the_package():
    assert hashlib.sha256(DATA.read_bytes()).hexdigest() == SHA256


def test_moves_are_legal_and_shares_add_up():
    """Two thousand positions, from the initial one along the moves that are played most."""
    with opened_book() as book:
        todo, seen = [chess.Board()], set()
        while todo and len(seen) < 2000:
            board = todo.pop(0)
            key = board.epd()
            played = book.at(board)
            if key in seen or not played.count:
                continue
            seen.add(key)
            assert set(played.shares) <= set(board.legal_moves), key
            assert sum(played.shares.values()) == pytest.approx(1.0)
            assert list(played.shares.values()) == sorted(played.shares.values(), reverse=True), key
            for move in list(played.shares)[:4]:
                after = board.copy(stack=False)
                after.push(move)
                todo.append(after)
        assert len(seen) == 2000


def test_a_position_that_nobody_reached_has_nothing():
    with opened_book() as book:
        played = book.at(chess.Board("8/8/8/4k3/8/4K3/4P3/8 w - - 0 1"))
    assert (dict(played.shares), played.count) == ({}, 0)
