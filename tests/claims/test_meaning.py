"""What every claim means: boards on which it is so, and boards on which it isn't.

Each board lists claims that are true and claims that are false, with a part of the finding. A
deniable claim is proved the other way round as well: its denial is what it isn't.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest
from claims.proving import START, proved, term

from builder.proof.claims import PROOFS, Verdict
from builder.source.claim_forms import ENGINE_KINDS, FORMS


@dataclass(frozen=True)
class Board:
    """`senseless` claims presume what isn't so: neither they nor their denial are true."""

    name: str
    fen: str
    true: dict[str, str] = field(default_factory=dict)
    false: dict[str, str] = field(default_factory=dict)
    senseless: dict[str, str] = field(default_factory=dict)


PIN = "r1b1kb1r/p1ppqppp/2p2n2/4P3/8/8/PPP2PPP/RNBQKB1R w KQkq - 1 7"
CLASSICAL = "r1b1k1nr/pppp1ppp/2n2q2/2b5/3NP3/4B3/PPP2PPP/RN1QKB1R w KQkq - 3 6"
FOOLS_MATE = "rnb1kbnr/pppp1ppp/8/4p3/6Pq/5P2/PPPPP2P/RNBQKBNR w KQkq - 1 3"
BEFORE_IT = "rnbqkbnr/pppp1ppp/8/4p3/6P1/5P2/PPPPP2P/RNBQKBNR b KQkq - 0 2"
QUEEN_OUT = "r1bqkb1r/pppp1ppp/2n2n2/4p2Q/2B1P3/8/PPPP1PPP/RNB1K1NR w KQkq - 4 4"

BOARDS = (
    # --- material
    Board("material", "r3k3/8/8/8/8/8/PP6/Q3K3 w - - 0 1", {
        "material white +6": "White has 11, Black 5",
        "material black -6": "",
        "material white >= 6": "",
        "material white <= +6": "",
    }, {
        "material even": "White has 11, Black 5",
        "material white +5": "so White +6, not +5",
        "material black +6": "so Black -6, not +6",
        "material white >= 7": "so White +6, not +7",
        "material white +5.5": "not +5.5",
    }),
    Board("material at the start", START, {
        "material even": "White has 39, Black 39", "material black 0": "",
        "pieces white pawns = 8": "", "pieces black knights = 2": "Nb8, Ng8 = 2",
        "pieces white queens <= 1": "",
    }, {
        "material white +1": "so White 0, not +1",
        "pieces black rooks = 1": "Ra8, Rh8 = 2, not 1",
        "bishop pair white": "White's bishops: Bc1, Bf1; Black's bishops: Bc8, Bf8",
        "opposite-coloured bishops": "",
    }),
    Board("bishops on both colours", "4kb2/8/8/8/8/8/8/2B1KB2 w - - 0 1",
          {"bishop pair white": "Bc1, Bf1; Black's bishops: Bf8"},
          {"bishop pair black": "", "opposite-coloured bishops": ""}),
    Board("two bishops of one colour", "4k3/8/8/8/8/8/8/B1B1K3 w - - 0 1", {},
          {"bishop pair white": "Ba1, Bc1"}),
    Board("bishops of two colours", "2b1k3/8/8/8/8/8/8/2B1K3 w - - 0 1",
          {"opposite-coloured bishops": "Bc1; Black's: Bc8"}, {"bishop pair white": ""}),
    Board("bishops of one colour", "4kb2/8/8/8/8/8/8/2B1K3 w - - 0 1", {},
          {"opposite-coloured bishops": ""}),
    # --- attackers
    Board("attackers", CLASSICAL, {
        "attackers d4 black = 3": "Black attackers of d4: Nc6, Bc5, Qf6 = 3",
        "attackers d4 white = 2": "Be3, Qd1 = 2",
        "attackers d4 black >= 2": "", "attackers d4 black <= 3": "",
        "attackers c3 white = 2": "pawn b2, Nb1",
        "undefended b2": "nothing defends pawn b2",
    }, {
        "attackers d4 black = 2": "= 3, not 2",
        "attackers d4 black >= 4": "= 3, not >= 4",
        "attackers d4 black <= 2": "= 3, not <= 2",
        "attackers e3 black = 1": "Black attackers of e3: none = 0, not 1",  # Behind Nd4.
        "undefended d4": "Nd4 is defended by Be3, Qd1",
    }, {"undefended a3": "nothing stands on a3"}),
    Board("kings attack, and pinned pieces", "4k3/4r3/8/8/8/8/4N3/4K3 w - - 0 1", {
        "attackers e2 white = 1": "Ke1",
        "attackers d4 white = 1": "Ne2",
        "attackers f8 black = 1": "Ke8",
    }, {"attackers d1 white = 0": "Ke1 = 1"}),
    Board("en passant is no attack on the pawn", "4k3/8/8/8/3pP3/8/8/4K3 b - e3 0 1",
          {"attackers e4 black = 0": "none = 0", "attackers e3 black = 1": "pawn d4"},
          {"attackers e4 black = 1": ""}),
    # --- moves of a piece
    Board("squares to go to", START, {
        "moves b1 = 2": "Nb1 can go to: a3, c3 = 2", "moves e2 = 2": "", "moves c1 = 0": "none",
        "moves g8 = 2": "Ng8 can go to: f6, h6",  # The other side's turn.
    }, {"moves b1 = 3": "= 2, not 3"}, {"moves e4 = 0": "nothing stands on e4"}),
    Board("no pass in check", FOOLS_MATE, {"moves e1 = 0": ""}, {},
          {"moves h4 = 5": "White is in check and can't pass"}),
    Board("promotions are one square", "k7/4P3/8/8/8/8/8/4K3 w - - 0 1",
          {"moves e7 = 1": "e8 = 1"}, {"moves e7 = 4": ""}),
    # --- pins
    Board("pinned to the king", PIN, {
        "pinned e5": "pawn e5 is pinned to Ke1 by Qe7", "pinned e5 to e1": "",
    }, {
        "pinned d7": "pawn d7 isn't pinned",
        "pinned e5 to d1": "pawn e5 is pinned to Ke1 by Qe7",
        "pinned f6": "Nf6 isn't pinned",
    }, {"pinned e1": "a king can't be pinned", "pinned e4": "nothing stands on e4"}),
    Board("pinned to the queen", "rnbqkb1r/ppp2ppp/5n2/3p2B1/3P4/8/PPP2PPP/RN1QKBNR b KQkq - 0 1", {
        "pinned f6 to d8": "Nf6 is pinned to Qd8 by Bg5",
    }, {
        "pinned f6": "Nf6 is pinned to Qd8 by Bg5",
        "pinned f6 to e8": "Nf6 is pinned to Qd8",
    }),
    Board("no pin to what is worth no more", "4k3/8/3b4/8/5n2/8/8/2B1K3 b - - 0 1", {}, {
        "pinned f4 to d6": "", "pinned f4 to c1": "no piece of Black's stands on c1",
        "pinned f4 to h6": "no piece of Black's stands on h6",
    }),
    Board("equal behind", "4k3/6b1/8/4n3/8/8/1Q6/4K3 b - - 0 1", {},
          {"pinned e5 to g7": "Bg7 is worth no more than Ne5"}),
    Board("something between", "4k3/8/8/4n3/8/4P3/8/4RK2 b - - 0 1", {},
          {"pinned e5": "Ne5 isn't pinned", "pinned e5 to e8": "Ne5 isn't pinned"}),
    Board("a bishop doesn't pin on a file", "4k3/8/8/4n3/8/8/8/4BK2 b - - 0 1", {},
          {"pinned e5": "isn't pinned"}),
    # --- forks and skewers
    Board("fork", "r3k3/2N5/8/8/8/8/8/1R2K3 b q - 0 1", {
        "fork c7: e8 a8": "Nc7 attacks Ra8, Ke8", "fork c7: a8 e8": "",
        "check": "Black is in check from Nc7",
    }, {
        "fork c7: a8 d5": "not d5, which is empty",
        "fork b1: e1 a8": "not Ke1, which is White's own, Ra8",
        "not check": "in check",
    }, {"fork c7: a8 a8": "named twice", "fork d4: a8 e8": "nothing stands on d4"}),
    Board("skewer", "4r3/8/8/4k3/8/8/8/4R1K1 b - - 0 1",
          {"skewer e1: e5 e8": "Re1 attacks Ke5, and Re8 behind it"},
          {"skewer e8: e1 g1": "doesn't attack Re1"}, {"skewer e1: g1 e8": "White's own"}),
    Board("a pin is no skewer", "4k3/8/8/4r3/8/8/8/4R1K1 b - - 0 1", {},
          {"skewer e1: e5 e8": "Ke8 is worth more than Re5"}),
    Board("nothing behind", "r3k3/8/8/8/8/8/8/4R1K1 b - - 0 1", {},
          {"skewer e1: e8 a8": "doesn't reach Ra8 through Ke8"}),
    # --- batteries
    Board("battery on a diagonal", "6k1/7p/8/8/8/3B4/2Q5/6K1 w - - 0 1", {
        "battery c2 d3": "Qc2 and Bd3 stand on one line",
        "battery c2 d3 on h7": "aim at h7", "battery d3 c2 on h7": "aim at h7",
        "battery c2 d3 on b1": "aim at b1",
    }, {
        "battery c2 d3 on g8": "doesn't lead to g8",
        "battery c2 d3 on c": "do not stand on the c-file",
    }, {"battery c2 h7": "two pieces of one side", "battery c2 c2": "two pieces of one side",
        "battery c2 e4": "nothing stands on e4"}),
    Board("battery on a file", "6k1/4r3/8/4p3/8/4R3/4Q3/6K1 w - - 0 1", {
        "battery e2 e3 on e": "stand on the e-file", "battery e2 e3 on e5": "",
    }, {"battery e2 e3 on e7": "pawn e5 stands in the way to e7", "battery e2 e3 on d": ""}),
    Board("no battery", "6k1/8/8/8/8/2B1N3/1P2R3/Q3B1K1 w - - 0 1", {}, {
        "battery a1 c3": "pawn b2 stands between Qa1 and Bc3",
        "battery e1 e2": "don't move along one line",  # A bishop on a file.
        "battery e2 e3": "don't move along one line",
        "battery c3 e2": "don't move along one line",
    }),
    # --- discoveries
    Board("discovered check", "4k3/8/8/8/4N3/8/8/4R1K1 w - - 0 1", {
        "discovered check Nd6+": "gives check with Nd6, Re1", "discovered check Nc5": "Re1",
    }, {
        "discovered check Re3": "Re3 gives no check",
        "discovered check Kf1": "Kf1 gives no check",
    }, {"discovered check": "no move leads to this position", "discovered check Nf7": "not legal"}),
    Board("check by the piece that moved", "4k3/8/8/8/8/5N2/8/6K1 w - - 0 1", {}, {
        "discovered check Ng5": "gives no check"}, {"discovered check Ne5#": "gives no check"}),
    Board("the rook that castles doesn't discover", "5k2/8/8/8/8/8/8/4K2R w K - 0 1", {},
          {"discovered check O-O+": "gives check with Rf1, the piece that moved"}),
    Board("discovered attack", "3qk3/8/8/8/3N4/8/8/3R2K1 w - - 0 1", {
        "discovered attack Nf5 d8": "Nf5 opens the line of Rd1 to Qd8",
    }, {
        "discovered attack Kf2 d8": "opens no line to Qd8",
        "discovered attack Nf5 d7": "no enemy piece to attack: d7, which is empty",
        "discovered attack Nb5 g1": "no enemy piece to attack: Kg1",
    }, {"discovered attack Nd5 d8": "not legal"}),
    Board("attacked before is not discovered", "3qk3/8/8/8/3R4/8/8/3R2K1 w - - 0 1", {},
          {"discovered attack Kf2 d8": "opens no line to Qd8"}),
    # --- the rules
    Board("at the start", START, {
        "to move white": "White is to move", "castling white kingside": "",
        "castling white queenside": "", "castling black kingside": "",
        "castling black queenside": "", "legal Nf3": "Nf3 is legal", "illegal Nd2": "",
        "illegal O-O": "stands in the way", "repetition 1": "at the start = 1",
        "illegal e5": "it is White's move here", "threat e5": "Black could play e5",
    }, {
        "check": "White is not in check", "double check": "", "mate": "White can play",
        "stalemate": "White can play Na3 Nc3 Nf3 Nh3 e3 f3 g3 h3 and 12 more",
        "to move black": "White is to move", "legal Nd2": "Nd2 is not legal",
        "illegal Nf3": "Nf3 is legal", "legal Nf3+": "Nf3+ gives no check",
        "only move Nf3": "White can also play", "threat e4": "e4 is not legal for Black",
        "threat mate": "Black has no mate in one", "repetition 2": "= 1, not 2", "mate in 1": "",
    }, {"only move Nd2": "not legal", "mate in 4": "in 1 to 3 moves",
        "mate in 0": "in 1 to 3 moves"}),
    Board("mate", FOOLS_MATE, {
        "mate": "White has no move and is in check", "check": "from Qh4",
    }, {"stalemate": "White has no move and is in check", "double check": "from Qh4"},
        {"threat Qe1": "White is in check and can't pass", "threat mate": "can't pass"}),
    Board("mate in one", BEFORE_IT, {
        "mate in 1": "Black mates in 1 with Qh4#", "legal Qh4#": "", "legal Qh4": "",
    }, {"mate in 2": "mates in 1", "legal Qh4+": "Qh4+ gives mate"}),
    Board("threats", "rnbqkbnr/pppp1ppp/8/4p3/6P1/5P2/PPPPP2P/RNBQKBNR w KQkq - 0 2", {
        "threat mate": "Black could play Qh4#", "threat Qh4#": "", "threat Qh4": "",
    }, {"threat Qh4+": "Qh4+ gives mate", "threat Qh6": "not legal"}),
    Board("a threat after a check answered", QUEEN_OUT, {
        "threat Nxh5": "Black could play Nxh5", "mate in 1": "Qxf7#",
    }, {"threat mate": "", "threat Nxh5+": "gives no check"}),
    Board("mate in two", "7k/8/8/8/8/8/R7/1R4K1 w - - 0 1",
          {"mate in 2": "White mates in 2 with"},
          {"mate in 1": "White has no mate in 1", "mate in 3": "White mates in 2"}),
    Board("mate in three", "8/7k/8/R7/1R6/8/8/6K1 w - - 0 1",
          {"mate in 3": "White mates in 3 with Ra6"}, {"mate in 2": "White has no mate in 2"}),
    Board("stalemate", "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",
          {"stalemate": "Black has no move and is not in check"}, {"mate": "not in check"}),
    Board("double check", "4k3/8/3N4/8/8/8/8/4R1K1 b - - 0 1",
          {"double check": "from Nd6, Re1", "check": ""}),
    Board("only move", "7k/8/8/8/8/8/6q1/7K w - - 0 1",
          {"only move Kxg2": "White has no other move than Kxg2"}, {}, {"only move Kh2": ""}),
    Board("castling through check is a right still", "4k3/8/8/8/8/5r2/8/4K2R w K - 0 1", {
        "castling white kingside": "White holds the right to castle kingside", "illegal O-O": "f1",
    }, {"castling white queenside": "White has no right to castle queenside", "legal O-O": ""}),
    Board("moves that are unclear", "4k3/8/8/8/8/5N2/8/1N2K3 w - - 0 1",
          {"legal Nbd2": "", "illegal Nbd4": "", "illegal Nb1d4": ""}, {},
          {"illegal Nd2": "Nd2 is ambiguous", "legal Nd2": "ambiguous"}),
    Board("a pawn that promotes", "k7/4P3/8/8/8/8/8/4K3 w - - 0 1",
          {"legal e8=Q+": "", "illegal d8": ""}, {"illegal e8": "e8=Q is legal", "legal e8": ""}),
    # --- pawns
    Board("isolated and doubled", "4k3/p1pp4/2p5/8/8/8/PP1P1P2/4K3 w - - 0 1", {
        "isolated a7": "beside pawn a7: none", "isolated d2": "", "isolated f2": "",
        "doubled c6": "on the file of pawn c6: pawn c7", "doubled c7": "",
        "open e": "pawns on the e-file: none", "open g": "", "half-open b black": "",
        "half-open c white": "", "half-open f black": "",
        "islands white = 3": "White's pawn islands: a-b, d, f = 3",
        "islands black = 2": "a, c-d = 2", "islands black <= 2": "",
        "majority black queenside": "Black 4, White 3", "majority white kingside": "",
    }, {
        "isolated a2": "beside pawn a2: pawn b2", "isolated c7": "pawn d7",
        "doubled a7": "on the file of pawn a7: none", "doubled d2": "",
        "open d": "pawn d2, pawn d7", "open b": "pawn b2", "half-open b white": "",
        "half-open d white": "White's pawns on the d-file: pawn d2", "half-open e black": "none",
        "islands white = 2": "= 3, not 2", "majority white queenside": "White 3, Black 4",
    }, {"isolated e4": "no pawn stands on e4", "doubled e1": "no pawn stands on e1: Ke1"}),
    Board("passed", "4k3/8/1p6/3Pp3/8/P6p/6P1/4K3 w - - 0 1", {
        "passed d5": "no pawn can stop pawn d5", "passed e5": "",
    }, {
        "passed a3": "held up by pawn b6", "passed g2": "held up by pawn h3",
        "passed h3": "held up by pawn g2", "passed b6": "held up by pawn a3",
        "protected passed d5": "none", "protected passed a3": "held up",
    }, {"passed e1": "no pawn"}),
    Board("protected passed", "4k3/8/8/3P4/4P3/8/8/4K3 w - - 0 1",
          {"protected passed d5": "pawn e4", "passed e4": ""}, {"protected passed e4": "none"}),
    Board("a passed pawn isn't held up from behind", "4k3/8/8/2P5/3p4/8/8/4K3 w - - 0 1",
          {"passed c5": "", "passed d4": ""}),
    # --- backward pawns
    Board("backward: an enemy pawn rules the square", "4k3/8/3p4/2p5/4P3/8/8/4K3 b - - 0 1",
          {"backward d6": "pawn d6 is behind pawn c5, and pawn e4 attacks d5"},
          {"backward c5": "pawn d6 can support pawn c5", "backward e4": "isolated, not backward"}),
    Board("backward: blocked", "4k3/8/3p4/2pN4/8/8/8/4K3 b - - 0 1",
          {"backward d6": "Nd5 stands in its way"}),
    Board("not backward: own piece in front", "4k3/8/3p4/2pn4/8/8/8/4K3 b - - 0 1", {},
          {"backward d6": "can safely advance"}),
    Board("backward: lost if it advances", "4k3/8/3p4/2p5/8/4N3/8/4K3 b - - 0 1",
          {"backward d6": "it would be lost on d5"}),
    Board("not backward: it can advance", "4k3/8/3p4/2p5/8/8/8/4K3 b - - 0 1", {},
          {"backward d6": "can safely advance to d5"}, {"backward d5": "no pawn"}),
    Board("not backward: a pawn beside it", "4k3/8/3pp3/8/2P5/8/8/4K3 b - - 0 1", {},
          {"backward d6": "pawn e6 can support pawn d6"}),
    # --- squares
    Board("outposts", "4k3/pp3ppp/8/3N4/4P3/8/8/4K3 w - - 0 1", {
        "outpost d5": "d5 is defended by pawn e4, and no pawn can attack it",
        "outpost d5 white": "", "hole d5 black": "no pawn of Black's can defend d5",
        "hole e8 black": "",
    }, {
        "outpost f5 white": "pawn g7 can come to attack f5", "outpost d5 black": "",
        "outpost c5 white": "no pawn of White's defends c5",
        "outpost e4": "no pawn of White's defends e4",
        "hole c6 black": "pawn b7 can defend c6", "hole c5 black": "pawn b7 can defend c5",
    }, {"outpost d4": "nothing stands on d4"}),
    Board("outposts lie ahead", "4k3/8/8/8/8/3N4/4P3/3K4 w - - 0 1", {},
          {"outpost d3": "on White's rank 3", "outpost d8 white": "White's rank 8"}),
    # --- king
    Board("shelter", "6k1/5pp1/7p/8/8/8/P4P2/6K1 w - - 0 1", {
        "shelter black = 3": "pawns in front of Kg8: h6, f7, g7 = 3", "shelter white = 1": "f2",
        "shelter white <= 1": "",
    }, {"shelter white = 3": "f2 = 1, not 3"}),
    Board("shelter ends two ranks ahead", "6k1/8/8/5ppp/8/8/8/6K1 w - - 0 1",
          {"shelter black = 0": "none"}, {"shelter black = 3": ""}),
    Board("weak back rank", "6k1/5ppp/8/8/8/8/5PP1/R5K1 w - - 0 1", {
        "back rank weak black": "Kg8 can't leave the back rank",
    }, {"back rank weak white": "Black has no rook or queen"}),
    Board("a way out", "6k1/5pp1/7p/8/8/8/5PPP/R5K1 b - - 0 1", {},
          {"back rank weak black": "Kg8 can go to h7"}),
    Board("a way out that is attacked", "6k1/5pp1/7p/8/4B3/8/5PPP/R5K1 b - - 0 1",
          {"back rank weak black": "can't leave"}),
    Board("off the back rank", "8/5ppk/7p/8/8/8/5PPP/R5K1 b - - 0 1", {},
          {"back rank weak black": "isn't on its back rank"}),
    Board("development", CLASSICAL, {
        "developed white = 2": "Nd4, Be3 = 2", "developed black = 2": "Nc6, Bc5 = 2",
        "developed black >= 1": "",
    }, {"developed white = 3": "= 2, not 3"}),
    # --- exchange; more in test_exchange.py
    Board("exchange", "4k3/8/2p5/3n4/4P3/8/8/4K3 w - - 0 1", {
        "loses d5": "taking Nd5 wins 2 for White: exd5 cxd5", "safe e4": "Black can't take pawn e4",
        "safe c6": "White can't take",
    }, {"safe d5": "taking Nd5 wins 2", "loses e4": "can't take", "trapped d5": "gets away"},
        {"loses e1": "a king is never exchanged", "safe e5": "nothing stands",
         "trapped e8": "a king is never exchanged"}),
    Board("even exchange", "4k3/8/2p5/3n4/5B2/6B1/8/3RK3 w - - 0 1", {
        "safe d5": "taking Nd5 wins nothing: Rxd5 cxd5 comes to −2",
    }, {"loses d5": ""}),
    Board("knight for bishop", "4k3/8/2p5/3n4/2B5/8/8/4K3 w - - 0 1",
          {"safe d5": "Bxd5 cxd5 is even"}, {"loses d5": ""}),
    Board("trapped", "4k3/6p1/6p1/7b/6P1/5P2/8/4K3 b - - 0 1", {
        "trapped h5": "Bh5 is lost where it stands (gxh5 gxh5), and so is it after Bxg4",
    }, {"trapped g4": "isn't lost where it stands"}),
    Board("not trapped: it takes as much as it is worth", "4k3/6p1/6p1/7b/6B1/5P2/8/4K3 b - - 0 1",
          {}, {"trapped h5": ""}),
)  # fmt: skip


def denial(claim: str) -> str:
    return claim.split(" ", 1)[1] if claim.startswith(("not ", "no ")) else f"not {claim}"


def is_deniable(claim: str) -> bool:
    head = term(claim).kind
    forms = [form for form in FORMS if form.head == head]
    return all(form.deniable for form in forms)


def check(board: Board, claim: str, outcome: str, finding: str) -> Verdict:
    verdict = proved(board.fen, claim)
    assert (verdict.outcome, finding in verdict.finding) == (outcome, True), verdict
    return verdict


CASES = [
    pytest.param(board, claim, outcome, finding, id=f"{board.name}: {claim}")
    for board in BOARDS
    for outcome, claims in (("true", board.true), ("false", board.false))
    for claim, finding in claims.items()
]


@pytest.mark.parametrize("board, claim, outcome, finding", CASES)
def test_meaning(board, claim, outcome, finding):
    check(board, claim, outcome, finding)
    if is_deniable(claim):
        check(board, denial(claim), "false" if outcome == "true" else "true", finding)


@pytest.mark.parametrize(
    "board, claim, finding",
    [pytest.param(board, claim, finding, id=f"{board.name}: {claim}")
     for board in BOARDS for claim, finding in board.senseless.items()],
)  # fmt: skip
def test_senseless(board, claim, finding):
    check(board, claim, "false", finding)
    if is_deniable(claim):
        check(board, denial(claim), "false", finding)


def test_every_kind_is_shown_both_ways():
    """`same as` needs a booklet: see test_booklet.py."""
    for shown in ({claim for board in BOARDS for claim in board.true},
                  {claim for board in BOARDS for claim in board.false}):  # fmt: skip
        assert set(PROOFS) - {term(claim).kind for claim in shown} == {"same as"}


def test_every_form_has_a_proof():
    assert {form.head for form in FORMS} == set(PROOFS) | ENGINE_KINDS


REMEDIES = {
    (START, "material white +1"): "write material even",
    ("r3k3/8/8/8/8/8/PP6/Q3K3 w - - 0 1", "material even"): "write material white +6",
    ("r3k3/8/8/8/8/8/PP6/Q3K3 w - - 0 1", "material black +1"): "write material black -6",
    (CLASSICAL, "attackers d4 black = 2"): "write attackers d4 black = 3",
    (CLASSICAL, "attackers d4 black >= 4"): "write attackers d4 black = 3",
    (START, "repetition 2"): "write repetition 1",
    (START, "half-open e white"): "",
    (BEFORE_IT, "mate in 2"): "write mate in 1",
    (BEFORE_IT, "legal Qh4+"): "",
    (BEFORE_IT, "only move Qh4+"): "write Qh4#",
    (PIN, "pinned e5 to d1"): "write pinned e5 to e1",
    (START, "legal Nd2"): "White's knights can reach: Na3 Nc3 Nf3 Nh3",
    ("4k3/8/8/4n3/8/8/8/4RK2 b - - 0 1", "outpost d5"): "write outpost d5 white or black",
    ("4k3/8/8/8/8/8/8/4K3 b - - 0 1", "half-open e white"): "write open e",
    ("4k3/8/8/8/8/5N2/8/1N2K3 w - - 0 1", "legal Nd2"): "write Nbd2 or Nfd2",
    (START, "no castling white kingside"): "",
}


@pytest.mark.parametrize("fen, claim", REMEDIES, ids=lambda value: value)
def test_remedies(fen, claim):
    verdict = proved(fen, claim)
    assert verdict.outcome == "false"
    remedy = REMEDIES[fen, claim]
    assert remedy in verdict.remedy and bool(remedy) == bool(verdict.remedy), verdict


def test_an_engines_judgement_is_unproved():
    for claim in ("eval white >= 0.3", "eval between -1 1", "best Nf3"):
        assert proved(START, claim).outcome == "unproved"
    assert proved(START, "best Nd2").finding == "Nd2 is not legal"
    assert proved(START, "best Nf3+").finding == "Nf3+ gives no check"


def test_a_move_that_is_no_move_has_its_own_code():
    assert proved("4k3/8/8/8/8/5N2/8/1N2K3 w - - 0 1", "illegal Nd2").code == "claim-move"
    assert proved(START, "legal Nd2").code == "claim-false"
