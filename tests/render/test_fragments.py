"""The model to HTML fragments: the flow of lines, prose with its links, and what is escaped."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import unescape
from pathlib import Path

import pytest
from bare_medium import bare
from goldens import check_golden
from tiny import line_of, tiny

from builder.render import moves, prose
from builder.render.notation import Notation

HERE = Path(__file__).parent


def fragment(folder: Path, chapter: str, **how) -> str:
    made = tiny(folder, chapter)
    assert not [fault for fault in made.faults if fault.severity.word == "error"], made.told()
    return str(prose.blocks(made.chapter.blocks, bare(made.booklet, **how)))


def shape(html: str) -> str:
    """The paragraphs of a fragment as text: `m:` main moves, `v:` a variation's (its steps by
    `>`), `c:` a comment, `d` a diagram."""
    found, steps = [], 0
    for tag, rest in re.findall(
        r'(<div class="variation">|</div>|<p class="[a-z ]+">|<figure)'
        r"((?:(?!<p |<div|</div>|<figure).)*)",
        html.split("</span>\n", 1)[1], re.S,
    ):  # fmt: skip
        text = unescape(re.sub(r"<[^>]+>", "", rest)).strip().replace("\u00a0", " ")
        if tag.startswith("<div"):
            steps += 1
        elif tag == "</div>":
            steps -= 1
        elif tag == "<figure":
            found.append("d")
        else:
            kind = {"moves main": "m", "moves": "v", "comment": "c"}[tag[10:-2]]
            found.append(f"{kind}{'>' * steps}: {text}")
    return "\n".join(found)


@dataclass(frozen=True)
class Flow:
    name: str
    moves: str
    shape: str


FLOWS = (
    Flow("main moves", "1. e4 e5 2. Nf3", "m: 1.e4 e5 2.Nf3"),
    Flow("starts with Black", "1... e5 2. Nf3", "m: 1...e5 2.Nf3"),
    Flow("signs", "1. e4! e5 $10 2. Nf3 $1 $24 Nc6",
         "m: 1.e4! e5 = 2.Nf3! (White: space, slight) Nc6"),
    Flow("a sentence", "1. e4 {Best by test.} e5", "m: 1.e4\nc: Best by test.\nm: 1...e5"),
    Flow("a few words", "1. e4 {new} e5", "m: 1.e4 new 1...e5"),
    Flow("a diagram parts the paragraph", "1. e4 (D) e5", "m: 1.e4\nd\nm: 1...e5"),
    Flow("a variation", "1. e4 (1. d4 d5) e5", "m: 1.e4\nv>: 1.d4 d5\nm: 1...e5"),
    Flow("two variations", "1. e4 (1. d4) (1. c4) e5",
         "m: 1.e4\nv>: 1.d4\nv>: 1.c4\nm: 1...e5"),
    Flow("a short one inside", "1. e4 (1. d4 d5 (1... f5) 2. c4) e5",
         "m: 1.e4\nv>: 1.d4 d5 (1...f5) 2.c4\nm: 1...e5"),
    Flow("brackets in brackets", "1. e4 (1. d4 d5 (1... Nf6 2. c4 (2. Nf3)) 2. c4) e5",
         "m: 1.e4\nv>: 1.d4 d5 (1...Nf6 2.c4 (2.Nf3)) 2.c4\nm: 1...e5"),
    Flow("a weighty one inside",
         "1. e4 (1. d4 d5 (1... f5 2. c4 Nf6 3. g3 e6 4. Bg2 Be7 5. Nf3 O-O 6. O-O c6) 2. c4) e5",
         "m: 1.e4\nv>: 1.d4 d5\nv>>: 1...f5 2.c4 Nf6 3.g3 e6 4.Bg2 Be7 5.Nf3 0-0 6.0-0 c6\n"
         "v>: 2.c4\nm: 1...e5"),
    Flow("a diagram inside", "1. e4 (1. d4 d5 (1... f5 (D)) 2. c4) e5",
         "m: 1.e4\nv>: 1.d4 d5\nv>>: 1...f5\nd\nv>: 2.c4\nm: 1...e5"),
    Flow("a comment first", "{From the start.} 1. e4", "c: From the start.\nm: 1.e4"),
    Flow("result", "1. e4 e5 1/2-1/2", "m: 1.e4 e5 ½–½"),
    Flow("a pass", "1. e4 -- 2. d4", "m: 1.e4 – 2.d4"),
)  # fmt: skip


@pytest.mark.parametrize("flow", FLOWS, ids=[flow.name for flow in FLOWS])
def test_flow(flow, tmp_path):
    start = "1... e5" if flow.moves.startswith("1...") else ""
    header = 'line main from "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"'
    chapter = line_of(flow.moves, header) if start else line_of(flow.moves)
    assert shape(fragment(tmp_path, chapter)) == flow.shape


def test_nesting_costs_no_stack(tmp_path):
    """Two thousand variations inside each other."""
    depth = 2000
    opened = "".join(f"(1. {'d4' if n % 2 else 'c4'} " for n in range(depth))
    moves = f"1. e4 {opened}{')' * depth}"
    html = fragment(tmp_path, line_of(moves))
    assert html.count('class="move"') == depth + 1
    assert html.count('class="variation"') == 2
    assert html.count("<div") == html.count("</div>")


def test_ways_that_meet_tell_of_each_other(tmp_path):
    html = fragment(tmp_path, line_of("1. Nf3 d5 (1... Nf6 2. d4 d5 {is the same.}) 2. d4 Nf6"))
    notes = re.findall(r'<small class="meeting">\(<a href="1#([^"]+)">(.*?)</a>\)</small>', html)
    told = [(anchor, re.sub(r"<[^>]+>", "", text)) for anchor, text in notes]
    assert told == [
        ("line.1.1-main.7", "also reached by 1...d5 2.d4 Nf6"),
        ("line.1.1-main.5", "also reached by 1...Nf6 2.d4 d5"),
    ]
    assert html.index(told[0][0]) < html.index('id="line.1.1-main.7"')


CHAPTER = '''\
+++
title = "Everything"
+++

## A *heading* with [1.e4]

Words **strong**, ~~struck~~, `code`, [a page](https://example.org/?a=1&b=2 "titled"),
a note[^n], again[^n], and\\
a line's end.

```line main
1. e4 e5 @open (D "The *open* game" key e5 threat g1-f3 flip)
2. Nf3 {Attacks [1...e5]; see [@open].} Nc6 (2... d6!? $14 3. d4) 3. Bb5 @spanish 1/2-1/2
```

Then [3...a6 4.Ba4 Nf6], [@open], [@spanish], [the open game](@open) and ![now](@spanish plan b5-c6).
[three attackers]{at @open: material even}

- one
- two
  1. inner

> Quoted.

| move | score |
| :--- | ---: |
| [3.Bb5] | 1 |

---

```exercise e1 from @spanish
task: Black to move.
hint: *Ask* the bishop.
solution: 3... a6 (3... Nf6 {too})
```

![A rook](images/rook.png)

[^n]: The note, with a move: [1.e4].
'''


def test_golden_of_a_chapter(tmp_path):
    (tmp_path / "images").mkdir()
    (tmp_path / "images" / "rook.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    made = tiny(tmp_path, CHAPTER)
    assert not made.faults, made.told()
    at = bare(made.booklet)
    parts = [prose.blocks(made.chapter.blocks, at), prose.footnotes(made.chapter.footnotes, at),
             *(prose.solution(exercise, at) for exercise in made.chapter.exercises)]  # fmt: skip
    check_golden(HERE / "chapter.golden.html", "\n\n".join(map(str, parts)) + "\n")


def test_nobody_is_to_move_after_mate(tmp_path):
    html = fragment(tmp_path, line_of("1. f3 (D) e5 2. g4 Qh4# (D)"))
    assert html.count("to move") == 1 and html.count("<figcaption>") == 2


TITLES = (
    ("The knight on b6", "The knight on b6", "The knight on b6"),
    ("After 4...Bc5", "After <4...Bc5>", "After <4...Lc5>"),
    ("5.Nxc6 bxc6 6.e5, and", "<5.Nxc6 bxc6> <6.e5>, and", "<5.Sxc6 bxc6> <6.e5>, and"),
    ("8.c4: four", "<8.c4>: four", "<8.c4>: four"),
    ("9.O-O-O or 10.e8=Q+", "<9.0-0-0> or <10.e8=Q+>", "<9.0-0-0> or <10.e8=D+>"),
    ("1.e4 & <b>", "<1.e4> &amp; &lt;b&gt;", "<1.e4> &amp; &lt;b&gt;"),
    ("Version 2.a1b, 3.14, 12.34.e5", "Version 2.a1b, 3.14, 12.34.e5", None),
)


@pytest.mark.parametrize(("title", "figurines", "german"), TITLES, ids=[case[0] for case in TITLES])
def test_moves_in_titles(title, figurines, german):
    def shown(notation: Notation) -> str:
        html = str(moves.titled(title, notation))
        return re.sub(r'<span class="move">(.*?)</span>', r"<\1>", html)

    assert shown(Notation("de", True)) == figurines
    assert shown(Notation("de", False)) == (german or figurines)


EVIL = '"><img src=x onerror=alert(1)>&amp;'
HOSTILE = (
    ("caption", f"```line main\n1. e4 (D \"{EVIL[2:]}\")\n```"),
    ("label", f"```line main\n1. e4 (D label e4 \"{EVIL[2:]}\")\n```"),
    ("comment", f"```line main\n1. e4 {{{EVIL}}} e5\n```"),
    ("words", f"Words {EVIL}"),
    ("heading", f"# One\n\n## {EVIL}"),
    ("code", f"`{EVIL}`"),
    ("code block", f"```\n{EVIL}\n```"),
    ("table", f"| a |\n| - |\n| {EVIL} |"),
    ("link words", f"[{EVIL}](https://example.org)"),
    ("link title", "[a](https://example.org '\"><img src=x onerror=alert(1)>')"),
    ("link address", "[a](<https://example.org/\"><img src=x onerror=alert(1)>>)"),
    ("task", f"```line m\n1. e4 @a\n```\n```exercise e from @a\ntask: {EVIL}\nsolution: 1... e5\n```"),
    ("note", f"a[^1]\n\n[^1]: {EVIL}"),
    ("raw block", f"<div onclick='x()'>{EVIL}</div>"),
)  # fmt: skip


@pytest.mark.parametrize(("name", "chapter"), HOSTILE, ids=[name for name, _ in HOSTILE])
def test_hostile_words_stay_words(name, chapter, tmp_path):
    made = tiny(tmp_path, chapter)
    at = bare(made.booklet)
    html = str(prose.blocks(made.chapter.blocks, at)) + str(
        prose.footnotes(made.chapter.footnotes, at)
    )
    tags = re.findall(r"<[a-z][^>]*>", html)
    assert "<img" not in html and "<div onclick" not in html
    assert not [tag for tag in tags if re.search(r"\son\w+=", re.sub(r'"[^"]*"', '""', tag))]
    if name not in ("label", "raw block"):
        assert "onerror" in html


@pytest.mark.parametrize("href", ("javascript:alert(1)", "JaVaScRiPt:alert(1)", "data:text/html,x",
                                  "vbscript:x", "file:///etc/passwd"))  # fmt: skip
def test_addresses_that_could_run_are_no_links(href, tmp_path):
    made = tiny(tmp_path, f"[words]({href}) and <{href}>")
    html = str(prose.blocks(made.chapter.blocks, bare(made.booklet)))
    assert "words" in html and "href" not in html
