"""How a PDF is to be made, whatever it holds."""

from __future__ import annotations

from dataclasses import dataclass

from builder.press.workers import Helpers

__all__ = ["Helpers", "Means"]


@dataclass(frozen=True, slots=True)
class Means:
    """With `fresh` nothing that earlier builds kept is taken. With `helpers` they alone lay out, and this
    process can do something else meanwhile, in another thread."""

    fresh: bool = False
    helpers: Helpers | None = None
