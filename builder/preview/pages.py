"""What the preview adds to the site: a page of faults, and the script that follows changes.

The script is put into pages as they are served, never into files.
"""

from __future__ import annotations

import html

from builder.faults import Fault

FOLLOW = "-/follow.js"
EVENTS = "-/events"

# Reloads the page when the server has another version than the one that the page was made from.
FOLLOW_SCRIPT = f"""\
"use strict";
const version = document.currentScript.dataset.version;
new EventSource("/{EVENTS}").onmessage = (event) => {{
  if (event.data !== version) location.reload();
}};
"""
_OWN_POLICY = "default-src 'none';"
_FOLLOWING_POLICY = f"{_OWN_POLICY} connect-src 'self';"
_STYLE = """\
body { font: 1rem/1.5 Georgia, "Source Serif 4", serif; max-width: 56rem; margin: 3rem auto;
  padding: 0 1rem; color: #222; background: #fdfcf8 }
h1 { font-size: 1.6rem; font-weight: normal }
h2 { font-size: 1rem; margin: .5rem 0 }
a { color: #8c1c13 }
article { border-left: .2rem solid #8c1c13; padding: .1rem 1rem; margin: 1.5rem 0 }
article.warning { border-color: #8a6100 }
article.notice { border-color: #4a5560 }
pre { font-size: .85rem; overflow-x: auto; background: #f1efe8; padding: .6rem .8rem;
  margin: .5rem 0 }
small { color: #5c5850; font-weight: normal }
"""


def following(page: str, version: str) -> str:
    """A page of the site with the script in it, and allowed by the page's own policy."""
    script = f'<script src="/{FOLLOW}" data-version="{html.escape(version)}"></script>'
    page = page.replace(_OWN_POLICY, _FOLLOWING_POLICY, 1)
    head, body, tail = page.rpartition("</body>")
    return f"{head}{script}\n{body}{tail}" if body else page + script


def fault_page(faults: tuple[Fault, ...], trouble: str, version: str) -> str:
    """Everything that keeps the booklet from being shown, with the lines where it is."""
    errors = sum(1 for fault in faults if fault.severity.word == "error")
    title = "The booklet can't be shown"
    if errors:
        title = "1 error" if errors == 1 else f"{errors} errors"
    parts = [f"<p>{html.escape(trouble)}</p>"] if trouble else []
    if len(faults) > 1:
        links = (
            f'<li><a href="#fault-{number}">{html.escape(str(fault.place))}</a> '
            f"{html.escape(fault.message)}</li>"
            for number, fault in enumerate(faults, start=1)
        )
        parts.append(f"<ol>{''.join(links)}</ol>")
    parts += [_article(fault, number) for number, fault in enumerate(faults, start=1)]
    page = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{title}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>\n"
        f"{''.join(parts)}\n<p><small>This page follows your changes: save the file, and it is "
        "built again.</small></p>\n</body>\n</html>\n"
    )
    return following(page, version)


def _article(fault: Fault, number: int) -> str:
    head, _, excerpt = fault.as_text().partition("\n")
    lines = f"<pre>{html.escape(excerpt)}</pre>" if excerpt else ""
    return (
        f'<article class="{fault.severity.word}" id="fault-{number}">\n'
        f"<h2>{html.escape(head)} <small>({html.escape(fault.code)})</small></h2>\n{lines}\n"
        "</article>\n"
    )
