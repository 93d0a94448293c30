"""Mends how WeasyPrint 70 puts notes to the foot of a page, so that each stands on its mark's page.

- When a page's last note had left its foot again, room for the rule over the notes was still kept.
  The page is as it was before its first note.
- Notes that stood at the foot were put off to the next page to spare a line from moving there. They stay.
- In columns, a note with no room under its mark was put off, or the columns were shorter by its
  height although the mark had left them. The last column ends before the line with the mark.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


class _Standing(list[Any]):
    """A page's notes. Whoever would put them off to spare a line asks by its truth if there are any."""

    def __bool__(self) -> bool:
        return False


@contextmanager
def notes_at_foot() -> Iterator[None]:
    """While WeasyPrint lays out."""
    from weasyprint import document
    from weasyprint.layout import LayoutContext, block, column

    columns_layout, over = block.columns_layout, column._report_footnotes

    class Context(LayoutContext):  # type: ignore[misc]
        """`tried` are the notes that were put to the foot, `put_off` those that are to go over to
        the next page with their marks."""

        tried: tuple[Any, ...] = ()
        put_off: tuple[Any, ...] = ()

        @property
        def current_page_footnotes(self) -> list[Any]:
            return self._notes

        @current_page_footnotes.setter
        def current_page_footnotes(self, notes: list[Any]) -> None:
            self._notes: list[Any] = _Standing(notes)

        def layout_footnote(self, note: Any) -> bool:
            self.tried += (note,)
            overflow: bool = super().layout_footnote(note)
            return overflow or note in self.put_off

        def _update_footnote_area(self) -> bool:
            standing, area = self._notes, self.current_footnote_area
            self._notes = list(standing)
            overflow: bool = super()._update_footnote_area()
            self._notes = standing
            if not standing[:1]:
                if not self.in_column:
                    self.page_bottom += area.margin_height()
                area.height = "auto"
            return overflow

    def columns(context: Any, *given: Any) -> Any:
        """A box in columns. Where a note has to go over, it goes with its mark if that can leave."""
        bottom, shifting = context.page_bottom, given[5:7]

        def lay_out(put_off: tuple[Any, ...]) -> Any:
            context.tried, context.put_off = (), put_off
            found = columns_layout(context, *given)
            context.put_off = ()
            return found

        def instead(found: Any, put_off: tuple[Any, ...]) -> Any:
            block.remove_placeholders(context, [found[0]], *shifting)
            context.page_bottom = bottom
            return lay_out(put_off)

        found = lay_out(())
        away = tuple(note for note in context.tried if note not in context.current_page_footnotes)
        if away and found[0] is not None:
            found = instead(found, away)
            if any(note in context.reported_footnotes for note in away):
                found = instead(found, ())
        return found

    def put_over(context: Any, height: float) -> None:
        """The last notes at the foot, where all together are higher."""
        before = len(context.reported_footnotes)
        while (context.current_page_footnotes[:1]
               and context.current_footnote_area.margin_height() > height):  # fmt: skip
            context.report_footnote(context.current_page_footnotes[-1])
        context.reported_footnotes[before:] = context.reported_footnotes[before:][::-1]

    document.LayoutContext = Context
    block.columns_layout, column._report_footnotes = columns, put_over
    try:
        yield
    finally:
        document.LayoutContext = LayoutContext
        block.columns_layout, column._report_footnotes = columns_layout, over
