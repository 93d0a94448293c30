"""The page furniture's words: whole in every language, and their gaps filled."""

from __future__ import annotations

import re
from dataclasses import fields

import pytest

from builder.render.nags import nag_words
from builder.render.words import FOLDER, Words, date_words, read_words
from builder.settings import LANGUAGES

ENGLISH = read_words("en")
TUPLES = {"nags": 7, "nag_topics": 34, "degrees": 3, "qualities": 4, "months": 12}


def marks(text: str) -> list[str]:
    return sorted(re.findall(r"\{(\w+)\}", text))


def test_there_is_a_file_for_every_language_and_no_other():
    assert sorted(path.stem for path in FOLDER.glob("*.toml")) == sorted(LANGUAGES)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_phrase_is_there_with_its_gaps(language):
    words = read_words(language)
    assert words.language == language
    for field in fields(Words):
        if field.name in ("language", "board", "reader"):
            continue
        here, english = getattr(words, field.name), getattr(ENGLISH, field.name)
        if field.name in TUPLES:
            assert len(here) == TUPLES[field.name], field.name
            assert all(here), field.name
        else:
            assert here.strip() == here != "", field.name
            assert marks(here) == marks(english), field.name
    for table in ("board", "reader"):
        for field in fields(getattr(words, table)):
            here, english = (getattr(getattr(w, table), field.name) for w in (words, ENGLISH))
            assert here and marks(here) == marks(english), field.name


@pytest.mark.parametrize("language", sorted(set(LANGUAGES) - {"en"}))
def test_nothing_is_left_in_english(language):
    """Beside words that the languages share."""
    shared = {"exercise", "solution", "solutions", "notes", "note", "diagram", "page", "by",
              "months", "date", "degrees", "to_solution", "page_short", "labelled"}  # fmt: skip
    words = read_words(language)
    same = {
        field.name for field in fields(Words)
        if field.name not in shared and getattr(words, field.name) == getattr(ENGLISH, field.name)
    }  # fmt: skip
    assert same == set()
    read_alike = {"figurines", "letters", "later", "begin"}
    reader = {
        field.name for field in fields(words.reader)
        if getattr(words.reader, field.name) == getattr(ENGLISH.reader, field.name)
    }  # fmt: skip
    assert reader <= read_alike


DATES = (
    ("en", "25 November 2026"),
    ("de", "25. November 2026"),
    ("fr", "25 novembre 2026"),
    ("es", "25 de noviembre de 2026"),
    ("it", "25 novembre 2026"),
    ("nl", "25 november 2026"),
    ("pt", "25 de novembro de 2026"),
)


@pytest.mark.parametrize(("language", "written"), DATES)
def test_dates(language, written):
    assert date_words("2026-11-25", read_words(language)) == written
    assert date_words("", read_words(language)) == ""


def test_a_missing_and_an_unknown_key_are_told(tmp_path, monkeypatch):
    text = (FOLDER / "en.toml").read_text(encoding="utf-8")
    (tmp_path / "en.toml").write_text(text.replace('hint = "Hint"', 'hunt = "Hint"'))
    monkeypatch.setattr("builder.render.words.FOLDER", tmp_path)
    with pytest.raises(ValueError, match="missing {'hint'}, unknown {'hunt'}"):
        read_words("en")


def test_french_signs_stand_off_their_words_and_on_their_line():
    words = read_words("fr")
    assert nag_words(36, words).startswith(f"{words.board.white}\u00a0: ")
    assert words.reader.not_a_move.startswith("«\u202f")
    texts = [*words.nags, *(text for table in (words, words.board, words.reader) for field in fields(table)
             if isinstance(text := getattr(table, field.name), str))]  # fmt: skip
    assert not [text for text in texts if re.search(r" [:;!?»]|« |\w:( |$)", text)]
