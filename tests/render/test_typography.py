"""Quotation marks and apostrophes of print."""

from __future__ import annotations

import pytest

from builder.render.typography import quotes

CASES = (
    ("en", "White mustn't", "", "White mustn’t"),
    ("en", 'the "good" bishop', "", "the “good” bishop"),
    ("en", "the 'good' bishop", "", "the ‘good’ bishop"),
    ("en", "both players' kings", "", "both players’ kings"),
    ("en", "'don't'", "", "‘don’t’"),
    ("en", '("well")', "", "(“well”)"),
    ("en", "'s pawn", "k", "’s pawn"),
    ("en", '" he said', "y", "” he said"),
    ("en", "already ‘set’", "", "already ‘set’"),
    ("en", 'a "quoted \'inner\' word"', "", "a “quoted ‘inner’ word”"),
    ("de", 'der "gute" Läufer', "", "der „gute“ Läufer"),
    ("de", "der 'gute' Läufer", "", "der ‚gute‘ Läufer"),
    ("fr", 'le "bon" fou', "", "le «\u202fbon\u202f» fou"),
    ("fr", "l'avantage", "", "l’avantage"),
    ("fr", "Attention : e4 ! Ou d4 ?", "", "Attention\u00a0: e4\u202f! Ou d4\u202f?"),
    ("fr", "le « bon » ; l'autre", "", "le «\u202fbon\u202f»\u202f; l’autre"),
    ("fr", " : suite", "a", "\u00a0: suite"),
    ("en", "as typed : so", "", "as typed : so"),
    ("es", 'el "buen" alfil', "", "el «buen» alfil"),
    ("it", "l'alfiere", "", "l’alfiere"),
    ("nl", 'de "goede" loper', "", "de “goede” loper"),
    ("pt", 'o "bom" bispo', "", "o “bom” bispo"),
)


@pytest.mark.parametrize(("language", "typed", "before", "printed"), CASES)
def test_printed(language, typed, before, printed):
    assert quotes(typed, language, before) == printed
