"""Printed notation against the PGN standard and the fonts that draw it."""

from __future__ import annotations

from pathlib import Path

import chess
import pytest
from tiny import line_of, tiny

from builder.render import notation
from builder.render.nags import nag_words
from builder.render.notation import (
    Notation, move_signs, number_text, other_nags, plies_text, position_signs, result_text,
)  # fmt: skip
from builder.render.words import read_words
from builder.settings import LANGUAGES

FONTS = Path(__file__).parents[2] / "themes" / "fonts"

# PGN standard (1994-03-12), section 17: pawn, knight, bishop, rook, queen, king.
PGN_SECTION_17 = {
    "en": "P N B R Q K",
    "de": "B S L T D K",
    "fr": "P C F T D R",
    "es": "P C A T D R",
    "it": "P C A T D R",
    "nl": "O P L T D K",
    "pt": "P C B T D R",
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_letters_are_those_of_the_standard(language):
    _, knight, bishop, rook, queen, king = PGN_SECTION_17[language].split()
    letters = Notation(language, figurines=False)
    printed = [letters.san(f"{piece}e5") for piece in "NBRQK"]
    assert printed == [f"{piece}e5" for piece in (knight, bishop, rook, queen, king)]


MOVES = (
    # SAN, German letters, French letters, with figurines
    ("e4", "e4", "e4", "e4"),
    ("Nf3", "Sf3", "Cf3", "Nf3"),
    ("Nbxd2+", "Sbxd2+", "Cbxd2+", "Nbxd2+"),
    ("R1e1#", "T1e1#", "T1e1#", "R1e1#"),
    ("Qh4xe1", "Dh4xe1", "Dh4xe1", "Qh4xe1"),
    ("Kd2", "Kd2", "Rd2", "Kd2"),
    ("bxc6", "bxc6", "bxc6", "bxc6"),
    ("e8=Q+", "e8=D+", "e8=D+", "e8=Q+"),
    ("dxc1=N", "dxc1=S", "dxc1=C", "dxc1=N"),
    ("b8=B", "b8=L", "b8=F", "b8=B"),
    ("O-O", "0-0", "0-0", "0-0"),
    ("O-O-O+", "0-0-0+", "0-0-0+", "0-0-0+"),
    ("--", "\u2013", "\u2013", "\u2013"),
)


@pytest.mark.parametrize(("san", "german", "french", "figurines"), MOVES, ids=[m[0] for m in MOVES])
def test_moves(san, german, french, figurines):
    assert Notation("de", False).san(san) == german
    assert Notation("fr", False).san(san) == french
    assert Notation("de", True).san(san) == figurines
    assert Notation("de", True).plain(san) == german


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_two_moves_are_printed_alike(language):
    """In a position with all pieces and a promotion, 47 legal moves by `chess`."""
    board = chess.Board("r3k2r/pPp2ppp/2n1bn2/3qp3/3QP3/2N1BN2/PpP2PPP/R3K2R w KQkq - 0 1")
    sans = [board.san(move) for move in board.legal_moves]
    printed = {Notation(language, False).san(san) for san in sans}
    assert len(printed) == len(sans) > 40


def test_a_number_is_told_where_the_move_before_does_not(tmp_path):
    made = tiny(tmp_path, line_of("1. e4 e5 2. Nf3 (2. f4 exf4 3. Nf3) Nc6 3. Bb5"))
    plies = tuple(made.chapter.lines[0].plies())
    letters = Notation("en", False)
    main = made.chapter.lines[0].main_plies()
    assert plies_text(main, letters) == "1.e4 e5 2.Nf3 Nc6 3.Bb5"
    assert plies_text(main[1:4], letters) == "1...e5 2.Nf3 Nc6"
    assert plies_text((main[0], main[3]), letters) == "1.e4 2...Nc6"
    assert [number_text(ply) for ply in plies[:2]] == ["1.", "1..."]


SIGNS = (
    # PGN standard, section 10: 1 good, 2 poor, 3 very good, 4 very poor, 5 speculative,
    # 6 questionable
    ((1,), "!", ""),
    ((2,), "?", ""),
    ((3,), "!!", ""),
    ((4,), "??", ""),
    ((5,), "!?", ""),
    ((6,), "?!", ""),
    # 10 drawish, 13 unclear, 14/15 slight, 16/17 moderate, 18/19 decisive advantage
    ((10,), "", "="),
    ((11,), "", "="),
    ((13,), "", "∞"),
    ((14,), "", "⩲"),
    ((15,), "", "⩱"),
    ((16,), "", "±"),
    ((17,), "", "∓"),
    ((18,), "", "+−"),
    ((19,), "", "−+"),
    ((1, 16), "!", "±"),
    ((0,), "", ""),
)


@pytest.mark.parametrize(("nags", "at_move", "behind"), SIGNS, ids=[str(s[0]) for s in SIGNS])
def test_nags_with_signs(nags, at_move, behind):
    assert move_signs(nags) == at_move
    assert position_signs(nags) == (f"\u00a0{behind}" if behind else "")
    assert other_nags(nags) == ()


# PGN standard, section 10, in its own words for the ones of each kind.
WORDS = (
    (7, "forced"),  # forced move (all others lose quickly)
    (8, "the only move"),  # singular move (no reasonable alternatives)
    (9, "the worst move"),
    (20, "White has a crushing advantage"),
    (23, "Black is in zugzwang"),
    (24, "White: space, slight"),  # White has a slight space advantage
    (29, "Black: space, decisive"),
    (32, "White: development, clear"),  # White has a moderate time (development) advantage
    (36, "White: initiative"),
    (39, "Black: lasting initiative"),
    (40, "White: attack"),
    (42, "White: too little for the material"),  # insufficient compensation
    (47, "Black: more than compensation"),
    (50, "White: control of the centre, clear"),
    (58, "White: control of the kingside, decisive"),
    (61, "Black: control of the queenside, slight"),
    (66, "White: weak back rank"),  # vulnerable first rank
    (72, "White: secure king"),
    (74, "White: king badly placed"),
    (78, "White: weak pawns, clear"),  # very weak pawn structure
    (80, "White: weak pawns, slight"),  # moderately weak pawn structure
    (84, "White: strong pawns, clear"),  # very strong pawn structure
    (86, "White: knight badly placed"),
    (93, "Black: bishop well placed"),
    (100, "White: queen well placed"),
    (104, "White: pieces well coordinated"),
    (106, "White: opening, very badly played"),
    (120, "White: middlegame, very well played"),
    (129, "Black: ending, very well played"),
    (130, "White: counterplay, slight"),
    (135, "Black: counterplay, decisive"),
    (136, "White: time pressure, clear"),  # moderate time control pressure
    (139, "Black: time pressure, decisive"),  # severe time control pressure
    (140, "$140"),  # not defined
    (255, "$255"),
)


@pytest.mark.parametrize(("nag", "words"), WORDS, ids=[f"${nag}" for nag, _ in WORDS])
def test_nags_in_words(nag, words):
    assert nag_words(nag, read_words("en")) == words
    assert other_nags((nag,)) == (nag,)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_nag_of_the_standard_has_words(language):
    words = read_words(language)
    told = [nag_words(nag, words) for nag in range(140) if other_nags((nag,))]
    assert len(set(told)) == len(told) == 123
    assert not [text for text in told if "$" in text or "{" in text]


def test_results():
    assert [result_text(text) for text in ("1-0", "0-1", "1/2-1/2", "*")] == [
        "1–0", "0–1", "½–½", "*",
    ]  # fmt: skip


def test_the_fonts_draw_every_letter():
    """What a move's text may hold is in Source Serif 4 or in the figurine font."""
    ttlib = pytest.importorskip("fontTools.ttLib")
    figurines = ttlib.TTFont(FONTS / "plyleaf-figurine.woff2").getBestCmap()
    faces = [ttlib.TTFont(path).getBestCmap() for path in FONTS.glob("SourceSerif4-*.woff2")]
    signs = (*notation.POSITION_SIGNS.values(), *notation.RESULT_SIGNS.values(),
             *notation.MOVE_SIGNS.values(), notation.PASS_SIGN)  # fmt: skip
    letters = {*"".join(signs), *"KQRBN", *"abcdefgh12345678x+#=0-. ", "\u00a0", "…"}
    for face in faces:
        assert {letter for letter in letters if ord(letter) not in {**face, **figurines}} == set()
    assert set("KQRBN") <= {chr(code) for code in figurines}
    assert not {chr(code) for code in figurines} & set("abcdefgh12345678x+#=0-.")
