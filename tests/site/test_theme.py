"""A booklet's own theme: what it may replace, and what it can't do."""

from __future__ import annotations

from pathlib import Path

import pytest
from built_site import BuiltSite, build_site
from tiny import SETTINGS, write_booklet

from builder.render import sandbox

PNG = b"\x89PNG\r\n\x1a\n" + bytes(9000)
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0"/></svg>'


def build(root: Path, files: dict[str, str | bytes], chapter: str = "```line main\n1. e4\n```\n",
          settings: str = SETTINGS) -> BuiltSite:  # fmt: skip
    """The site of a one-chapter booklet with these files beside the chapter."""
    folder = write_booklet(root / "booklet", chapter, settings=settings)
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return build_site(folder, root / "out")


NAMES = "theme/site/names.html"
CHAPTER = "theme/site/chapter.html"
TOP = '{% extends "base.html" %}\n{% block main %}<h1>{{ chapter.title }}</h1>\n'
END = "\n{% endblock %}\n"


def test_a_template_replaces_the_themes_own(tmp_path):
    site = build(tmp_path, {CHAPTER: f"{TOP}<p>Ours.</p>{{{{ body }}}}{END}"})
    assert site.told() == []
    assert "<p>Ours.</p>" in site.page("1.html")
    assert "Content-Security-Policy" in site.page("1.html")


def test_a_style_sheet_is_added_behind_or_replaces(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    added = build(tmp_path / "a", {"theme/site/own.css": "h1 { color: red }"})
    assert added.told() == []
    assert added.css.index("--measure") < added.css.index("h1 { color: red }")
    replaced = build(tmp_path / "b", {"theme/site/leaf.css": "h1 { color: red }"})
    assert "--measure:" not in replaced.css and "h1 { color: red }" in replaced.css


def test_files_of_the_theme_come_along(tmp_path):
    css = 'a { background: url("paper.png") } b { background: url(dot.svg) } i { x: url(#y) }'
    site = build(tmp_path, {"theme/site/own.css": css, "theme/site/paper.png": PNG,
                            "theme/site/dot.svg": SVG})  # fmt: skip
    assert site.told() == []
    assert (site.target / "assets" / "paper.png").read_bytes() == PNG
    assert 'url("data:image/svg+xml;base64,' in site.css and "url(#y)" in site.css


FAULTS = (
    ("syntax", CHAPTER, "<p>\n{% if %}\n</p>",
     "theme/site/chapter.html:2:1: theme-template: Expected an expression, got 'end of statement block'"),
    ("syntax of a template that no page needs", "theme/site/other.html", "{% endfor %}",
     "theme/site/other.html:1:1: theme-template: Encountered unknown tag 'endfor'"),
    ("unknown name", CHAPTER, f"{TOP}{{{{ chaptre.title }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: 'chaptre' is undefined"),
    ("unknown field", CHAPTER, f"{TOP}\n  {{{{ chapter.titel }}}}{END}",
     "theme/site/chapter.html:4:3: theme-template: 'builder.render.site_views.Entry object' has no "
     "attribute 'titel'"),
    ("failing", CHAPTER, f"{TOP}{{{{ 1 // 0 }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: the template fails: "),
    ("missing part", CHAPTER, f'{TOP}{{% include "none.html" %}}{END}',
     "theme/site/chapter.html:3:1: theme-template: the theme has no template none.html"),
    ("a file outside", CHAPTER, f'{TOP}{{% include "../../booklet.toml" %}}{END}',
     "theme/site/chapter.html:3:1: theme-template: the theme has no template ../../booklet.toml"),
    ("a file by its path", CHAPTER, f'{TOP}{{% include "/etc/passwd" %}}{END}',
     "theme/site/chapter.html:3:1: theme-template: the theme has no template /etc/passwd"),
    ("a name that no file can have", CHAPTER, f'{TOP}{{% include "a\\x00b" %}}{END}',
     "theme/site/chapter.html:3:1: theme-template: the theme has no template a"),
    ("a name that is too long", CHAPTER, f'{TOP}{{% include "{"a" * 300}" %}}{END}',
     "theme/site/chapter.html:3:1: theme-template: the theme has no template aaa"),
    ("a file's name that is too long", "theme/site/own.css", f"a {{ b: url({'a' * 300}.png) }}",
     "theme/site/own.css:1:12: theme-file: the theme has no file aaa"),
    ("Python's innards", CHAPTER, f"{TOP}{{{{ words.__class__.__mro__ }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: access to attribute '__class__'"),
    ("more innards", CHAPTER, f"{TOP}{{{{ ''.__class__.__base__.__subclasses__() }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: access to attribute '__class__'"),
    ("an endless range", CHAPTER, f"{TOP}{{% for i in range(10 ** 9) %}}{{% endfor %}}{END}",
     "theme/site/chapter.html:3:1: theme-template: the template fails: Range too big"),
    ("ranges in a range", CHAPTER, TOP + "{% for i in range(99999) %}" * 2 + "{% endfor %}" * 2 + END,
     "theme/site/chapter.html:3:1: theme-template: this takes too many steps"),
    ("macros that call twice", CHAPTER,
     f"{TOP}{{% macro m(n) %}}{{{{ n and m(n - 1) ~ m(n - 1) }}}}{{% endmacro %}}{{{{ m(90) }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: this takes too many steps"),
    ("more and more letters", CHAPTER,
     f"{TOP}{{% for i in range(9999) %}}{'long ' * 99999}{{% endfor %}}{END}",
     "theme/site/chapter.html:3:1: theme-template: this takes too many steps"),
    ("a text that doubles", CHAPTER,
     TOP + "{% set at = namespace(a='a') %}{% for i in range(60) %}{% set at.a = at.a ~ at.a %}{% endfor %}"
     + END, "theme/site/chapter.html:3:1: theme-template: this value grows too large"),
    ("a captured text that doubles", CHAPTER,
     TOP + "{% set at = namespace(a='a') %}{% for i in range(60) %}"
     "{% set at.a %}{{ at.a }}{{ at.a }}{% endset %}{% endfor %}" + END,
     "theme/site/chapter.html:3:1: theme-template: this value grows too large"),
    ("a list that doubles", CHAPTER,
     TOP + "{% set at = namespace(a=[1]) %}{% for i in range(60) %}{% set at.a = at.a + at.a %}{% endfor %}"
     + END, "theme/site/chapter.html:3:1: theme-template: this value grows too large"),
    ("a long text at once", CHAPTER, f"{TOP}{{{{ 'a' * 4000000000 }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: this value grows too large"),
    ("wide padding", CHAPTER, f"{TOP}{{{{ 'a'|center(4000000000) }}}}{{{{ 'a'.ljust(9) }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: this value grows too large"),
    ("wide padding by a method", CHAPTER, f"{TOP}{{{{ 'a'.ljust(4000000000) }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: this value grows too large"),
    ("a wide format", CHAPTER, f"{TOP}{{{{ '%4000000000d'|format(1) }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: this format is too wide"),
    ("the same by a method", CHAPTER, f"{TOP}{{{{ '{{:4000000000}}'.format(1) }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: this format is too wide"),
    ("a power", CHAPTER, f"{TOP}{{{{ 9 ** (9 ** 9) }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: this number grows too large"),
    ("chance", CHAPTER, f"{TOP}{{{{ [1, 2]|random }}}}{END}",
     "theme/site/chapter.html:3:1: theme-template: No filter named 'random'"),
    ("nested too deep", CHAPTER, f"{TOP}{{{{ {'(' * 5000}1{')' * 5000} }}}}{END}",
     "theme/site/chapter.html:1:1: theme-template: this template is nested too deep"),
    ("more loops than Python nests", CHAPTER,
     TOP + "{% for i in [1] %}" * 30 + "{% endfor %}" * 30 + END,
     "theme/site/chapter.html:1:1: theme-template: this template is nested too deep"),
    ("not UTF-8", CHAPTER, b"\xff\xfe",
     "theme/site/chapter.html:1:1: theme-template: the template is not UTF-8 text"),
    ("script", CHAPTER, f"{TOP}<script>x()</script>{END}",
     "theme/site/chapter.html:1:1: theme-script: the page 1.html gets <script> from its template"),
    ("event", CHAPTER, f'{TOP}<p onclick="x()">a</p>{END}',
     "theme-script: the page 1.html gets the attribute onclick from its template"),
    ("running address", CHAPTER, f'{TOP}<a href=" java\nscript:x()">a</a>{END}',
     "theme-script: the page 1.html gets the address javascript:x() from its template"),
    ("refresh", CHAPTER, f'{TOP}<meta http-equiv="Refresh" content="0;url=x">{END}',
     "theme-script: the page 1.html gets a refresh from its template"),
    ("frame", CHAPTER, f"{TOP}<iframe src='x'></iframe>{END}",
     "theme-script: the page 1.html gets <iframe> from its template"),
    ("file of a style sheet", "theme/site/own.css", 'a {\n  b: url("no.png") }',
     "theme/site/own.css:2:11: theme-file: the theme has no file no.png"),
    ("file outside", "theme/site/own.css", "a { b: url(../../booklet.toml) }",
     "theme/site/own.css:1:12: theme-file: "),
    ("kind of a file", "theme/site/own.css", "a { b: url(own.css) }",
     "theme/site/own.css:1:12: theme-file: own.css is no font and no picture"),
    ("an address elsewhere", "theme/site/own.css", "a { b: url(https://example.org/a.png) }",
     "theme/site/own.css:1:12: theme-file: the site uses the theme's own files alone"),
    ("an address without its scheme", "theme/site/own.css", "a { b: url('//example.org/a.png') }",
     "theme/site/own.css:1:13: theme-file: the site uses the theme's own files alone"),
    ("another sheet", "theme/site/own.css", 'b {}\n@import "https://example.org/a.css" screen;',
     "theme/site/own.css:2:1: theme-file: the site uses the theme's own files alone"),
    ("style sheet that is no text", "theme/site/own.css", b"\xff",
     "theme/site/own.css:1:1: theme-file: the style sheet is not UTF-8 text"),
)  # fmt: skip


@pytest.mark.parametrize(("name", "file", "text", "told"), FAULTS, ids=[case[0] for case in FAULTS])
def test_what_is_wrong_in_a_theme_is_told(name, file, text, told, tmp_path, monkeypatch):
    monkeypatch.setattr(sandbox, "MOST_STEPS", 100_000)  # a page here takes some dozens
    site = build(tmp_path, {file: text})
    assert [line for line in site.told() if told in line], site.told()


def test_links_out_of_the_theme_are_not_followed(tmp_path):
    (tmp_path / "secret.html").write_text("secret")
    (tmp_path / "secret.css").write_text("secret {}")
    theme = tmp_path / "booklet" / "theme" / "site"
    theme.mkdir(parents=True)
    (theme / "names.html").symlink_to(tmp_path / "secret.html")
    (theme / "own.css").symlink_to(tmp_path / "secret.css")
    site = build(tmp_path, {})
    assert "secret" not in site.css + "".join(
        path.read_text(encoding="utf-8") for path in site.target.glob("*.html")
    )


def test_a_theme_folder_that_leads_out_is_an_error(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "booklet" / "theme").mkdir(parents=True)
    (tmp_path / "booklet" / "theme" / "site").symlink_to(tmp_path / "elsewhere")
    site = build(tmp_path, {})
    assert site.told() == [
        "booklet.toml:1:1: file-outside: theme/site is outside the booklet's folder"
    ]


def test_an_unknown_theme_is_an_error(tmp_path):
    site = build(tmp_path, {}, settings=SETTINGS + '[site]\ntheme = "laef"\n')
    assert "site-theme: there is no site theme 'laef'" in site.told()[0]
    assert site.faults.sorted()[0].hint == "did you mean leaf?"


# --- pictures --------------------------------------------------------------------------------------

PICTURES = (
    ("a picture", "a.png", PNG, ""),
    ("a drawing", "a.svg", SVG, ""),
    ("no PNG", "a.png", b"<html>", "images/a.png is no PNG picture"),
    ("no JPEG", "a.jpg", PNG, "images/a.jpg is no JPG picture"),
    ("no WebP", "a.webp", b"RIFF0000WAVE", "images/a.webp is no WEBP picture"),
    ("no SVG", "a.svg", b"<html>", "images/a.svg is no SVG"),
    ("script", "a.svg", b"<svg><script>x()</script></svg>", "holds more than a picture"),
    ("script of a prefix", "a.svg", b"<svg><s:script>x()</s:script></svg>", "holds more"),
    ("event", "a.svg", b'<svg onload="x()"/>', "holds more than a picture"),
    ("event without a space", "a.svg", b'<svg a="b"onload="x()"/>', "holds more than a picture"),
    ("entity", "a.svg", b'<!DOCTYPE svg [<!ENTITY x "y">]><svg>&x;</svg>', "holds more"),
    ("address", "a.svg", b'<svg><a href="java&#115;cript:x()"/></svg>', "holds more"),
)  # fmt: skip


@pytest.mark.parametrize(("name", "file", "data", "told"), PICTURES, ids=[p[0] for p in PICTURES])
def test_pictures_are_looked_at(name, file, data, told, tmp_path):
    site = build(tmp_path, {f"images/{file}": data}, f"![A picture](images/{file})\n")
    copied = site.target / "pictures" / "images" / file
    if told:
        assert told in site.told()[0] and "chapters/1.md:1:1" in site.told()[0]
        assert not copied.exists()
    else:
        assert site.told() == [] and copied.read_bytes() == data
        assert f'<img src="pictures/images/{file}" alt="A picture">' in site.page("1.html")


def test_only_pictures_that_are_shown_are_copied(tmp_path):
    site = build(tmp_path, {"images/a.png": PNG, "images/b.png": PNG}, "![A](images/a.png)\n")
    assert [path.name for path in site.target.rglob("*.png")] == ["a.png"]
