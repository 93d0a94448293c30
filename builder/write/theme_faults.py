"""What is wrong in the site's templates, told as faults.

In: a theme's templates, or a page that one of them made. Out: faults. A template with a script in it is
a fault: a site runs only the scripts that come with Plyleaf, and the template's author should know.
"""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path

import jinja2

from builder.faults import Faults
from builder.place import file_place
from builder.render.site_document import SitePage
from builder.render.template_faults import template_fault, template_source
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


def check_page(page: SitePage, theme: ThemeFiles, folder: Path, faults: Faults) -> None:
    """Tells what the template put into a page that could run or fetch."""
    finder = _Finder()
    finder.feed(page.body)
    finder.close()
    source = template_source(page.template, theme, folder)
    for found in finder.found:
        faults.add_source(source)
        faults.error("theme-script", file_place(source.file),
                     f"the page {page.file} gets {found} from its template",
                     "a theme brings no scripts, and a site fetches nothing")  # fmt: skip


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
