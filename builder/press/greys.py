"""Black and greys printed in black ink.

WeasyPrint writes every colour as red, green and blue. A press may print a black of three equal
parts in four inks, one a little off the other. As DeviceGray (ISO 32000-1, 8.6.4.2) it is black
ink and nothing else. Grey needs no profile of a press, unlike CMYK, and all parts of ISO 19005 and
15930 that have an output intent take it. Pictures stay as they are.
"""

from __future__ import annotations

import re
from typing import Any

_EQUAL = re.compile(rb"(\S+) \1 \1 (rg|RG)")
_OPERATORS = {b"rg": b"g", b"RG": b"G"}


def in_black(pdf: Any) -> Any:
    """Changes the streams of a `pydyf.PDF` that are lists of operators, and gives it back."""
    for one in pdf.objects:
        if isinstance(getattr(one, "stream", None), list):
            stream_in_black(one.stream)
    return pdf


def stream_in_black(items: list[Any]) -> None:
    """Changes the operators of one stream."""
    for at, item in enumerate(items):
        found = _EQUAL.fullmatch(item) if isinstance(item, bytes) else None
        if found:
            items[at] = b"%b %b" % (found[1], _OPERATORS[found[2]])
