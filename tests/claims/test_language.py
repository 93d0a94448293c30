"""The claim language: what is read from the words, and which word is blamed."""

from __future__ import annotations

import re
from pathlib import Path

import chess
import pytest
from claims.proving import parsed, term
from hypothesis import given
from hypothesis import strategies as st

import builder
from builder.model import ClaimTerm
from builder.source.claim_forms import FORMS

D4, E1, E4, E5, G4, G7 = chess.D4, chess.E1, chess.E4, chess.E5, chess.G4, chess.G7

READ = {
    "material even": ClaimTerm("material"),
    "material white +2": ClaimTerm("material", side=True, numbers=(2,)),
    "material black -1": ClaimTerm("material", side=False, numbers=(-1,)),
    "material black −1": ClaimTerm("material", side=False, numbers=(-1,)),  # A typographic minus.
    "material white >= + 1": ClaimTerm("material", side=True, comparison=">=", numbers=(1,)),
    "attackers d4 black = 3": ClaimTerm("attackers", (D4,), False, "=", (3,)),
    "attackers d4 black>=3": ClaimTerm("attackers", (D4,), False, ">=", (3,)),
    "attackers d4 black ≤ 3": ClaimTerm("attackers", (D4,), False, "<=", (3,)),
    "pinned e5": ClaimTerm("pinned", (E5,)),
    "pinned e5\n  to\te1": ClaimTerm("pinned", (E5, E1)),
    "fork g4: e4 g7": ClaimTerm("fork", (G4, E4, G7)),
    "fork g4:e4, g7": ClaimTerm("fork", (G4, E4, G7)),
    "fork g4: e4 g7 d4 e5": ClaimTerm("fork", (G4, E4, G7, D4, E5)),
    "threat Qxf7#": ClaimTerm("threat", move="Qxf7#"),
    "threat mate": ClaimTerm("threat"),
    "legal e8=Q+": ClaimTerm("legal", move="e8=Q+"),
    "legal exd8=N": ClaimTerm("legal", move="exd8=N"),
    "illegal O-O-O": ClaimTerm("illegal", move="O-O-O"),
    "only move Ng1f3": ClaimTerm("only move", move="Ng1f3"),
    "no castling white kingside": ClaimTerm(
        "castling", side=True, words=("kingside",), denied=True),
    "not check": ClaimTerm("check", denied=True),
    "mate": ClaimTerm("mate"),
    "mate in 2": ClaimTerm("mate in", numbers=(2,)),
    "half-open d white": ClaimTerm("half-open", side=True, words=("d",)),
    "pieces white knights = 2": ClaimTerm("pieces", side=True, numbers=(2,), words=("knights",)),
    "battery e1 e4 on g7": ClaimTerm("battery", (E1, E4, G7)),
    "battery e1 e4 on e": ClaimTerm("battery", (E1, E4), words=("e",)),
    "discovered attack Nd5 g7": ClaimTerm("discovered attack", (G7,), move="Nd5"),
    "same as @the-pin_2": ClaimTerm("same as", name="the-pin_2"),
    "same as @Zürich": ClaimTerm("same as", name="Zürich"),
    "eval white >= 0.3": ClaimTerm("eval", side=True, comparison=">=", numbers=(0.3,)),
    "eval between -0.3 +0.3": ClaimTerm("eval", numbers=(-0.3, 0.3)),
    "best Nf3": ClaimTerm("best", move="Nf3"),
}  # fmt: skip


@pytest.mark.parametrize("text", READ, ids=READ)
def test_read(text):
    assert term(text) == READ[text]


def test_at_a_named_position():
    claim, faults = parsed("at @the-pin: pinned e5")
    assert not faults
    assert (claim.at, claim.term) == ("the-pin", ClaimTerm("pinned", (E5,)))
    assert (claim.at_place.column, claim.at_place.end_column) == (7, 15)


# claim: (code, the word under the caret, a part of the message, a part of the hint)
BLAMED = {
    "": ("claim-syntax", "}", "must stand here", "material even"),
    "   ": ("claim-syntax", " ", "must stand here", ""),
    "not": ("claim-syntax", "not", "must stand here", ""),
    "atackers d4 black = 3": ("claim-unknown", "atackers", "is no claim", "mean attackers?"),
    "Check": ("claim-unknown", "Check", "is no claim", "mean check?"),
    "double-check": ("claim-unknown", "double-check", "", "mean double check?"),
    "half open d white": ("claim-unknown", "half", "", "mean half-open?"),
    "opposite-colored bishops": ("claim-unknown", "opposite-colored", "", "opposite-coloured b"),
    "xyzzy d4": ("claim-unknown", "xyzzy", "", "the guide lists"),
    "attackers D4 black = 3": ("claim-square", "D4", "not a square", "mean d4?"),
    "attackers d9 black = 3": ("claim-square", "d9", "not a square", "a1 to h8"),
    "attackers d4 blakc = 3": ("claim-side", "blakc", "not a side", "mean black?"),
    "attackers d4 White = 3": ("claim-side", "White", "not a side", "mean white?"),
    "attackers d4 black = x": ("claim-number", "x", "not a number", "SIDE = n"),
    "attackers d4 black = 2.5": ("claim-number", "2.5", "can't be counted", "whole number"),
    "attackers d4 black = -1": ("claim-number", "-1", "can't be counted", "whole number"),
    "material white 12345678": ("claim-number", "12345678", "not a number", ""),
    "attackers d4 black > 3": ("claim-compare", ">", "doesn't compare", "=, >= or <="),
    "attackers d4 black == 3": ("claim-compare", "==", "doesn't compare", "=, >= or <="),
    "attackers d4 black": ("claim-syntax", "black", "lacks =, >= or <=", "attackers SQUARE SIDE"),
    "attackers d4 black = 3 4": ("claim-syntax", "4", "no meaning here", ""),
    "pinned": ("claim-syntax", "pinned", "lacks a square", "pinned SQUARE to SQUARE"),
    "pinned e5 to": ("claim-syntax", "to", "lacks a square", ""),
    "fork g4: e4": ("claim-syntax", "e4", "lacks a second square", "SQUARE: SQUARE SQUARE …"),
    "fork g4 e4 g7": ("claim-word", "e4", "no meaning", "fork SQUARE:"),
    "fork g4: e4 g7 x": ("claim-square", "x", "not a square", ""),
    "threat mat": ("claim-move", "mat", "not a move", "mean mate?"),
    "best nf3": ("claim-move", "nf3", "not a move", "Nf3, exd5"),
    "illegal Qe9": ("claim-move", "Qe9", "not a move", ""),
    "open x": ("claim-file", "x", "not a file", "a to h"),
    "open D": ("claim-file", "D", "not a file", "mean d?"),
    "castling white kingsid": ("claim-word", "kingsid", "", "mean kingside?"),
    "pieces white knight = 2": ("claim-word", "knight", "", "mean knights?"),
    "pieces white kings = 1": ("claim-word", "kings", "", ""),
    "eval betwen -1 1": ("claim-side", "betwen", "", "mean between?"),
    "same as pin": ("claim-name", "pin", "not a position's name", "@"),
    "same as @": ("claim-name", "@", "not a position's name", ""),
    "at pin: check": ("claim-name", "pin", "name must stand behind at", "at @NAME:"),
    "at @pin check": ("claim-syntax", "check", "a colon", "at @pin:"),
    "not attackers d4 black = 3": ("claim-denied", "not", "can't be denied", "what is so"),
    "no eval white >= 1": ("claim-denied", "no", "can't be denied", "what is so"),
}


@pytest.mark.parametrize("text", BLAMED, ids=lambda text: text or "nothing")
def test_blamed(text):
    claim, faults = parsed(text)
    assert claim is None
    [fault] = faults
    code, marked, message, hint = BLAMED[text]
    assert fault.code == code
    assert fault.excerpt[fault.place.column - 1 : fault.place.end_column - 1] == marked
    assert message in fault.message
    assert hint in fault.hint


def test_the_place_is_right_in_a_claim_of_several_lines():
    _, [fault] = parsed("at @pin:\n  pinned\n  e5 to x9")
    assert (fault.place.line, fault.place.column, fault.place.end_column) == (3, 9, 11)


FILLED = {
    "SQUARE": "d4", "SQUARES": "e5 e6", "SIDE": "white", "COMPARE": ">=", "NUMBER": "-0.5",
    "COUNT": "2", "MOVE": "Nf3", "FILE": "d", "PIECES": "rooks", "@NAME": "@pin",
    "kingside|queenside": "queenside",
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.usage)
def test_every_form(form):
    """Each form can be written, each can be denied or not as it says, none means another."""
    text = " ".join([form.head, *(FILLED.get(word, word) for word in form.arguments.split())])
    assert term(text).kind == form.head
    claim, faults = parsed(f"not {text}")
    assert (claim is not None) == form.deniable
    assert [fault.code for fault in faults] == ([] if form.deniable else ["claim-denied"])


WORDS = sorted({word for form in FORMS for word in form.head.split()} | {
    "no", "not", "at", "@pin", ":", "=", ">=", "<", "d4", "e9", "white", "2", "-0.5", "Nf3", "to",
    "on", "even", "mate", "between", "kingside", "é", "\n", "{", "%", '"', "=Q", "e8=Q",
})  # fmt: skip


@given(st.one_of(
    st.text(max_size=40), st.lists(st.sampled_from(WORDS), max_size=8).map(" ".join),
))  # fmt: skip
def test_any_text_is_read_or_blamed_once(text):
    claim, faults = parsed(text)
    assert len(faults) == (claim is None)


GUIDE = Path(builder.__file__).parent / "guide" / "claims.md"


def guide_rows() -> list[list[str]]:
    rows = re.findall(r"^\| (`.*) \|$", GUIDE.read_text(encoding="utf-8"), re.M)
    return [row.split(" | ") for row in rows if row.count(" | ") == 2]


def test_the_guide_tells_every_form():
    listed = {name for row in guide_rows() for name in re.findall(r"`([^`]+)`", row[0])}
    listed |= {name.replace(">=", "=") for name in listed}
    shown = {form.usage.replace("kingside|queenside", "kingside") for form in FORMS}
    shown = {usage.replace("PIECES", "knights") for usage in shown}
    assert shown - listed == {"material SIDE = NUMBER"}  # `=` is told of in the text above it.


@pytest.mark.parametrize("row", guide_rows(), ids=lambda row: row[2])
def test_the_guides_examples_are_claims(row):
    assert term(row[2].strip("`")).kind in row[0] + row[2]
