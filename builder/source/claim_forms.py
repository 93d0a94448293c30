"""The claim language, as a table.

A claim is `[at @NAME:] [no|not] HEAD ARGUMENTS`. `FORMS` lists every head with its arguments, in
the order in which they are written. An argument in capitals fills a field of the `ClaimTerm`;
`kind` is always the head:

    SQUARE, SQUARES   `squares`, in the order written
    SIDE              `side`
    COMPARE           `comparison`
    NUMBER, COUNT     `numbers`: any decimal, or a whole number from 0
    MOVE              `move`, as written; only its shape has been checked
    FILE              `words`: one letter
    PIECES            `words`: one name from `PIECE_WORDS`
    @NAME             `name`, without the @
    a|b               `words`: the word that was written
    anything else     is written as it stands and fills nothing; so `material even` is the
                      `material` without numbers

`denied` tells of `no` or `not` in front.
"""

from __future__ import annotations

from dataclasses import dataclass

PIECE_WORDS = ("pawns", "knights", "bishops", "rooks", "queens")


@dataclass(frozen=True, slots=True)
class Form:
    """One way to write a claim; `deniable` tells whether `no` or `not` may stand in front."""

    head: str
    arguments: str
    deniable: bool = True

    @property
    def usage(self) -> str:
        """The form as authors are told it: `attackers SQUARE SIDE = n`."""
        shown = {":": ":", "COMPARE": "=", "COUNT": "n", "SQUARES": "SQUARE …"}
        words = [shown.get(word, word) for word in self.arguments.split()]
        return " ".join([self.head, *words]).replace(" :", ":")


FORMS = (
    # --- material
    Form("material", "even"),
    Form("material", "SIDE NUMBER", deniable=False),
    Form("material", "SIDE COMPARE NUMBER", deniable=False),
    Form("pieces", "SIDE PIECES COMPARE COUNT", deniable=False),
    Form("bishop pair", "SIDE"),
    Form("opposite-coloured bishops", ""),
    # --- attack and defence
    Form("attackers", "SQUARE SIDE COMPARE COUNT", deniable=False),
    Form("undefended", "SQUARE"),
    Form("loses", "SQUARE"),
    Form("safe", "SQUARE"),
    Form("trapped", "SQUARE"),
    Form("moves", "SQUARE COMPARE COUNT", deniable=False),
    # --- tactics
    Form("pinned", "SQUARE"),
    Form("pinned", "SQUARE to SQUARE"),
    Form("fork", "SQUARE : SQUARE SQUARES"),
    Form("skewer", "SQUARE : SQUARE SQUARE"),
    Form("battery", "SQUARE SQUARE"),
    Form("battery", "SQUARE SQUARE on SQUARE"),
    Form("battery", "SQUARE SQUARE on FILE"),
    Form("discovered check", ""),
    Form("discovered check", "MOVE"),
    Form("discovered attack", "MOVE SQUARE"),
    # --- the rules
    Form("check", ""),
    Form("double check", ""),
    Form("mate", ""),
    Form("mate in", "COUNT"),
    Form("stalemate", ""),
    Form("to move", "SIDE"),
    Form("legal", "MOVE"),
    Form("illegal", "MOVE"),
    Form("only move", "MOVE"),
    Form("threat", "MOVE"),
    Form("threat", "mate"),
    Form("castling", "SIDE kingside|queenside"),
    Form("repetition", "COUNT"),
    Form("same as", "@NAME"),
    # --- pawns and squares
    Form("isolated", "SQUARE"),
    Form("doubled", "SQUARE"),
    Form("passed", "SQUARE"),
    Form("protected passed", "SQUARE"),
    Form("backward", "SQUARE"),
    Form("open", "FILE"),
    Form("half-open", "FILE SIDE"),
    Form("islands", "SIDE COMPARE COUNT", deniable=False),
    Form("majority", "SIDE kingside|queenside"),
    Form("outpost", "SQUARE"),
    Form("outpost", "SQUARE SIDE"),
    Form("hole", "SQUARE SIDE"),
    # --- king and development
    Form("shelter", "SIDE COMPARE COUNT", deniable=False),
    Form("back rank weak", "SIDE"),
    Form("developed", "SIDE COMPARE COUNT", deniable=False),
    # --- by the author's engine
    Form("eval", "SIDE COMPARE NUMBER", deniable=False),
    Form("eval", "between NUMBER NUMBER", deniable=False),
    Form("best", "MOVE"),
)
HEADS = tuple(dict.fromkeys(form.head for form in FORMS))
ENGINE_KINDS = frozenset({"eval", "best"})
