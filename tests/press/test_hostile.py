"""What a booklet from somebody else may not do through the PDF, and what may be missing."""

from __future__ import annotations

import base64
import builtins
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables._g_l_y_f import Glyph, GlyphComponent
from tiny import SETTINGS, tiny

from builder.draw.glyphs import FONTS
from builder.faults import Faults, Severity
from builder.press import fetch, themed, weasy
from builder.press.bounds import Bounds
from builder.press.paginate import measure
from builder.press.pdf import THEMES, PressMissing, write_pdf
from builder.press.themed import Themed
from builder.press.weasy import PressFailed, Setting, Sheet
from builder.render.theme_files import ThemeFiles
from builder.settings import CoverSettings, PrintSettings, Settings

PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAQAAAC1HAwCAAAAC0lEQVR42mNk+A8AAQUBAScY42YAAAAASUVORK5CYII="
)
SECRET = "the secret of the harbour"


# --- what is read -----------------------------------------------------------------------------


@pytest.fixture
def shelves(tmp_path) -> dict[str, fetch.Shelf]:
    """A booklet with two pictures, one of which its text shows; a theme; a secret outside."""
    booklet, theme = tmp_path / "booklet", tmp_path / "theme"
    for folder in (booklet / "images", theme):
        folder.mkdir(parents=True)
    (tmp_path / "secret.txt").write_text(SECRET)
    (booklet / "booklet.toml").write_text(SECRET)
    (booklet / "images" / "shown.png").write_bytes(PIXEL)
    (booklet / "images" / "other.png").write_bytes(PIXEL)
    (booklet / "images" / "way-out.png").symlink_to(tmp_path / "secret.txt")
    (theme / "ours.css").write_text("p { }")
    (theme / "way-out.css").symlink_to(tmp_path / "secret.txt")
    shown = {"images/shown.png", "images/way-out.png", "../secret.txt"}
    return {"theme": fetch.Shelf((theme,)), "pictures": fetch.Shelf((booklet,), shown)}


ALLOWED = {
    "a picture of the text": ("pictures/images/shown.png", PIXEL),
    "a file of the theme": ("theme/ours.css", b"p { }"),
    "a name with escapes": ("pictures/images/sh%6Fwn.png", PIXEL),
}


@pytest.mark.parametrize(("address", "body"), ALLOWED.values(), ids=ALLOWED)
def test_what_may_be_read(shelves, address, body):
    assert fetch.read(fetch.ORIGIN + address, shelves)[0] == body


def test_a_data_address_carries_its_own_bytes(shelves):
    assert fetch.read("data:text/css,p%20%7B%7D", shelves) == (b"p {}", "text/css")
    given = "data:image/png;base64," + base64.b64encode(PIXEL).decode()
    assert fetch.read(given, shelves) == (PIXEL, "image/png")


REFUSED = {
    "a file by its address": "file:///etc/passwd",
    "the network": "http://localhost/x.png",
    "the network, safely": "https://localhost/x.png",
    "another protocol": "ftp://localhost/x.png",
    "no protocol": "/etc/passwd",
    "our address as a beginning": "https://booklet.invalid.example/theme/ours.css",
    "a picture that the text doesn't show": fetch.ORIGIN + "pictures/images/other.png",
    "the booklet's settings": fetch.ORIGIN + "pictures/booklet.toml",
    "out of the folder": fetch.ORIGIN + "pictures/../secret.txt",
    "out of the folder, escaped": fetch.ORIGIN + "pictures/%2e%2e/secret.txt",
    "out of the theme": fetch.ORIGIN + "theme/%2e%2e/secret.txt",
    "out of the theme, twice escaped": fetch.ORIGIN + "theme/%252e%252e/secret.txt",
    "an absolute name": fetch.ORIGIN + "theme//etc/passwd",
    "a link out of the booklet": fetch.ORIGIN + "pictures/images/way-out.png",
    "a link out of the theme": fetch.ORIGIN + "theme/way-out.css",
    "a folder": fetch.ORIGIN + "theme/",
    "no such shelf": fetch.ORIGIN + "other/ours.css",
    "a zero byte": fetch.ORIGIN + "theme/ours.css%00.png",
    "data without a comma": "data:image/png;base64",
    "data that isn't base 64": "data:image/png;base64,!",
}


@pytest.mark.parametrize("address", REFUSED.values(), ids=REFUSED)
def test_what_is_refused(shelves, address):
    with pytest.raises(fetch.Refused):
        fetch.read(address, shelves)


def test_a_file_that_is_too_large_is_refused(shelves, tmp_path):
    with open(tmp_path / "theme" / "large.ttf", "wb") as file:
        file.truncate(fetch.LARGEST + 1)
    with pytest.raises(fetch.Refused, match="too large"):
        fetch.read(fetch.ORIGIN + "theme/large.ttf", shelves)


# --- what becomes of it -----------------------------------------------------------------------


def written(folder: Path, chapter: str = "# A\n\nWords.\n", theme: str = "book"):
    """The faults of a PDF's making, whether it was made, and its bytes."""
    booklet = tiny(folder, chapter)
    assert not [fault for fault in booklet.faults if fault.severity == Severity.ERROR], (
        booklet.told()
    )
    given = Settings("Tiny", date="2026-01-02")
    given = replace(given, print=replace(given.print, theme=theme))
    faults = Faults()
    target = folder / "out.pdf"
    facts = write_pdf(booklet.booklet, given, folder, target, faults)
    told = [(fault.code, str(fault.place), fault.message) for fault in faults.sorted()]
    return told, facts, target.read_bytes() if target.is_file() else b""


def picture(folder: Path, name: str, body: bytes) -> None:
    (folder / "images").mkdir(parents=True, exist_ok=True)
    (folder / "images" / name).write_bytes(body)


def test_a_picture_is_shown(tmp_path):
    picture(tmp_path, "dot.png", PIXEL)
    told, facts, body = written(tmp_path, "# A\n\nBefore ![a dot](images/dot.png) behind.\n")
    assert told == []
    assert facts is not None
    assert b"/Subtype /Image" in body or b"/Image" in body


def test_a_broken_picture_is_told_at_its_place(tmp_path):
    picture(tmp_path, "dot.png", b"no picture at all")
    told, _, _ = written(tmp_path, "# A\n\nBefore ![a dot](images/dot.png) behind.\n")
    assert [(code, place) for code, place, _ in told] == [("print-file", "chapters/1.md:3:8")]


SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" ' \
      'width="10" height="10">{}</svg>'  # fmt: skip
SVG_ATTACKS = {
    "image": '<image xlink:href="file:///etc/passwd" width="9" height="9"/>',
    "image href": '<image href="http://localhost/x.png" width="9" height="9"/>',
    "use": '<use href="file:///etc/passwd#x"/>',
    "style": "<style>@import url(file:///etc/passwd);</style>",
}


@pytest.mark.parametrize("inside", SVG_ATTACKS.values(), ids=SVG_ATTACKS)
def test_a_picture_can_load_nothing(tmp_path, monkeypatch, inside):
    opened = watch_files(monkeypatch)
    picture(tmp_path, "evil.svg", SVG.format(inside).encode())
    written(tmp_path, "# A\n\n![evil](images/evil.svg)\n")
    assert not [path for path in opened if "passwd" in path]


def watch_files(monkeypatch) -> list[str]:
    """The files that Python opens from now on; sockets raise."""
    opened: list[str] = []
    real_open, real_os_open = builtins.open, os.open

    def noted(file, *args, **options):
        opened.append(str(file))
        return real_open(file, *args, **options)

    def noted_by_os(file, *args, **options):
        opened.append(str(file))
        return real_os_open(file, *args, **options)

    def no_socket(*args, **options):
        raise AssertionError("a socket was opened")

    monkeypatch.setattr("builtins.open", noted)
    monkeypatch.setattr("io.open", noted)
    monkeypatch.setattr("os.open", noted_by_os)
    monkeypatch.setattr("socket.socket", no_socket)
    return opened


STYLES = {
    "import of a file": '@import url("file:///etc/passwd");',
    "import from the network": '@import url("http://localhost/x.css");',
    "import out of the theme": '@import url("../../secret.css");',
    "picture of a file": 'body { background: url("file:///etc/passwd") }',
    "picture from the network": 'body { background: url("http://localhost/x.png") }',
    "picture out of the theme": 'h1::before { content: url("../../../secret.png") }',
    "picture of the booklet that no text shows": 'body { background: url("/pictures/booklet.toml") }',
    "font from the network": '@font-face { font-family: X; src: url("http://localhost/x.ttf") }',
}


@pytest.mark.parametrize("style", STYLES.values(), ids=STYLES)
def test_a_theme_can_load_nothing_from_elsewhere(tmp_path, monkeypatch, style):
    opened = watch_files(monkeypatch)
    own = tmp_path / "theme" / "print"
    own.mkdir(parents=True)
    (own / "own.css").write_text(style)
    told, _, _ = written(tmp_path)
    assert "print-file" in [code for code, _, _ in told]
    assert not [path for path in opened if "passwd" in path or "secret" in path]


def test_an_address_that_is_a_whole_picture_is_told_in_short(tmp_path):
    own = tmp_path / "theme" / "print"
    own.mkdir(parents=True)
    (own / "own.css").write_text('h1::before { content: url("data:image/png;base64,' + "A" * 100_000 + '") }')
    told, _, _ = written(tmp_path)
    failed = [message for code, _, message in told if code == "print-file"]
    assert failed and all(len(message) <= 400 for message in failed)


def test_a_fault_in_a_style_sheet_is_told_at_its_line(tmp_path):
    own = tmp_path / "theme" / "print"
    own.mkdir(parents=True)
    (own / "own.css").write_text("p { color: black }\nh1 {\n  colour: black;\n}\n")
    told, facts, _ = written(tmp_path)
    assert [(code, place) for code, place, _ in told] == [
        ("print-layout", "theme/print/own.css:3:3")
    ]
    assert facts is not None


SENSELESS = {
    "a counter as high as the press's own": (
        "p { counter-reset: x 3000000 } p::before { content: counter(x) }",
        "the number of a page can't be filled in .* another counter has reached 1,000,000",
    ),
    "nothing in the flow": ("* { position: absolute !important }", "a part of it gets no page"),
    "columns without a width": ("body { column-width: 0.00001px; column-gap: 0 }", "a part of it gets no page"),
    "transforms to a point": ("* { transform: scale(0) }", "KeyError"),
    "rules in rules": ("@media print {" * 5000, "RecursionError"),
    "a colour beyond all colours": ("p { color: oklch(1e30 1e30 1deg) }", "too large for a PDF"),
    "half a character": ('h1 { bookmark-label: "\\d800" }', "UnicodeEncodeError"),
    "no number": ("* { width: 1e308px; margin-left: 1e308px; padding: 1e308px }", "ValueError"),
}


@pytest.mark.parametrize(("style", "reason"), SENSELESS.values(), ids=SENSELESS)
def test_a_style_sheet_without_sense_is_told(tmp_path, style, reason):
    """At the style sheet, with a reason, and nothing takes the place of the last good file."""
    own = tmp_path / "theme" / "print"
    own.mkdir(parents=True)
    (own / "own.css").write_text(style)
    (tmp_path / "out.pdf").write_bytes(b"the last good one")
    told, facts, body = written(tmp_path, "# A\n\nWords.\n")
    assert facts is None and body == b"the last good one"
    failed = [(place, message) for code, place, message in told if code == "print-failed"]
    assert [place for place, _ in failed] == ["theme/print/own.css:1:1"]
    assert re.search(reason, failed[0][1])


TEMPLATES = {
    "no such name": "{{ nobody.knows }}",
    "not a template": "{% if %}",
    "a file outside": '{% include "../../../booklet.toml" %}',
    "an absolute file": '{% include "/etc/passwd" %}',
    "Python's insides": "{{ ''.__class__.__mro__[1].__subclasses__() }}",
    "by way of a filter": "{{ ''|attr('__class__') }}",
    "by way of a format": "{{ '{0.__class__}'.format(1) }}",
    "changing what is given": "{{ chapters.append(1) }}",
    "without end": "{% for a in range(1000000000) %}x{% endfor %}",
}


@pytest.mark.parametrize("template", TEMPLATES.values(), ids=TEMPLATES)
def test_a_template_can_do_no_harm(tmp_path, template):
    own = tmp_path / "theme" / "print"
    own.mkdir(parents=True)
    (own / "main.html").write_text(template)
    (own / "frame.html").write_text("<p>")
    told, facts, _ = written(tmp_path)
    assert facts is None
    assert [(code, place) for code, place, _ in told] == [
        ("theme-template", "theme/print/main.html:1:1")
    ]


def test_an_author_s_words_are_no_markup(tmp_path, program):
    program("pdftotext")
    told, facts, _ = written(
        tmp_path, '# A <b onclick="x">\n\nSome `<script>alert(1)</script>` & <b>more</b>.\n'
    )
    assert told == []
    out = subprocess.run(["pdftotext", tmp_path / "out.pdf", "-"], check=True,
                         capture_output=True, encoding="utf-8").stdout  # fmt: skip
    assert "<script>alert(1)</script> & <b>more</b>." in " ".join(out.split())
    assert "A <b onclick=”x”>" in " ".join(out.split())


def test_a_title_can_t_leave_its_style(tmp_path, program):
    """The title goes into the style sheet's words, too: it stands at the foot of a handout."""
    program("pdftotext")
    title = "A\\\"'; } </style> {{ x }} \\000041 &quot;"
    quoted = title.replace("\\", "\\\\").replace('"', '\\"')
    booklet = tiny(tmp_path, "# A\n\n" + "Words of a page. " * 900,
                   settings=SETTINGS.replace('"Tiny"', f'"{quoted}"'))  # fmt: skip
    faults = Faults()
    settings = Settings(title, print=PrintSettings(theme="handout"))
    write_pdf(booklet.booklet, settings, tmp_path, tmp_path / "out.pdf", faults)
    assert [fault.as_text() for fault in faults.sorted()] == []
    out = subprocess.run(["pdftotext", "-f", "2", "-l", "2", tmp_path / "out.pdf", "-"],
                         check=True, capture_output=True, encoding="utf-8").stdout  # fmt: skip
    printed = title.replace("\"'", "”’").replace('"', "”")
    assert printed in out


@pytest.mark.parametrize("theme", ["../book", "base", "sheets", "", "bok"])
def test_a_theme_that_isn_t_there_is_told_at_its_key(tmp_path, theme):
    settings = f'{SETTINGS}\n[print]\ntheme = "{theme}"\n'
    booklet = tiny(tmp_path, "# A\n\nWords.\n", settings=settings).booklet
    faults = Faults()
    given = replace(Settings("Tiny"), print=PrintSettings(theme=theme))
    assert write_pdf(booklet, given, tmp_path, tmp_path / "out.pdf", faults) is None
    assert [(fault.code, str(fault.place)) for fault in faults.sorted()] == [
        ("print-theme", "booklet.toml:6:1")
    ]
    assert "did you mean book?" in faults.sorted()[0].hint or theme != "bok"


def test_a_letter_that_no_font_has_is_told(tmp_path):
    told, _, _ = written(tmp_path, "# A\n\nA word in Georgian: \u10e5\u10d0.\n")
    fonts = [message for code, _, message in told if code in ("print-font", "print-layout")]
    assert fonts
    assert all("\u10e5" in message or "notdef" in message for message in fonts)


def drawn_by(others: list[str]) -> Glyph:
    """A glyph that is made of others."""
    glyph = Glyph()
    glyph.numberOfContours, glyph.components = -1, []
    glyph.xMin = glyph.yMin = glyph.xMax = glyph.yMax = 0
    for other in others:
        part = GlyphComponent()
        part.glyphName, part.x, part.y, part.flags = other, 0, 0, 0x0203
        glyph.components.append(part)
    return glyph


def recursive(font: TTFont) -> None:
    """The letter n is drawn by an i, and the i by an n."""
    for name, other in (("n", "i"), ("i", "n")):
        font["glyf"][name] = drawn_by([other])


def multiplied(font: TTFont) -> None:
    """Each of thirty glyphs is drawn by eight of the one before."""
    before = "o"
    for name in (*font.getGlyphOrder()[300:330], "n"):
        font["glyf"][name] = drawn_by([before] * 8)
        before = name


@pytest.mark.parametrize("change", [recursive, multiplied])
@pytest.mark.parametrize("theme", ["print", "cover"])
def test_a_font_of_somebody_else_s_can_be_broken(tmp_path, change, theme):
    """Such a font is drawn, and then can't be cut down to the letters that are used."""
    own = tmp_path / "theme" / theme
    own.mkdir(parents=True)
    font = TTFont(FONTS / "SourceSans3-Regular.ttf", recalcBBoxes=False)
    change(font)
    font.save(own / "own.ttf")
    (own / "own.css").write_text('@font-face { font-family: Own; src: url("own.ttf") }'
                                 "* { font-family: Own !important }")  # fmt: skip
    booklet = tiny(tmp_path, "# A\n\nWords go on here, one more, one less.\n").booklet
    faults = Faults()
    settings = Settings("Tiny", cover=CoverSettings(kind="self"))
    assert write_pdf(booklet, settings, tmp_path, tmp_path / "out.pdf", faults) is None
    (fault,) = (one for one in faults.sorted() if one.severity == Severity.ERROR)
    assert fault.code == "print-failed" and "a font that it brings along is broken" in fault.message


# --- what is not installed --------------------------------------------------------------------


def test_without_weasyprint_the_message_says_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)
    with pytest.raises(PressMissing, match="pip install weasyprint"):
        written(tmp_path)


def test_without_pango_the_message_says_what_to_install(tmp_path, monkeypatch):
    def missing(name, *args, **options):
        if name.startswith("weasyprint"):
            raise OSError("cannot load library 'libpango-1.0-0': no such file\nand more lines")
        return real_import(name, *args, **options)

    real_import = builtins.__import__
    monkeypatch.setattr("builtins.__import__", missing)
    with pytest.raises(PressMissing, match=r"Pango.*libpango-1\.0-0.*apt-get install") as caught:
        weasy._weasyprint()
    assert "\n" not in str(caught.value)


# --- what it may take -------------------------------------------------------------------------

BOUNDS = Bounds(seconds=2, memory=1 << 30)
TOLD = "it takes (more than 1,024 MB of memory|longer than \\d seconds of a processor)"
ENDLESS = {
    "values in values": ":root { --v0: a a a a a a a a;"
    + "".join(f"--v{n}:{f' var(--v{n - 1})' * 8};" for n in range(1, 12))
    + "} p { font-family: var(--v11) }",
    "stops of colour": "body { background: repeating-linear-gradient(red 0, blue 0.00001px) }",
}


@pytest.mark.parametrize("style", ENDLESS.values(), ids=ENDLESS)
def test_a_theme_without_end_is_told(tmp_path, monkeypatch, style):
    monkeypatch.setattr(themed, "Bounds", lambda: BOUNDS)
    own = tmp_path / "theme" / "print"
    own.mkdir(parents=True)
    (own / "own.css").write_text(style)
    found, facts, _ = written(tmp_path)
    assert [(code, place) for code, place, _ in found] == [("print-failed", "theme/print/own.css:1:1")]
    assert facts is None and re.search(TOLD, found[0][2])


def test_a_picture_without_end_is_told(tmp_path, monkeypatch):
    """A picture of somebody else's may draw itself ten times, and that ten times, and so on."""
    monkeypatch.setattr(themed, "Bounds", lambda: BOUNDS)
    parts = "".join(
        f'<g id="p{n}">{f"<use xlink:href=%s#p{n - 1}%s/>" % (chr(34), chr(34)) * 10}</g>' for n in range(1, 12)
    )
    body = f'<defs><rect id="p0" width="1" height="1"/>{parts}</defs><use xlink:href="#p11"/>'
    picture(tmp_path, "laughs.svg", SVG.format(body).encode())
    found, facts, _ = written(tmp_path, "# A\n\n![laughs](images/laughs.svg)\n")
    assert facts is None and [code for code, _, _ in found] == ["print-failed"]


def test_what_is_only_measured_has_an_end_too():
    sheet = Sheet("theme/sheets/own.css", ENDLESS["values in values"])
    setting = Setting((sheet,), {}, {}, bounds=BOUNDS)
    with pytest.raises(PressFailed, match=TOLD):
        measure("<p id=a>Words", setting, Faults())


def test_a_lower_limit_of_the_system_stays():
    """Whoever runs the build in less memory than the bounds give is not refused for it."""
    code = (
        "import resource; from builder.press.bounds import Bounds;"
        "resource.setrlimit(resource.RLIMIT_AS, (1 << 30, 1 << 30)); Bounds().bound_memory();"
        "print(resource.getrlimit(resource.RLIMIT_AS)[0] >> 20)"
    )
    found = subprocess.run([sys.executable, "-c", code], cwd=Path(__file__).parents[2],
                           capture_output=True, text=True, check=True)  # fmt: skip
    assert found.stdout == "1024\n"


def test_what_keeps_within_bounds_is_measured_alike():
    """In a process of its own as in this one, with what is told."""
    sheet = Sheet("own.css", "p { margin-top: 10mm; nonsense: 1 }")
    found = []
    for bounds in (None, Bounds()):
        faults = Faults()
        spots = measure("<p id=a>Words<p id=b>Words", Setting((sheet,), {}, {}, bounds=bounds), faults)
        found.append((spots, faults.sorted()))
    assert found[0] == found[1] and {"a", "b"} <= found[0][0].keys() and found[0][1]


def test_our_own_style_sheets_need_no_bounds(tmp_path):
    """They are laid out at once, without a process for it."""
    theme = ThemeFiles((tmp_path / "theme" / "print", THEMES / "book", THEMES / "base"))
    plain = Themed(theme, PrintSettings(), tmp_path, {})
    assert plain.setting(Faults()).bounds is None
    (tmp_path / "theme" / "print").mkdir(parents=True)
    assert plain.setting(Faults()).bounds is not None
