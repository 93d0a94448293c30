"""PGN as two rules libraries from npm read it: a script for each, run by Node.

`kokopu` tells the FENs behind all moves of every game of a PGN text; `chess.js` those behind the main
moves of every game of a JSON list of PGN texts.
"""

from __future__ import annotations

import json
import subprocess

KOKOPU = """
const {pgnRead} = require(PACKAGE);
const database = pgnRead(require("fs").readFileSync(0, "utf8"));
const games = [];
for (let g = 0; g < database.gameCount(); ++g) {
    const fens = [], todo = [database.game(g).mainVariation()];
    while (todo.length) {
        for (const node of todo.pop().nodes()) {
            fens.push(node.position().fen());
            todo.push(...node.variations());
        }
    }
    games.push(fens);
}
console.log(JSON.stringify(games));
"""
CHESS_JS = """
const {Chess} = require(PACKAGE);
const games = JSON.parse(require("fs").readFileSync(0, "utf8")).map((text) => {
    const chess = new Chess();
    chess.loadPgn(text);
    return chess.history({verbose: true}).map((move) => move.after);
});
console.log(JSON.stringify(games));
"""


def says(program, package, script: str, text: str):
    """What a script prints, as JSON; `package` is the folder of its npm package."""
    script = script.replace("PACKAGE", json.dumps(str(package)))
    run = subprocess.run([program("node"), "-e", script], input=text, capture_output=True, text=True,
                         timeout=60)  # fmt: skip
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)
