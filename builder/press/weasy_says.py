"""What WeasyPrint asks for, and what it says about that and the rest.

In: the files that may be read (`builder.press.fetch`), and where an author asked for them. Out: their
contents for WeasyPrint, and faults.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from hashlib import sha256
from typing import Any

from builder.faults import Faults
from builder.place import Place, file_place
from builder.press import fetch
from builder.settings import SETTINGS_FILE

# What it says of a picture without words, which is no fault: `builder.press.tags` sets it apart.
_NO_WORDS = "has no required alt description"
_MOST_ADDRESS, _MOST_MESSAGE = 80, 400  # letters; an address may carry a whole picture


def fetcher(shelves: Mapping[str, fetch.Shelf], log: Log, digests: dict[str, str]) -> Any:
    """Notes in `digests` what every address held."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class Fetcher(URLFetcher):
        """WeasyPrint's interface over `fetch.read`; opens nothing by itself."""

        def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
            try:
                body, media_type = fetch.read(url, shelves)
            except fetch.Refused as error:
                log.refused(url, str(error))
                raise ValueError(str(error)) from error
            digests[url] = sha256(body).hexdigest()
            return URLFetcherResponse(url, body, {"Content-Type": media_type})

    return Fetcher()


class Log(logging.Handler):
    """Turns what WeasyPrint logs, and what it was refused, into faults."""

    def __init__(self, faults: Faults, places: Mapping[str, Place]) -> None:
        super().__init__(logging.WARNING)
        self._faults = faults
        self._places = places
        self._refused: set[str] = set()
        self._sheet = ""

    @contextmanager
    def listening(self) -> Iterator[None]:
        loggers = [logging.getLogger(name) for name in ("weasyprint", "fontTools")]
        for logger in loggers:
            logger.addHandler(self)
        try:
            yield
        finally:
            for logger in loggers:
                logger.removeHandler(self)

    @contextmanager
    def reading(self, sheet: str) -> Iterator[None]:
        """While it reads this style sheet."""
        self._sheet = sheet
        yield
        self._sheet = ""

    def refused(self, address: str, reason: str) -> None:
        self._refused.add(address)
        shown = _cut(address, _MOST_ADDRESS)
        shown = shown.removeprefix(fetch.ORIGIN).removeprefix(fetch.PICTURES + "/")
        self._faults.error("print-file", self._place(address),
                           f"the PDF can't use {shown}: {reason}")  # fmt: skip

    def emit(self, record: logging.LogRecord) -> None:
        address = str(record.args[0]) if isinstance(record.args, tuple) and record.args else ""
        if address in self._refused or _NO_WORDS in str(record.msg):
            return
        message = record.getMessage().replace(fetch.ORIGIN, "").rstrip(".: ")
        at = re.search(r" at (\d+):(\d+)", message)
        place = self._place(address)
        if self._sheet and at:
            line, column = int(at.group(1)), int(at.group(2))
            place = Place(self._sheet, line, column, column + 1)
        message = _cut(message, _MOST_MESSAGE)
        if record.levelno >= logging.ERROR:
            self._faults.error("print-file", place, message)
        else:
            self._faults.warning("print-layout", place, message)

    def _place(self, address: str) -> Place:
        return self._places.get(address) or file_place(self._sheet or SETTINGS_FILE)


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"
