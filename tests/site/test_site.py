"""The site's files: every link leads somewhere, nothing runs, nothing is fetched."""

from __future__ import annotations

import os
import re
import subprocess
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest
from built_site import BuiltSite, build_site
from tiny import SETTINGS, write_booklet

from builder.render.site_scripts import script_files
from builder.settings import LANGUAGES

PNG = b"\x89PNG\r\n\x1a\n" + bytes(40)
DOWNLOADS = ("booklet.pdf", "booklet.pgn", "positions.epd")
FIRST = '''\
+++
title = "The first"
eco = "C44"
summary = "Where it begins."
+++
## A part

```line main
1. e4 e5 2. Nf3 Nc6 @open (D "A *caption*" key e5)
3. Bb5 (3. Bc4 Nf6 (3... Bc5 {as in [3...Bc5 4.c3]})) a6 $16 @spanish
```

See [@open], [@queens], [4.Ba4 Nf6], [the other chapter](2.md) and ![here](@spanish).[^1]

![A picture](images/rook.png)

```exercise e1 from @spanish
task: Black has just played a6. [4.Bxc6]?
hint: Look at [@open].
solution: 4. Bxc6 {wins a pawn, as in [4.Bxc6 dxc6 5.Nxe5]; see [@queens].} (4. Ba4) dxc6
          (D "after all")
```

[^1]: One, with [3.Bb5].
'''
SECOND = '''\
+++
title = "The second"
+++
```line queens from @open
3. d4 exd4 4. Nxd4 Nxd4 5. Qxd4 @queens
```
```diagram "8/8/8/8/8/k7/8/K6R w - - 0 1" "a given position"
```
```line odd from "8/8/8/8/8/k7/8/K6R w - - 0 1"
1. Rh3+ Kb4 (1... Ka4)
```
```game games/club.pgn#1 diagrams 4
5. @left {*Here* it leaves.}
```
See [@left].
```table queens
```
```table
```
'''
GAME = """\
[White "A & B"]
[Black "<i>C</i>"]

1. e4 e5 2. Nf3 Nc6 3. d4 exd4 4. Nxd4 Nxd4 {as in 3.Bb5 a6} 5. f4 (5. c4 (5. b4)) c5 *
"""


def build(folder: Path, target: Path) -> BuiltSite:
    return build_site(folder, target, DOWNLOADS)


def booklet_folder(root: Path, settings: str = SETTINGS) -> Path:
    folder = write_booklet(root / "booklet", FIRST, SECOND, settings=settings)
    (folder / "images").mkdir()
    (folder / "images" / "rook.png").write_bytes(PNG)
    (folder / "games").mkdir()
    (folder / "games" / "club.pgn").write_text(GAME)
    return folder


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> BuiltSite:
    root = tmp_path_factory.mktemp("site")
    built = build(booklet_folder(root), root / "out")
    assert not built.faults.has_errors, built.told()
    return built


# --- pages ------------------------------------------------------------------------------------


@dataclass
class Page(HTMLParser):
    """What a page refers to, its ids, and whether its elements are closed in order."""

    ids: list[str] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)
    tags: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)

    VOID = frozenset({"meta", "link", "br", "hr", "img"})

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        values = dict(attrs)
        assert len(values) == len(attrs), f"an attribute twice: {attrs}"
        if "id" in values:
            self.ids.append(values["id"])
        if "href" in values:
            self.links.append(values["href"])
        if "src" in values:
            self.sources.append(values["src"])
        for name in ("aria-labelledby", "aria-describedby"):
            self.labels += values.get(name, "").split()
        assert not [name for name in values if name.startswith("on") or name == "style"]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-3:]}"
        self.open.pop()


def read_page(html: str) -> Page:
    page = Page()
    page.feed(html)
    page.close()
    assert page.open == []
    return page


def broken_links(target: Path) -> list[str]:
    """Every link and source that leads nowhere, as `page: address`."""
    pages = {path.name: read_page(path.read_text(encoding="utf-8"))
             for path in target.glob("*.html")}  # fmt: skip
    found = []
    for name, page in pages.items():
        assert len(set(page.ids)) == len(page.ids), f"{name}: an id twice"
        found += [f"{name}: label {label}" for label in page.labels if label not in page.ids]
        for address in page.links + page.sources:
            if re.match(r"(https?|mailto):", address) or address in DOWNLOADS:
                continue
            file, _, fragment = address.partition("#")
            other = pages.get(file or name)
            if other is None:
                fine = not fragment and (target / unquote(file)).is_file()
            else:
                fine = not fragment or fragment in other.ids
            if not fine:
                found.append(f"{name}: {address}")
    return found


def test_every_link_leads_somewhere(site):
    assert broken_links(site.target) == []


def test_the_link_check_finds_what_is_broken(site, tmp_path):
    (tmp_path / "index.html").write_text('<a href="#no"></a><a href="no.html"></a><p id="p"></p>'
                                         '<a href="#p"></a><img src="no.png">')  # fmt: skip
    assert broken_links(tmp_path) == [f"index.html: {a}" for a in ("#no", "no.html", "no.png")]


def test_the_course_has_no_broken_link(tmp_path):
    content = Path(__file__).parents[2] / "content"
    built = build(content, tmp_path / "out")
    assert broken_links(built.target) == []


def test_the_files(site):
    files = sorted(path.relative_to(site.target).as_posix()
                   for path in site.target.rglob("*") if path.is_file())  # fmt: skip
    assert files == [
        "1.boards.html", "1.html", "2.boards.html", "2.html", "assets/booklet.css",
        "assets/booklet.js",
        *(f"assets/fonts/SourceSerif4-{style}.ttf.woff2"
          for style in ("It", "Regular", "Semibold", "SemiboldIt")),
        *(f"assets/fonts/plyleaf-text{style}.woff2"
          for style in ("-italic", "-semibold-italic", "-semibold", "")),
        "assets/moves/1.js", "assets/moves/2.js",
        "assets/positions.js",
        *sorted(f"assets/{name}" for name in script_files() if name.startswith("scripts/")),
        "assets/text.js",
        *sorted(f"assets/{name}" for name in script_files() if name.startswith("vendor/")),
        "find.html", "games.html", "index.html", "names.html",
        "pictures/images/rook.png", "positions.html", "practice.html",
        "solutions.html", "variations.html",
    ]  # fmt: skip


def test_every_move_has_its_board(site):
    """A move in the text leads to a board, and the board back to the move."""
    pages = {name: read_page(html) for name, html in site.pages().items()}
    for chapter in site.booklet.chapters:
        boards = pages[f"{chapter.slug}.boards.html"]
        for line in chapter.lines:
            for ply in line.plies():
                assert f"board.{ply.anchor}" in boards.ids
                assert any(link.endswith(f"#{ply.anchor}") for link in boards.links)
                holder = "solutions.html" if ply.anchor in pages["solutions.html"].ids else \
                    f"{chapter.slug}.html"  # fmt: skip
                assert ply.anchor in pages[holder].ids
                address = f"{chapter.slug}.boards.html#board.{ply.anchor}"
                assert address in pages[holder].links
    assert site.pages()["1.boards.html"].count("<code>") == 17


def test_solutions_stand_at_the_back_only(site):
    pages = site.pages()
    assert "wins a pawn" in pages["solutions.html"]
    assert not [name for name, html in pages.items()
                if "wins a pawn" in html and name != "solutions.html"]  # fmt: skip
    assert 'href="solutions.html#solution-1"' in pages["1.html"]
    assert 'href="1.html#exercise-1"' in pages["solutions.html"]


def test_a_given_position_is_not_called_the_initial_one(site):
    positions = site.pages()["positions.html"]
    assert positions.count("Given position") == 2  # the board's title and the words under it
    assert "initial position" not in positions


def test_a_page_runs_our_scripts_and_fetches_nothing(site):
    """Scripts are files of the site, named in the head; the policy allows no others."""
    for name, html in site.pages().items():
        head, body = html[: html.index("<body")], html[html.index("<body") :]
        assert "<script" not in body.lower(), name
        scripts = re.findall(r"<script([^>]*)>(.*?)</script>", head, re.S)
        assert scripts and not any(text for _, text in scripts)
        for attributes, _ in scripts:
            src = re.search(r'src="(assets/[\w./-]+\.js)"', attributes)
            assert src and (site.target / src.group(1)).is_file(), attributes
        policy = re.search(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">', head)
        assert policy and policy.group(1).startswith("default-src 'none';")
        assert "unsafe" not in policy.group(1) and "http" not in policy.group(1)
        assert head.index("Content-Security-Policy") < head.index("<link")
        assert "script-src 'self';" in policy.group(1)
        assert not [link for link in read_page(html).sources if ":" in link]
    for script in site.target.rglob("*.js"):
        text = script.read_text(encoding="utf-8")
        assert not re.search(r"\beval\(|new Function|fetch\(|XMLHttpRequest|sendBeacon|WebSocket", text)
    css = (site.target / "assets" / "booklet.css").read_text(encoding="utf-8")
    assert not re.search(r"@import|url\(\"?(https?:|//)", css)


def test_pages_are_built_for_everybody(site):
    """Language, landmarks, one h1, no level of headings left out."""
    for name, html in site.pages().items():
        assert html.startswith('<!DOCTYPE html>\n<html lang="en" class="figurine">'), name
        tags = read_page(html).tags
        assert tags.count("main") == tags.count("h1") == tags.count("title") == 1 or \
            tags.count("svg") > 0, name  # fmt: skip
        assert 'class="skip" href="#text"' in html
        levels = [int(tag[1]) for tag in tags if re.fullmatch(r"h[1-6]", tag)]
        assert levels[0] == 1 and all(b - a <= 1 for a, b in zip(levels, levels[1:], strict=False))


@pytest.mark.parametrize("language", LANGUAGES)
def test_languages(language, tmp_path):
    settings = SETTINGS + f'language = "{language}"\nnotation = "letters"\n'
    built = build(booklet_folder(tmp_path, settings), tmp_path / "out")
    assert broken_links(built.target) == []
    html = built.pages()["1.html"]
    knight = {"en": "N", "de": "S", "nl": "P"}.get(language, "C")
    assert f'<html lang="{language}">' in html
    assert f">2.{knight}f3<" in html


def test_same_booklet_same_bytes(site, tmp_path):
    again = build(booklet_folder(tmp_path), tmp_path / "out").target
    files = {path.relative_to(site.target) for path in site.target.rglob("*") if path.is_file()}
    assert files == {path.relative_to(again) for path in again.rglob("*") if path.is_file()}
    for file in files:
        assert (site.target / file).read_bytes() == (again / file).read_bytes(), file


def test_an_empty_chapter_makes_a_site(tmp_path):
    folder = write_booklet(tmp_path / "booklet", "Only words.")
    built = build(folder, tmp_path / "out")
    assert not built.faults.has_errors, built.told()
    assert broken_links(built.target) == []
    assert sorted(built.pages()) == ["1.boards.html", "1.html", "find.html", "index.html"]


def test_hostile_settings_stay_words(tmp_path):
    evil = "\\\"><img src=x onerror=alert(1)>"
    settings = "".join(f'{key} = "{evil}"\n' for key in ("title", "subtitle", "author", "edition"))
    chapter = f'+++\ntitle = "{evil}"\nsummary = "{evil}"\neco = "{evil}"\n+++\n## {evil}\n\n1\n'
    chapter += f'```line x\n1. e4 @n (D label e4 "<x" "{evil}")\n```\n'
    built = build(write_booklet(tmp_path / "b", chapter, settings=settings), tmp_path / "out")
    assert len(built.pages()) >= 5, built.told()
    for html in built.pages().values():
        assert "<img" not in html and "<x" not in html
        read_page(html)


# --- validators ---------------------------------------------------------------------------------


def test_the_pages_are_valid_html(site, program, node_package):
    """By the validator of the W3C's HTML checker (npm `vnu-jar`); the style sheet too."""
    jar = node_package("vnu-jar") / "build" / "dist" / "vnu.jar"
    checked = [*site.target.glob("*.html"), site.target / "assets" / "booklet.css"]
    run = subprocess.run(
        [program("java"), "-jar", str(jar), "--errors-only", "--also-check-css", "--stdout",
         *map(str, checked)],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr


def test_a_browser_finds_nothing_to_block(site, program, tmp_path):
    """From a folder, Chromium loads style and fonts, and reports no breach of the policy."""
    page = site.target / "1.html"
    run = subprocess.run(
        [program("chromium"), "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
         "--no-first-run", "--disable-background-networking", "--disable-component-update",
         "--disable-sync", f"--user-data-dir={tmp_path}", "--enable-logging=stderr", "--dump-dom",
         page.as_uri()],
        capture_output=True, text=True, timeout=120, env={**os.environ, "HOME": str(tmp_path)},
    )  # fmt: skip
    assert "diagram-1" in run.stdout, run.stderr
    assert "CONSOLE" not in run.stderr, run.stderr


# --- contrast -------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, "relative luminance"."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula():
    """Black on white is 21; #767676 on white is the darkest grey known to pass AA (4.54)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("scheme", ("light", "dark"))
def test_contrast(scheme):
    """WCAG 2.2 AA: 4.5 for text (1.4.3), 3 for what a drawing needs (1.4.11)."""
    css = (Path(__file__).parents[2] / "themes/site/leaf/leaf.css").read_text(encoding="utf-8")
    light, dark = css.split("@media (prefers-color-scheme: dark)")[:2]
    values = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", light))
    if scheme == "dark":
        values |= dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", dark.split("* { box")[0]))
    for text in ("ink", "faded", "red"):
        for ground in ("paper", "tint"):
            assert contrast(values[text], values[ground]) >= 4.5, (text, ground)
    for ground in ("board-paper", "board-shade"):
        assert contrast(values["board-ink"], values[ground]) >= 4.5, ground
        assert contrast(values.get("board-mark", values["red"]), values[ground]) >= 3, ground
