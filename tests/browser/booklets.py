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


EVIL = "<img src=x onerror=window.ran=1><script>window.ran=1</script>"
HOSTILE = f"""\
+++
title = "</title><script>window.ran=1</script>"
summary = "{EVIL}"
+++
## A heading {EVIL}

{EVIL}

![x](images/evil.svg "{EVIL}") `</script><script>window.ran=1</script>`

```line main
1. e4 (1. d4 {{{EVIL}}}) {{{EVIL} and </script><script>window.ran=1</script>}} e5 (D "</desc></svg>{EVIL.replace('"', "")}" label e4 "<script>" key d4 flip)
2. Nf3 @open Nc6
```

```exercise e1 from @open
task: {EVIL} Black to move.
hint: {EVIL}
solution: 2... Nc6 {{{EVIL}}}
```

```game games/evil.pgn#1
```

```table main
```

[^1]: x
"""
EVIL_PGN = f"""\
[Event "{EVIL}"]
[Site "</script><script>window.ran=1</script>"]
[Date "2026.01.02"]
[Round "{EVIL}"]
[White "{EVIL}"]
[Black "\\" onmouseover=window.ran=1 x=\\""]
[Result "1-0"]
[Annotator "javascript:window.ran=1"]

1. e4 {{{EVIL} [%evil <script>window.ran=1</script>] [x](javascript:window.ran=1)}} e5
2. Nf3 (2. f4 {{</svg></desc>{EVIL}}} exf4) Nc6 1-0
"""
EVIL_CSS = """\
body { background: url(spot.svg); behavior: url(#x) }
h1::before { content: "</style><script>window.ran=1</script>" }
h2 { background-image: image-set("https://evil.invalid/a.png" 1x) }
"""
SPOT_SVG = """\
<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9" onload="window.ran=1"><script>window.ran=1;
fetch("https://evil.invalid/")</script><image href="https://evil.invalid/b.png"/></svg>
"""
EVIL_SVG = """\
<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"><rect width="10" height="10"/></svg>
"""


def hostile_booklet(folder: Path) -> Path:
    """Everything that an author can write, with a script in it: words, names of files, games and the theme."""
    settings = (
        'title = "</script><script>window.ran=1</script>"\nside = "black"\n'
        'author = "\\"><img src=x onerror=window.ran=1>"\ndate = 2026-01-02\n'
    )
    write_booklet(folder, HOSTILE, settings=settings)
    (folder / "images").mkdir()
    (folder / "images" / "evil.svg").write_text(EVIL_SVG, encoding="utf-8")
    (folder / "games").mkdir()
    (folder / "games" / "evil.pgn").write_text(EVIL_PGN, encoding="utf-8")
    theme = folder / "theme" / "site"
    theme.mkdir(parents=True)
    (theme / "own.css").write_text(EVIL_CSS, encoding="utf-8")
    (theme / "spot.svg").write_text(SPOT_SVG, encoding="utf-8")
    (theme / "scripts").mkdir()
    (theme / "scripts" / "core.js").write_text("window.ran=1", encoding="utf-8")
    odd = folder / "chapters" / "2 '\"><img src=x onerror=ran=1>.md"
    odd.write_text("Only words, </script><script>window.ran=1</script>.\n", encoding="utf-8")
    return folder
