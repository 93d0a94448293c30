/* The booklet's moves as a tree.

   A node is a move where it stands in the booklet ({anchor, page, game, san, uci, nags, depth, ply, parent,
   children}), or a start position ({fen, ply, children}, without a parent). `ply` counts the
   half-moves before the next move as the move number tells them: 0 before 1.e4. Children are in
   reading order. The same move by the same way may be several nodes, where the booklet writes it
   twice. */
"use strict";
(function (P) {
  var nodes = {}, roots = {}, added = {};
  var solutions = "solutions.html";

  P.tree = {
    /* The position that games begin from. */
    START: "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
    /* Takes in a chapter's rows; gives its nodes by row number, and its starts. */
    add: function (slug) {
      if (added[slug]) return added[slug];
      var data = P.data.moves[slug];
      var starts = data.starts.map(root);
      var rows = [];
      var at = function (reference) { return reference < 0 ? starts[-1 - reference] : rows[reference]; };
      data.rows.forEach(function (row) {
        var line = data.lines[row[0]], anchor = line[0] + "." + row[1];
        if (!nodes[anchor]) {
          var parent = at(row[2]);
          nodes[anchor] = { anchor: anchor, line: line[0], page: line[1], game: !!line[3], uci: row[3], san: row[4],
            depth: row[5], nags: row[6] || [], ply: parent.ply + 1, parent: parent, children: [] };
          parent.children.push(nodes[anchor]);
        }
        rows.push(nodes[anchor]);
      });
      added[slug] = { at: at, rows: rows, starts: starts };
      return added[slug];
    },
    node: function (anchor) { return Object.prototype.hasOwnProperty.call(nodes, anchor) ? nodes[anchor] : null; },
    root: root,

    /* FEN after the node, with the en-passant square only where the capture is legal. */
    fen: function (node) {
      if (!node.fen) {
        var chess = new Chess(P.tree.fen(node.parent), { skipValidation: true });
        play(chess, node.uci);
        node.fen = chess.fen();
      }
      return node.fen;
    },
    /* FEN by the PGN standard (16.1.3.4): en-passant square after every double step. */
    fullFen: function (node) {
      if (!node.parent) return node.given;
      var fields = P.tree.fen(node).split(" ");
      var from = node.uci.slice(0, 2), to = node.uci.slice(2, 4);
      var double = from[0] === to[0] && Math.abs(from[1] - to[1]) === 2 && /^[a-h]/.test(node.san);
      if (double) fields[3] = from[0] + (+from[1] + +to[1]) / 2;
      return fields.join(" ");
    },
    key: function (fen) { return fen.split(" ").slice(0, 4).join(" "); },
    play: play,
    /* Whether nobody is to move. */
    isOver: function (fen) {
      var chess = new Chess(fen, { skipValidation: true });
      return chess.isCheckmate() || chess.isStalemate();
    },

    /* The node with what leads to it, the start position first. */
    path: function (node) {
      var found = [];
      for (; node; node = node.parent) found.unshift(node);
      return found;
    },
    isSolution: function (node) { return node.page === solutions; },

    /* Where the booklet goes on, its main move first; of equal moves the first. Solutions are kept
       apart: only one who is in a solution sees what follows there. */
    next: function (node) {
      var seen = {}, inSolution = P.tree.isSolution(node) || P.showsSolutions;
      return node.children
        .filter(function (child) { return inSolution || !P.tree.isSolution(child); })
        .map(function (child, order) { return { child: child, order: order }; })
        .sort(function (a, b) { return weight(a.child, node) - weight(b.child, node) || a.order - b.order; })
        .map(function (one) { return one.child; })
        .filter(function (child) {
          var first = !seen[child.uci];
          seen[child.uci] = true;
          return first;
        });
    },
    /* The moves at the node's own place, itself among them. */
    beside: function (node) {
      if (!node.parent) return [node];
      var all = P.tree.next(node.parent);
      var same = all.findIndex(function (one) { return one.uci === node.uci; });
      if (same < 0) all.unshift(node); else all[same] = node;
      return all;
    },

    byWhite: function (node) { return node.parent.ply % 2 === 0; },
    number: function (node) { return (node.parent.ply >> 1) + 1; },
    /* `5.Nxc6`, `5...bxc6`; `plain` as in P.san. */
    label: function (node, plain) {
      return P.tree.number(node) + (P.tree.byWhite(node) ? "." : "...") + P.san(node.san, plain);
    },
    /* Moves one after another, numbered as in print, in standard letters or the reader's. */
    text: function (path, standard) {
      return path.map(function (node, index) {
        var number = P.tree.number(node), san = standard ? node.san : P.san(node.san);
        return (P.tree.byWhite(node) ? number + "." : index ? "" : number + "...") + san;
      }).join(" ");
    }
  };

  function weight(child, node) {
    return child.line === node.line ? child.depth : 100 + child.depth;
  }

  function root(fen) {
    if (!roots[fen]) {
      var chess = new Chess(fen, { skipValidation: true });
      var fields = chess.fen().split(" ");
      roots[fen] = { fen: chess.fen(), given: fen, children: [],
        ply: 2 * (fields[5] - 1) + (fields[1] === "w" ? 0 : 1) };
    }
    return roots[fen];
  }

  function play(chess, uci) {
    if (uci === "0000") return chess.move("--");
    return chess.move({ from: uci.slice(0, 2), to: uci.slice(2, 4), promotion: uci[4] });
  }
})(Plyleaf);
