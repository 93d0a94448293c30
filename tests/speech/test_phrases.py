"""How moves are said: each phrase after moves that are clear, and the move that it means."""

from __future__ import annotations

import chess
import pytest
from builder.speech.doubts import label
from builder.speech.hearings import UNHEARD
from builder.speech.persons import persons_in
from speech.listening import heard, lines

# What was said before, the phrase, and the whole line.
PHRASES = {
    "digits": ("", "knight f3", "1.Nf3"),
    "words": ("", "knight f three", "1.Nf3"),
    "with to": ("", "knight to f three", "1.Nf3"),
    "goes to": ("", "the knight goes to f3", "1.Nf3"),
    "run together": ("", "knightf3", "1.Nf3"),
    "in letters": ("", "Nf3", "1.Nf3"),
    "pawn": ("", "pawn to e4", "1.e4"),
    "bare square": ("", "e4", "1.e4"),
    "homophones": ("e4 e5", "night see three", "1.e4 e5 2.Nc3"),
    "file and for": ("", "e for", "1.e4"),
    "before is b4": ("d4 knight f6 c4 e6 knight c3", "bishop before", "1.d4 Nf6 2.c4 e6 3.Nc3 Bb4"),
    "clean is queen": ("e4 e5", "clean h five", "1.e4 e5 2.Qh5"),
    "fillers": ("e4 e5", "um knight you know f3", "1.e4 e5 2.Nf3"),
    "takes a square": ("e4 d5", "takes on d5", "1.e4 d5 2.exd5"),
    "pawn takes": ("e4 d5", "e takes d5", "1.e4 d5 2.exd5"),
    "pawn takes, short": ("e4 d5", "e takes", "1.e4 d5 2.exd5"),
    "takes with": ("e4 d5 e takes d5", "recaptures with the queen", "1.e4 d5 2.exd5 Qxd5"),
    "takes back": ("e4 e5 knight f3 knight c6 d4 e takes d4", "takes back", "1.e4 e5 2.Nf3 Nc6 3.d4 exd4 4.Nxd4"),
    "piece takes": ("e4 e5 knight f3 knight c6 bishop b5 a6 bishop takes c6", "d takes c6", "1.e4 e5 2.Nf3 Nc6 3.Bb5 a6 4.Bxc6 dxc6"),
    "castles": ("e4 e5 knight f3 knight c6 bishop c4 bishop c5", "castles", "1.e4 e5 2.Nf3 Nc6 3.Bc4 Bc5 4.O-O"),
    "castles short": ("e4 e5 knight f3 knight c6 bishop c4 bishop c5", "castles kingside", "1.e4 e5 2.Nf3 Nc6 3.Bc4 Bc5 4.O-O"),
    "castles long": ("d4 d5 knight c3 knight c6 bishop f4 bishop f5 queen d2 queen d7", "castles long", "1.d4 d5 2.Nc3 Nc6 3.Bf4 Bf5 4.Qd2 Qd7 5.O-O-O"),
    "from a file": ("d4 d5 knight f3 knight f6 e3 e6", "knight from b to d2", "1.d4 d5 2.Nf3 Nf6 3.e3 e6 4.Nbd2"),
    "with a file": ("d4 d5 knight f3 knight f6 e3 e6", "knight b d2", "1.d4 d5 2.Nf3 Nf6 3.e3 e6 4.Nbd2"),
    "king's knight": ("d4 d5 knight f3 knight f6 e3 e6", "king's knight to d2", "1.d4 d5 2.Nf3 Nf6 3.e3 e6 4.Nfd2"),
    "the other knight": ("e4 e5 knight f3 knight c6", "the other knight to c3", "1.e4 e5 2.Nf3 Nc6 3.Nc3"),
    "back": ("e4 e5 bishop c4 knight f6", "bishop back to e2", "1.e4 e5 2.Bc4 Nf6 3.Be2"),
    "push a pawn": ("", "push the a pawn two squares", "1.a4"),
    "a pawn one square": ("", "h pawn one square", "1.h3"),
    "en passant": ("e4 e6 e5 d5", "e takes d6 en passant", "1.e4 e6 2.e5 d5 3.exd6"),
    "fianchetto": ("d4 knight f6 g3 g6", "fianchettoes the bishop", "1.d4 Nf6 2.g3 g6 3.Bg2"),
    "square first": ("e4 e5", "on f3 comes the knight", "1.e4 e5 2.Nf3"),
    "check": ("e4 e5 knight f3 d6", "bishop b5 check", "1.e4 e5 2.Nf3 d6 3.Bb5+"),
    "numbers": ("", "one e4 e5 two knight f3", "1.e4 e5 2.Nf3"),
    "misheard check": ("e4 e5 knight f3 d6", "bishop be five cheque", "1.e4 e5 2.Nf3 d6 3.Bb5+"),
    "corrected": ("e4 e5", "knight f3 no sorry knight c3", "1.e4 e5 2.Nc3"),
    "the square corrected": ("e4 e5 knight f3", "knight f6 sorry I mean knight c6", "1.e4 e5 2.Nf3 Nc6"),
    "a wing corrected": ("d4 d5 knight c3 knight c6 bishop f4 bishop f5 queen d2 queen d7", "castles short, oh dear, long", "1.d4 d5 2.Nc3 Nc6 3.Bf4 Bf5 4.Qd2 Qd7 5.O-O-O"),
    "what lies between": ("e4 e5 knight f3 knight c6", "the bishop takes up its post on b5", "1.e4 e5 2.Nf3 Nc6 3.Bb5"),
    "a plan is over": ("e4 e5 knight f3 knight c6 bishop b5", "to stop it black makes a6", "1.e4 e5 2.Nf3 Nc6 3.Bb5 a6"),
    "from where to where": ("e4 e5", "white's other knight comes from b1 out to c3", "1.e4 e5 2.Nc3"),
    "from square to square": ("e4 e5", "white plays d2 to d4", "1.e4 e5 2.d4"),
    "back home": ("e4 e5 knight f3 knight c6 knight g5 d6", "and it goes all the way back home to f3", "1.e4 e5 2.Nf3 Nc6 3.Ng5 d6 4.Nf3"),
    "what is taken, and by what": ("e4 d5", "white takes it with the e pawn on d5", "1.e4 d5 2.exd5"),
    "takes a piece from somewhere": ("e4 e5 knight f3 knight c6 d4 e takes d4", "takes back on d4 with the knight from f3", "1.e4 e5 2.Nf3 Nc6 3.d4 exd4 4.Nxd4"),
    "no square, and an opening": ("d4 knight f6 c4 e6", "white brings out the queen's knight. bishop b4", "1.d4 Nf6 2.c4 e6 3.Nc3 Bb4"),
    "what games have decides": ("d4 d5 knight f3 knight f6 e3 e6", "knight d2", "1.d4 d5 2.Nf3 Nf6 3.e3 e6 4.Nbd2"),
    "a rank that is no word": ("e4 e5 knight f3 knight c6", "bishop b fibe a6 bishop a4 knight f6", "1.e4 e5 2.Nf3 Nc6 3.Bb5 a6 4.Ba4 Nf6"),
    "a file that is no word": ("d4 knight f6 c4 e6 knight c3", "bishop zee four e3 castles", "1.d4 Nf6 2.c4 e6 3.Nc3 Bb4 4.e3 O-O"),
    "seldom played": ("e4 e5", "queen h5 knight c6", "1.e4 e5 2.Qh5 Nc6"),
    "two moves, not one piece": ("e4 e5 knight f3", "d6 bishop b5 check", "1.e4 e5 2.Nf3 d6 3.Bb5+"),
    "where another piece stands": ("e4 e5 knight f3 f5 knight takes e5 queen f6", "the queen's on f6, our knight's still on e5. back it goes, knight c4", "1.e4 e5 2.Nf3 f5 3.Nxe5 Qf6 4.Nc4"),
    "a file that sounds like a number": ("d4 knight f6 bishop g5 knight e4 bishop f4 c5 f3", "queen eight five check c3 knight f6", "1.d4 Nf6 2.Bg5 Ne4 3.Bf4 c5 4.f3 Qa5+ 5.c3 Nf6"),
    "a file that sounds like a verb": ("e4 e5", "knight have 3 knight c6", "1.e4 e5 2.Nf3 Nc6"),
    "a file that sounds like an article": ("d4 d5 c4 knight c6 knight c3 d takes c4 d5 knight e5", "queen the 4 knight g6", "1.d4 d5 2.c4 Nc6 3.Nc3 dxc4 4.d5 Ne5 5.Qd4 Ng6"),
    "said twice": ("e4 e5", "knight f3 so knight f3", "1.e4 e5 2.Nf3"),
}  # fmt: skip

# Speech that holds no move, behind 1.e4 e5.
NO_MOVES = {
    "what stands where": "the pawn on e5 is well protected",
    "a plan": "white's plan is knight f3 and bishop c4",
    "a threat": "the threat is queen h5",
    "a wish": "he would like to play d4",
    "asked": "what would White love? queen h5, bishop c4, and mate on f7",
    "squares in a row": "pawns on c3 d4 e5 and f4",
    "a move that is a name": "the knight f3 move is well known",
    "squares to choose from": "there are two squares, c4 and b5",
    "told once more": "to sum up. knight f3, knight c6",
    "denied": "don't play queen h5",
    "not yet": "i haven't played queen h5",
    "asked, and not done": "do you play queen h5 now",
    "a square": "look at the d5 square",
    "a word that sounds like one": "last night we saw this before",
    "another game": "i once played queen h5 against some guy",
}

WAYS_BACK = {
    "instead": (
        "e4 e5 knight f3 knight c6. what if black plays d6 instead",
        ["1.e4 e5 2.Nf3 Nc6", "1.e4 e5 2.Nf3 d6"],
    ),
    "another one too": (
        "e4 e5 knight f3 knight c6. the normal move is bishop b5 but quick there's also bishop c4",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5", "1.e4 e5 2.Nf3 Nc6 3.Bc4"],
    ),
    "to where a piece has just gone": (
        "e4 e5 knight f3 knight c6 bishop b5 a6 bishop a4 knight f6 castles bishop e7.\n"
        "with the bishop just arrived on b5, black has played f5",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5 a6 4.Ba4 Nf6 5.O-O Be7", "1.e4 e5 2.Nf3 Nc6 3.Bb5 f5"],
    ),
    "the moment of a move": (
        "e4 e5 knight f3 knight c6 bishop b5 a6 bishop a4 knight f6 castles bishop e7.\n"
        "the moment he has put the bishop on b5 you throw in f5",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5 a6 4.Ba4 Nf6 5.O-O Be7", "1.e4 e5 2.Nf3 Nc6 3.Bb5 f5"],
    ),
    "instead of a move": (
        "e4 e5 knight f3 knight c6 bishop b5. instead of knight c6 black can play knight f6",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5", "1.e4 e5 2.Nf3 Nf6"],
    ),
    "to a move number": (
        "e4 e5 knight f3 knight c6 bishop b5 a6. going back to move two white has bishop c4",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5 a6", "1.e4 e5 2.Bc4"],
    ),
    "another idea for a side": (
        "e4 e5 knight f3 knight c6 bishop b5. another idea for black here is d6",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5", "1.e4 e5 2.Nf3 d6"],
    ),
    "a named position": (
        "e4 e5 knight f3. this position we call the lighthouse. knight c6 bishop b5 a6.\n"
        "returning to the lighthouse. d6 d4",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5 a6", "1.e4 e5 2.Nf3 d6 3.d4"],
    ),
    "the main line again": (
        "e4 e5 knight f3 knight c6. instead of knight c6 black can play d6 d4.\n"
        "the main line again. bishop b5 a6",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5 a6", "1.e4 e5 2.Nf3 d6 3.d4"],
    ),
    "after a move": (
        "e4 e5 knight f3 knight c6 bishop b5 a6. after knight c6 white also has bishop c4",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5 a6", "1.e4 e5 2.Nf3 Nc6 3.Bc4"],
    ),
    "numbers": (
        "1 e4 c5. 2 knight f3 d6. 3 d4 c takes d4. 2 c3 d5.",
        ["1.e4 c5 2.Nf3 d6 3.d4 cxd4", "1.e4 c5 2.c3 d5"],
    ),
    "a list within a list": (
        "e4 e5 knight f3. there are two moves. firstly, knight c6. bishop b5 a6. if bishop a4, "
        "knight f6. secondly, d6. d4",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5 a6 4.Ba4 Nf6", "1.e4 e5 2.Nf3 d6 3.d4"],
    ),
    "brackets": (
        "e4 e5. knight f3 knight c6. open bracket. instead of knight c6, d6. close bracket. bishop b5.",
        ["1.e4 e5 2.Nf3 Nc6 3.Bb5", "1.e4 e5 2.Nf3 d6"],
    ),
    "openings decide": (
        "e4 c5 knight f3 d6 d4 takes d4 takes d4 knight f6 knight c3 a6",
        ["1.e4 c5 2.Nf3 d6 3.d4 cxd4 4.Nxd4 Nf6 5.Nc3 a6"],
    ),
    "later speech decides": (
        "d4 d5 knight f3 knight f6 e3 e6 knight d2 bishop e7 knight g1",
        ["1.d4 d5 2.Nf3 Nf6 3.e3 e6 4.Nbd2 Be7 5.Ng1"],
    ),
}


@pytest.mark.parametrize(("before", "phrase", "line"), PHRASES.values(), ids=PHRASES)
def test_phrases(before, phrase, line):
    assert lines(heard(f"{before}\n{phrase}"))[0].rstrip("+") == line.rstrip("+")


def test_a_move_that_nobody_said_is_told_as_such():
    """Without it the next can't be played; an opening has it."""
    found = heard("e4 c5 knight f3 d6 d4.\nknight takes d4 knight f6 knight c3 a6")
    assert lines(found) == ["1.e4 c5 2.Nf3 d6 3.d4 cxd4 4.Nxd4 Nf6 5.Nc3 a6"]
    unheard = [one for one in found.events if one.event.kind == UNHEARD]
    assert [label(found.nodes, one.event.node) for one in unheard] == ["3...cxd4"]
    assert unheard[0].event.node in found.doubted()


def test_what_hangs_on_doubtful_moves_is_doubted():
    """Two knights could go to d2 or e2, and what follows settles neither."""
    found = heard("d4 d5 e3 e6 knight f3 knight f6.\nknight d2 knight d7 b3 b6")
    doubted = found.doubted()
    lines_ = {node: one.line for one in found.events for node in [one.event.node]}
    assert doubted
    for one in found.events:
        parent = found.nodes.known[one.event.node].parent
        assert one.line <= lines_.get(parent, 1.0)
        assert not one.hangs or one.event.node in doubted


def test_who_plays_which_side_is_heard_from_the_talk():
    """Once it is known that 'I' am Black, 'he castles' can be no move of mine."""
    found = heard(
        "he plays e4. i play e5. he plays knight f3. i play knight c6. he plays bishop c4. "
        "i play bishop c5. he plays d3. i play knight f6.\nhe castles. i castle."
    )
    persons = persons_in(found.nodes, found.best)
    sides = {who: side for who, (side, surely) in persons.items()}
    assert sorted(sides.values()) == [chess.BLACK, chess.WHITE]


@pytest.mark.parametrize("speech", NO_MOVES.values(), ids=NO_MOVES)
def test_no_moves(speech):
    assert lines(heard(f"e4 e5.\n{speech}")) == ["1.e4 e5"]


@pytest.mark.parametrize(("speech", "found"), WAYS_BACK.values(), ids=WAYS_BACK)
def test_ways_back(speech, found):
    assert sorted(lines(heard(speech))) == sorted(found)
