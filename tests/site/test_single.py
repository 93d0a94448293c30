"""A chapter as one HTML file: what is in it, and where the command puts it."""

from __future__ import annotations

import base64
import hashlib
import re
import subprocess
from pathlib import Path

import pytest
from tiny import read_and_make, write_booklet

from builder.__main__ import main
from builder.write.single_page import page_text

ROOT = Path(__file__).parents[2]
FIRST = '''\
+++
title = "The </title><script>first()</script>"
summary = "Where 1.e4 begins"
+++
## A part

```line main
1. e4 e5 2. Nf3 @open (D "\\\\</style>" label e4 "</script>")
```

[The other](2.md) and [@other], [there](@other), [2.Nf3 Nc6].[^1] ![A rook](images/rook.png)

```exercise e1 from @open
task: Black to move.
solution: 2... Nc6
```

[^1]: A note.
'''
SECOND = '''\
```line other from @open
2... d6 @other (D)
```
'''


def page(folder: Path, slug: str = "1") -> str:
    source, booklet, faults = read_and_make(folder)
    text = page_text(booklet, source.settings, source.files, slug, faults)
    assert text is not None, [fault.as_text() for fault in faults.sorted()]
    return text


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    folder = write_booklet(tmp_path_factory.mktemp("single"), FIRST, SECOND)
    (folder / "images").mkdir()
    (folder / "images" / "rook.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(40))
    return folder


@pytest.fixture(scope="module")
def html(folder) -> str:
    return page(folder)


def test_everything_is_in_it(html):
    """Nothing is named that isn't in the file; links into other chapters are words."""
    body = html[html.rindex("</script>") :]
    assert 'src="data:image/png;base64,' in body
    assert set(re.findall(r'(?:href|src)="([^"]*)"', body)) <= {
        *re.findall(r'"(#[^"]*)"', body), *re.findall(r'"(data:[^"]*)"', body),
    }  # fmt: skip
    assert "Diagram\u00a02, Chapter\u00a02" in body
    style = html[html.index("<style>") : html.index("</style>")]
    assert all(url.startswith(("data:", "#")) for url in re.findall(r'url\("([^"]*)"', style))
    assert style.count('format("woff2")') == 6  # four faces of the text, the figurines, the signs


def test_the_policy_names_what_is_in_it_and_nothing_more(html):
    """Content Security Policy Level 3, 2.3.1: hash sources."""
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', html).group(1)
    rules = dict(rule.strip().partition(" ")[::2] for rule in policy.split(";"))
    assert rules["default-src"] == "'none'" and "connect-src" not in rules
    for tag, rule in (("script", "script-src"), ("style", "style-src")):
        held = re.findall(rf"<{tag}[^>]*>(.*?)</{tag}>", html[: html.index("<body")], re.S)
        hashes = [base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in held]
        assert rules[rule].split(" ") == [f"'sha256-{one}'" for one in hashes]
    assert "Jeff Hlywa" in html  # chess.js asks for its licence wherever it goes


def test_hostile_text_stays_text(html):
    body = html[html.index("<body") :]
    assert "<script" not in body and "first()" in body
    assert body.count("</style>") == 0


def test_an_own_theme_goes_along(folder, tmp_path):
    own = folder / "theme" / "site"
    own.mkdir(parents=True)
    try:
        (own / "own.css").write_text('p::after { content: "</style><script>no()</script>" }')
        html = page(folder)
        assert html.count("</style>") == 1 and "<\\/style><script>no()<\\/script>" in html
    finally:
        (own / "own.css").unlink()
        own.rmdir()


def test_the_page_is_valid_html(html, program, node_package, tmp_path):
    """By the validator of the W3C's HTML checker (npm `vnu-jar`)."""
    jar = node_package("vnu-jar") / "build" / "dist" / "vnu.jar"
    (tmp_path / "a.html").write_text(html, encoding="utf-8")
    run = subprocess.run([program("java"), "-jar", str(jar), "--errors-only", "--stdout",
                          str(tmp_path / "a.html")], capture_output=True, text=True)  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr


def test_the_longest_chapter_can_be_sent():
    """What mail takes along without asking: 600 kB."""
    html = page(ROOT / "content", "20-main-road")
    assert len(html.encode()) < 600_000


def test_same_booklet_same_bytes(folder, html):
    assert page(folder) == html


# --- the command ----------------------------------------------------------------------------------


def test_command(folder, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["handout", str(folder), "--html", "1"]) == 0
    assert (tmp_path / "1.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert "made: one file of" in capsys.readouterr().out
    # A file that nobody named is never replaced; one that is named, if it is such a page.
    assert main(["handout", str(folder), "--html", "1"]) == 1
    assert "to replace it, name it: -o 1.html" in capsys.readouterr().out
    assert main(["handout", str(folder), "--html", "1", "-o", "1.html"]) == 0
    (tmp_path / "mine.html").write_text("<p>mine</p>")
    assert main(["handout", str(folder), "--html", "1", "-o", "mine.html"]) == 1
    assert "so it is not replaced" in capsys.readouterr().out
    assert (tmp_path / "mine.html").read_text() == "<p>mine</p>"


@pytest.mark.parametrize(
    "options, said",
    [(["--html", "3"], "the booklet has no chapter 3"),
     (["--html", "1", "-o", "a.pdf"], "a.pdf should end in .html"),
     (["--html", "1", "--duplex", "long"], "--duplex goes with paper"),
     (["--html", ""], "--html needs a chapter")],
)  # fmt: skip
def test_misuse(folder, tmp_path, monkeypatch, capsys, options, said):
    monkeypatch.chdir(tmp_path)
    assert main(["handout", str(folder), *options]) == 2
    assert said in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
