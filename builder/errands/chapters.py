"""The chapter that somebody asks for on the command line."""

from __future__ import annotations

from builder.faults import did_you_mean
from builder.model import Booklet


class NoChapter(LookupError):
    """The booklet has no such chapter; the text tells, with what might be meant."""


def chapter_slug(booklet: Booklet, asked: str) -> str:
    """The slug of the chapter that is asked for by its slug, its number, or its file with folders or
    without. Raises NoChapter.
    """
    slugs = [chapter.slug for chapter in booklet.chapters]
    if asked in slugs:
        return asked
    name = asked.replace("\\", "/").rsplit("/", 1)[-1]
    for chapter in booklet.chapters:
        if asked == str(chapter.number) or name == chapter.file.rsplit("/", 1)[-1]:
            return chapter.slug
    hint = did_you_mean(name.removesuffix(".md"), slugs) or f"its chapters: {', '.join(slugs)}"
    raise NoChapter(f"the booklet has no chapter {asked}; {hint}")
