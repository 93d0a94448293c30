"""Files that several tests read."""

# PGN standard (revision of 1994-03-12), section 2.3: its sample game, from memory.
STANDARD = """\
[Event "F/S Return Match"]
[Site "Belgrade, Serbia JUG"]
[Date "1992.11.04"]
[Round "29"]
[White "Fischer, Robert J."]
[Black "Spassky, Boris V."]
[Result "1/2-1/2"]

1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4 Nf6 5. O-O Be7 6. Re1 b5 7. Bb3 d6 8. c3
O-O 9. h3 Nb8 10. d4 Nbd7 11. c4 c6 12. cxb5 axb5 13. Nc3 Bb7 14. Bg5 b4 15.
Nb1 h6 16. Bh4 c5 17. dxe5 Nxe4 18. Bxe7 Qxe7 19. exd6 Qf6 20. Nbd2 Nxd6 21.
Nc4 Nxc4 22. Bxc4 Nb6 23. Ne5 Rae8 24. Bxf7+ Rxf7 25. Nxf7 Rxe1+ 26. Qxe1 Kxf7
27. Qe3 Qg5 28. Qxg5 hxg5 29. b3 Ke6 30. a3 Kd6 31. axb4 cxb4 32. Ra5 Nd5 33.
f3 Bc8 34. Kf2 Bf5 35. Ra7 g6 36. Ra6+ Kc5 37. Ke1 Nf4 38. g3 Nxh3 39. Kd2 Kb5
40. Rd6 Kc5 41. Ra6 Nf2 42. g4 Bd3 43. Re6 1/2-1/2
"""

# A club's file as such files are: two chapters of lines, words long and short.
CLUB = """\
[Event "A Scotch repertoire"]
[White "The main road"]
[Black "?"]
[Result "*"]
[ECO "C45"]
[Annotator "The harbour club"]
[SourceDate "2026.01.02"]

{White opens the centre on the third move. Both sides get pieces into play quickly, and there is
little to be gained by waiting. This file holds what a club player wants to know before his first
tournament game with it.}
1. e4 e5 2. Nf3 Nc6 3. d4 exd4 (3... d6 4. dxe5 {and White is a little better.} Nxe5 5. Nxe5 dxe5
6. Qxd8+ Kxd8 7. Bc4 $14) 4. Nxd4 Nf6 (4... Bc5 {Black attacks the knight a second time.} 5. Be3
Qf6 6. c3 Nge7 7. Bc4 (7. g3 {is quieter} d5 8. Bg2) 7... Ne5 8. Be2 Qg6 9. O-O d6 (9... Qxe4?
10. Nb5 $1 $18 {Black's queen has no good square.}) 10. f3 O-O 11. Nd2 d5 12. Kh1 dxe4 13. Nxe4
Bb6 $10) (4... Qh4 $6 {Greedy. Black wins a pawn and loses the right to castle. White gets a
development that is worth more than the pawn. In practice Black's task is the harder one.} 5. Nc3
Bb4 6. Be2 Qxe4 7. Nb5 Bxc3+ 8. bxc3 Kd8 9. O-O Nf6 10. Be3 $44) (4... Bb4+ 5. c3 Bc5 6. Be3 $14)
5. Nxc6 bxc6 6. e5 {The point: the knight must decide at once. Black's next move looks clumsy,
since it shuts in the bishop. But it pins the pawn, and after White's reply the white queen shuts
in a bishop too. Neither side has it easy.} Qe7 7. Qe2 Nd5 8. c4 Ba6 (8... Nb6 9. Nc3 Qe6 10. Qe4
d5 11. exd6 cxd6 12. Bd3 f5 13. Qxe6+ Bxe6 14. b3 $14) 9. b3 g6 (9... O-O-O 10. g3 g5 11. Bb2 Bg7
12. Nd2 Nb4 13. Nf3 $14) 10. f4 (10. Ba3 Qg5 11. Qe4) 10... g5 $5 11. Ba3 Qxa3 $1 12. Nxa3 Bb4+
13. Kd1 Bxa3 14. cxd5 Bxe2+ 15. Kxe2 cxd5 16. fxg5 $10 *

[Event "A Scotch repertoire"]
[White "Declined"]
[Black "?"]
[Result "*"]
[ECO "C44"]

1. e4 e5 2. Nf3 Nc6 3. d4 d6 4. Bb5 {Now Black is pinned.} exd4 5. Nxd4 Bd7 6. O-O Nf6 7. Nc3 Be7
$14 (7... g6 8. Re1) 8. Re1 O-O 9. Bxc6 bxc6 $14 *
"""
