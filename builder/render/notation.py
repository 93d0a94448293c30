"""Moves as they are printed.

In: SAN and NAGs. Out: the text of a move in the booklet's notation, for HTML and for plain
text alike: there is no mark-up in it.

Figurines are a matter of the font, not of the text. In a figurine booklet a move's text is
its SAN (`Nxc6`), and the font 'Plyleaf Figurine', which holds no other letters than K Q R B N,
draws the pieces' letters as figurines. So a reader copies a move that any chess program
takes, finds it by searching for it, and hears it from a screen reader; and where the font
is missing, a letter stands in its place.

Sources: SAN, NAGs and the pieces' letters in other languages, PGN standard (1994-03-12),
sections 8.2.3, 10 and 17; castling with zeros and the language's own letters, FIDE Laws of
Chess, appendix C (C.3, C.13).
"""

from __future__ import annotations

from dataclasses import dataclass

from builder.model import Ply

# King, queen, rook, bishop, knight (PGN standard, section 17).
PIECE_LETTERS = {
    "en": "KQRBN",
    "de": "KDTLS",
    "fr": "RDTFC",
    "es": "RDTAC",
    "it": "RDTAC",
    "nl": "KDTLP",
    "pt": "RDTBC",
}
_STANDARD_LETTERS = "KQRBN"

PASS_SIGN = "\u2013"

# Signs for NAGs. 1 to 6 by the PGN standard (section 10: the traditional suffixes); 10 to 19
# the usual signs of annotated games, common practice, no source. The standard has other NAGs
# for the same judgements with shades (11, 12) and for the same signs (13).
MOVE_SIGNS = {1: "!", 2: "?", 3: "!!", 4: "??", 5: "!?", 6: "?!"}
POSITION_SIGNS = {
    10: "=",
    11: "=",
    12: "=",
    13: "\u221e",  # unclear
    14: "\u2a72",  # White stands slightly better: plus above equals
    15: "\u2a71",  # Black stands slightly better: equals above plus
    16: "\u00b1",
    17: "\u2213",
    18: "+\u2212",
    19: "\u2212+",
}
RESULT_SIGNS = {
    "1-0": "1\u20130",
    "0-1": "0\u20131",
    "1/2-1/2": "\u00bd\u2013\u00bd",
    "*": "*",
}


@dataclass(frozen=True, slots=True)
class Notation:
    """How a booklet writes moves. Languages are those of `PIECE_LETTERS`."""

    language: str
    figurines: bool

    def san(self, san: str) -> str:
        """A move for a place that the figurine font reaches."""
        return _printed(san, _STANDARD_LETTERS if self.figurines else self._letters)

    def plain(self, san: str) -> str:
        """A move in letters, for places without fonts: titles, text alternatives."""
        return _printed(san, self._letters)

    @property
    def lettered(self) -> Notation:
        """The same without figurines."""
        return Notation(self.language, figurines=False)

    @property
    def _letters(self) -> str:
        return PIECE_LETTERS[self.language]


STANDARD = Notation("en", figurines=False)


def _printed(san: str, letters: str) -> str:
    if san == "--":
        return PASS_SIGN
    if san.startswith("O-O"):
        return san.replace("O", "0")
    if letters == _STANDARD_LETTERS:
        return san
    return san.translate(str.maketrans(_STANDARD_LETTERS, letters))


def number_text(ply: Ply) -> str:
    """The move number in front of a ply: `5.` or, for Black, `5...`."""
    return f"{ply.number}." if ply.by_white else f"{ply.number}..."


def move_signs(nags: tuple[int, ...]) -> str:
    """The signs that stand close to their move: `!?`."""
    return "".join(MOVE_SIGNS[nag] for nag in nags if nag in MOVE_SIGNS)


def position_signs(nags: tuple[int, ...]) -> str:
    """The signs that judge the position, a space before each: ` ±`."""
    return "".join(f"\u00a0{POSITION_SIGNS[nag]}" for nag in nags if nag in POSITION_SIGNS)


def other_nags(nags: tuple[int, ...]) -> tuple[int, ...]:
    """The NAGs that have no sign: they are told in words (`Words.nag`)."""
    return tuple(n for n in nags if n and n not in MOVE_SIGNS and n not in POSITION_SIGNS)


def result_text(result: str) -> str:
    return RESULT_SIGNS.get(result, result)


def plies_text(plies: tuple[Ply, ...], notation: Notation, plain: bool = False) -> str:
    """Moves one after another, numbered as in print: `4.Nxd4 Nf6 5.Nxc6`.

    `plies` need not come from one line: Black's move has a number of its own where the move
    before it isn't the one that it answers.
    """
    write = notation.plain if plain else notation.san
    found: list[str] = []
    before: Ply | None = None
    for ply in plies:
        told = not ply.by_white and before is not None and before.after.key == ply.before.key
        found.append(("" if told else number_text(ply)) + write(ply.san))
        before = ply
    return " ".join(found)
