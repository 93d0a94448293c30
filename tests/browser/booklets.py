"""The booklets that the browser tests build."""

from __future__ import annotations

from pathlib import Path

from tiny import write_booklet

SETTINGS = 'title = "Small Scotch"\nside = "white"\ndate = 2026-01-02\n'
FIRST = """\
+++
title = "The first"
eco = "C45"
+++
## The road

```line main
1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 @centre (D "In the centre" plan d4-c6 key e5)
Nf6 (4... Bc5 5. Be3 (5. Nxc6 Qf6 6. Qd2) Qf6 6. c3 Nge7 @classical) 5. Nxc6 bxc6
6. e5 {The knight must decide at once.} Qe7 @pin (D threat e7-e5 flip)
```

After [4...Bc5] the bishop looks at d4; [4...Qh4 5.Nc3 Bb4] is another matter. Not [7.Bf4 Qb4+].

```line pass from @pin
7. -- Qxe5+
```

```exercise e1 from @pin
task: White to move. How does he keep the extra tempo?
hint: Which piece is pinned?
solution: 7. Qe2 (7. f4 d6) Nd5 8. c4 {and on} (8. Nd2)
```
"""
SECOND = """\
+++
title = "The second"
+++
```line castle from @classical
7. Bc4 O-O 8. O-O Bb6
```

```line passing from "4k3/8/8/8/3p4/8/4P3/4K3 w - - 0 30"
30. e4 dxe3 (30... Kd7)
```

```line pawns from "8/P6k/8/8/8/8/7p/K7 w - - 3 50"
50. a8=N h1=Q+ 51. Ka2
```
"""


def small_booklet(folder: Path) -> Path:
    """Variations, side-lines, a pass, castling, en passant, promotion, starts of other lines."""
    return write_booklet(folder, FIRST, SECOND, settings=SETTINGS)
