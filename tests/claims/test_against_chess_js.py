"""Claims about random positions against npm `chess.js`, a second independent rules library."""

from __future__ import annotations

import json
import subprocess

from claims.positions import random_positions
from claims.proving import proved

SCRIPT = """
const {Chess} = require(PACKAGE);
const files = "abcdefgh";
const told = JSON.parse(require("fs").readFileSync(0, "utf8")).map((fen) => {
    const game = new Chess(fen);
    const attackers = {};
    for (const side of ["w", "b"])
        for (let rank = 1; rank <= 8; rank += 3)
            for (const file of files)
                attackers[side + file + rank] = game.attackers(file + rank, side).length;
    return {attackers, check: game.isCheck(), mate: game.isCheckmate(),
            stalemate: game.isStalemate(), moves: game.moves(),
            castling: {w: game.getCastlingRights("w"), b: game.getCastlingRights("b")}};
});
console.log(JSON.stringify(told));
"""
SIDES = {"w": "white", "b": "black"}
WINGS = {"k": "kingside", "q": "queenside"}


def holds(fen: str, claim: str) -> bool:
    return proved(fen, claim).outcome == "true"


def test_like_chess_js(program, node_package):
    script = SCRIPT.replace("PACKAGE", json.dumps(str(node_package("chess.js"))))
    fens = [board.fen(en_passant="legal") for board in random_positions(120, seed=21)]
    done = subprocess.run([program("node"), "-e", script], input=json.dumps(fens), text=True,
                          capture_output=True, check=True)  # fmt: skip
    for fen, told in zip(fens, json.loads(done.stdout), strict=True):
        for key, count in told["attackers"].items():
            claim = f"attackers {key[1:]} {SIDES[key[0]]} = {count}"
            assert holds(fen, claim), (fen, claim)
        for kind in ("check", "mate", "stalemate"):
            assert holds(fen, kind) == told[kind], (fen, kind)
        for side, rights in told["castling"].items():
            for wing, held in rights.items():
                assert holds(fen, f"castling {SIDES[side]} {WINGS[wing]}") == held, fen
        for san in told["moves"][:3]:  # With the signs that chess.js writes.
            assert holds(fen, f"legal {san}"), (fen, san)
        if len(told["moves"]) == 1:
            assert holds(fen, f"only move {told['moves'][0]}"), fen
