"""Tiny booklets with games for tests."""

from __future__ import annotations

from pathlib import Path

from tiny import Tiny, tiny

LINE = """\
```line main
1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 (D "In the centre") Nf6 (4... Bc5 5. Be3 Qf6 6. c3 Nge7)
5. Nxc6 bxc6 6. e5 Qe7 7. Qe2 Nd5 8. c4 Nb6 = (8... Ba6 9. b3 g6)
```
"""
HEAD = '[Event "Club evening"]\n[Site "Harbour"]\n[Date "2026.01.02"]\n[Round "3"]\n' \
       '[White "Quay, Ann"]\n[Black "Pier, Bo"]\n[Result "1-0"]\n[ECO "C45"]\n'  # fmt: skip
OPENING = "1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Nf6 5. Nxc6 bxc6 6. e5 Qe7 7. Qe2 Nd5 8. c4"


def game_of(moves: str, head: str = HEAD) -> str:
    return f"{head}\n{moves}\n"


def block(header: str = "games/club.pgn", body: str = "") -> str:
    return f"```game {header}\n{body}\n```\n"


def with_games(folder: Path, pgn: str | bytes, *chapters: str) -> Tiny:
    """A booklet of these chapters whose games/club.pgn holds `pgn`."""
    (folder / "games").mkdir(parents=True, exist_ok=True)
    data = pgn if isinstance(pgn, bytes) else pgn.encode()
    (folder / "games" / "club.pgn").write_bytes(data)
    return tiny(folder, *chapters)
