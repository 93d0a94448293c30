"""What is wrong in a theme's templates, told as faults.

In: what a template made Python raise, or the page that it made. Out: faults at the template's
own line. A page with a script in it is a fault: the page's policy would not let it run, and its
author should know.
"""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path

import jinja2

from builder.faults import Faults
from builder.place import Place, Source
from builder.render.site_document import SitePage
from builder.render.theme_files import ThemeFiles

_FORBIDDEN = frozenset({"script", "iframe", "frame", "object", "embed", "applet", "base", "form"})
_ADDRESSES = frozenset({"href", "src", "action", "formaction", "xlink:href", "data"})
_RUNNING = ("javascript:", "vbscript:", "data:text")


def check_templates(theme: ThemeFiles, folder: Path, faults: Faults) -> bool:
    """Whether all templates can be read as templates; those that can't are told."""
    environment = theme.environment()
    fine = True
    for name in _templates(theme):
        try:
            environment.get_template(name)
        except (jinja2.TemplateSyntaxError, UnicodeDecodeError, OSError) as error:
            template_fault(error, theme, folder, faults, name)
            fine = False
    return fine


def _templates(theme: ThemeFiles) -> list[str]:
    return sorted({file.name for folder in theme.folders for file in folder.glob("*.html")})


def template_fault(error: Exception, theme: ThemeFiles, folder: Path, faults: Faults,
                   name: str = "") -> None:  # fmt: skip
    """Tells what went wrong in a template. Raises `error` again when no template was at work:
    then the mistake is ours. `name` is the template that was to be read, if known."""
    place = _place(error, theme, name)
    if place is None:
        raise error
    at, line = place
    source = _source(at, theme, folder)
    faults.add_source(source)
    start = source.line_starts[min(line, len(source.line_starts)) - 1]
    text = source.text[start : start + len(source.line_text(line))]
    indent = len(text) - len(text.lstrip())
    faults.error("theme-template", source.place(start + indent, start + len(text)), _reason(error))


def _place(error: Exception, theme: ThemeFiles, name: str) -> tuple[str, int] | None:
    """The template and its line."""
    if isinstance(error, jinja2.TemplateSyntaxError):
        return error.name or name, error.lineno
    found = (name, 1) if name else None
    trace = error.__traceback__
    while trace is not None:
        file = trace.tb_frame.f_code.co_filename
        if file.endswith(".html") and theme.path(file) is not None:
            found = file, trace.tb_lineno
        trace = trace.tb_next
    return found


def _reason(error: Exception) -> str:
    if isinstance(error, jinja2.TemplateNotFound):
        return f"the theme has no template {error.name}"
    if isinstance(error, UnicodeDecodeError):
        return "the template is not UTF-8 text"
    if isinstance(error, jinja2.TemplateError):
        return (error.message or type(error).__name__).rstrip(".")
    return f"the template fails: {error}"


def _source(name: str, theme: ThemeFiles, folder: Path) -> Source:
    try:
        text = theme.text(name)
    except (OSError, UnicodeDecodeError):
        text = ""
    return Source(theme.shown_name(name, folder), text.replace("\r\n", "\n"))


def check_page(page: SitePage, theme: ThemeFiles, folder: Path, faults: Faults) -> None:
    """Tells what a page holds that could run or fetch."""
    finder = _Finder()
    finder.feed(page.html)
    finder.close()
    source = _source(page.template, theme, folder)
    for found in finder.found:
        faults.add_source(source)
        faults.error("theme-script", Place(source.file, 1, 1, 2),
                     f"the page {page.file} gets {found} from its template",
                     "a site has no scripts and fetches nothing")  # fmt: skip


class _Finder(HTMLParser):
    """Notes elements and attributes that could run a script or take the reader elsewhere."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _FORBIDDEN:
            self.found.append(f"<{tag}>")
        for name, value in attrs:
            address = "".join((value or "").split()).lower()
            if name.startswith("on"):
                self.found.append(f"the attribute {name}")
            elif name in _ADDRESSES and address.startswith(_RUNNING):
                self.found.append(f"the address {address[:20]}")
            elif tag == "meta" and name == "http-equiv" and address == "refresh":
                self.found.append("a refresh")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
