"""What is wrong in a theme's templates, told as faults at the template's own line.

In: what a template made Python raise. Out: a fault. The site and the print tell the same.
"""

from __future__ import annotations

from pathlib import Path

import jinja2

from builder.faults import Faults
from builder.place import Source
from builder.render.theme_files import ThemeFiles


def template_fault(error: Exception, theme: ThemeFiles, folder: Path, faults: Faults,
                   name: str = "") -> None:  # fmt: skip
    """Tells what went wrong in a template. Raises `error` again when no template was at work:
    then the mistake is ours. `name` is the template that was to be read, if known."""
    place = _place(error, theme, name)
    if place is None:
        raise error
    at, line = place
    source = template_source(at, theme, folder)
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


def template_source(name: str, theme: ThemeFiles, folder: Path) -> Source:
    try:
        text = theme.text(name)
    except (OSError, UnicodeDecodeError):
        text = ""
    return Source(theme.shown_name(name, folder), text.replace("\r\n", "\n"))
