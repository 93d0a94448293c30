"""The moment that outputs bear: never the clock's, for the same booklet gives the same bytes."""

from __future__ import annotations

import os
from datetime import UTC, date, datetime

# The earliest and the latest that a ZIP file can tell (APPNOTE 4.4.6: MS-DOS dates).
_EARLIEST = datetime(1980, 1, 1, tzinfo=UTC)
_LATEST = datetime(2107, 12, 31, tzinfo=UTC)


def moment(day: str) -> datetime | None:
    """SOURCE_DATE_EPOCH where that is set, else the beginning of the booklet's own `day` (ISO
    8601) in UTC; None where neither is known."""
    try:
        stamp = int(os.environ["SOURCE_DATE_EPOCH"])
        return datetime.fromtimestamp(stamp, UTC)
    except (KeyError, ValueError, OverflowError, OSError):
        pass
    if not day:
        return None
    return datetime.combine(date.fromisoformat(day), datetime.min.time(), UTC)


def zip_moment(day: str) -> datetime:
    """The same within what a ZIP file can tell; its earliest where nothing is known."""
    return min(max(moment(day) or _EARLIEST, _EARLIEST), _LATEST)
