/* Where a game left the booklet: the last of its positions that the booklet has, by whatever way,
   what was played there, and what the booklet plays. */
"use strict";
(function (P) {
  var tree = P.tree, RESULTS = { "1-0": 1, "0-1": 1, "1/2-1/2": 1, "*": 1, "\u00bd-\u00bd": 1 };

  /* The games of a text: [{tags, moves: [words]}]. Comments, variations and signs are passed over;
     a game ends at a result, at the tags of the next one, or where move 1 begins anew. */
  P.readGames = function (text) {
    var games = [], game = null, at = 0, depth = 0;
    var token = /\[\s*(\w+)\s+"((?:\\.|[^"\\])*)"\s*\]|\{[^}]*(?:\}|$)|;[^\n]*|\$\d+|[()]|[^\s{}();[\]]+|[[\]]/g, found;
    function open() {
      if (!game) games.push(game = { tags: {}, moves: [] });
      return game;
    }
    while ((found = token.exec(text))) {
      var word = found[0];
      if (found[1]) {
        if (game && game.moves.length) game = null;
        depth = 0;
        open().tags[found[1]] = found[2].replace(/\\(.)/g, "$1");
      } else if (word === "(") depth++;
      else if (word === ")") depth = Math.max(0, depth - 1);
      else if (depth || /^[{;$[\]]/.test(word)) continue;
      else if (RESULTS[word]) game = null;
      else {
        var number = /^(\d+)(?:\.+|\u2026)(.*)$/.exec(word), rest = number ? number[2].replace(/^\.+/, "") : word;
        if (/^\d+$/.test(word)) continue;
        if (number && number[1] === "1" && /^\d+\.(?!\.)/.test(word) && game && game.moves.length > 1 && !game.tags.FEN) game = null;
        if (rest && !/^(\.+|\u2026|[!?=+\-\/\u221e\u00b1\u2213\u2212]+|e\.?p\.?)$/.test(rest)) open().moves.push(rest);
      }
    }
    return games.filter(function (one) { return one.moves.length || one.tags.FEN; });
  };

  /* {last: number of moves played up to the last booklet position, or -1; before and fen: around
     it; played: the game's next move or ""; next: the booklet's nodes there; node; bad}. */
  P.whereLeft = function (index, game) {
    var chess, bad = null;
    try { chess = new Chess(game.tags.FEN || tree.START, { skipValidation: false }); }
    catch (error) { return { last: -1, next: [], played: "", bad: { word: game.tags.FEN, after: "FEN" } }; }
    var fens = [chess.fen()], sans = [], given = fens[0];
    game.moves.every(function (word) {
      var fen = fens[fens.length - 1], move = quick(chess, word) || slow(chess, fen, word);
      if (!move) {
        bad = { word: word, after: sans.length ? labelled(fens[sans.length - 1], sans[sans.length - 1]) : P.say("start_position") };
        return false;
      }
      sans.push(move);
      fens.push(chess.fen());
      return true;
    });
    var last = fens.length - 1;
    while (last >= 0 && !(index.at[tree.key(fens[last])] || {}).taught) last--;
    var at = last < 0 ? null : index.at[tree.key(fens[last])];
    return { last: last, given: given, fen: last < 0 ? fens[0] : fens[last], bad: bad,
      reached: last > 0 ? { fen: fens[last - 1], san: sans[last - 1] } : null,
      played: last >= 0 && last < sans.length ? sans[last] : "",
      next: at ? at.next : [], node: at && (at.nodes[0] || null), start: at && at.start };
  };
  function quick(chess, word) {
    if (!/^[KQRBNa-hO]/.test(word) || P.data.booklet.letters !== "KQRBN") return null;
    try { return chess.move(word.replace(/[!?]+$/, ""), { strict: false }).san; } catch (error) { return null; }
  }
  /* In a booklet in other letters a word may be a move in both: the standard's are tried first, as in
     a PGN, and the booklet's own next. */
  function slow(chess, fen, word) {
    try { return chess.move(word.replace(/[!?]+$/, ""), { strict: false }).san; } catch (error) { /* its own letters, perhaps */ }
    var move = P.readMove(fen, word);
    if (move) tree.play(chess, move.uci);
    return move && move.san;
  }
  function labelled(fen, san) {
    var fields = fen.split(" ");
    return fields[5] + (fields[1] === "w" ? "." : "...") + P.san(san);
  }

  P.leftPart = function () {
    var field = P.el("textarea", { class: "field wide", id: "left-games", rows: "7", spellcheck: "false" });
    var said = P.el("p", { role: "status" }), result = P.el("div", { class: "left-result" });
    var file = P.el("input", { type: "file", id: "left-file", class: "unseen", accept: ".pgn,.txt,text/plain", change: function () {
      var reader = new FileReader();
      reader.onload = function () {
        field.value = String(reader.result);
        look();
      };
      if (file.files.length) reader.readAsText(file.files[0]);
      file.value = "";
    } });
    function look() {
      P.withIndex(function (index) { tell(P.readGames(field.value).map(function (game) {
        return { game: game, left: P.whereLeft(index, game) };
      })); });
    }
    function tell(all) {
      said.textContent = all.length ? "" : P.say("no_games");
      result.replaceChildren();
      if (!all.length) return;
      var head = P.el("tr", {});
      ["game", "last_in", "then_played", "booklet_move", "where"].forEach(function (key) {
        head.append(P.el("th", { scope: "col" }, P.say(key)));
      });
      var body = P.el("tbody", {});
      all.forEach(function (one, number) { body.append(row(one.game, one.left, number + 1)); });
      result.append(P.el("div", { class: "table", tabindex: "0", role: "region", "aria-label": P.say("last_in") },
        P.el("table", {}, P.el("thead", {}, head), body)));
      if (all.length === 1 && all[0].left.last >= 0) {
        var board = new P.Board({});
        board.flip = P.data.booklet.side === "black";
        board.show({ fen: all[0].left.fen, title: P.say("last_in"), over: tree.isOver(all[0].left.fen) });
        result.append(P.el("div", { class: "left-board" }, board.node));
      }
    }
    return P.el("section", { class: "finding", "aria-labelledby": "left-title" },
      P.el("h2", { id: "left-title" }, P.say("left_where")), P.el("p", {}, P.say("left_about")),
      P.el("p", { class: "ask" }, P.el("label", { for: "left-games" }, P.say("games_here")), field),
      P.el("p", { class: "choices" }, P.el("button", { type: "button", class: "solid", click: look }, P.say("look")), " ",
        P.el("label", { for: "left-file", class: "plain" }, P.say("games_file")), file),
      said, result);
  };

  function row(game, left, number) {
    var tags = game.tags, name = tags.White && tags.White !== "?" ? tags.White + " \u2013 " + (tags.Black || "?") : P.say("game") + " " + number;
    var cells = [P.el("th", { scope: "row" }, name)];
    function cell(content, move) { cells.push(P.el("td", {}, P.el("span", { class: move ? "move" : "" }, content))); }
    if (left.last < 0) cell(P.say("never_in"));
    else if (left.reached) cell(labelled(left.reached.fen, left.reached.san), true);
    else cell(P.say(/^rnbqkbnr\/pppppppp\/8\/8/.test(left.fen) ? "start_position" : "given_position"));
    if (left.bad && !left.played) cell(P.say("bad_move", { move: left.bad.word, after: left.bad.after }));
    else if (left.played) cell(labelled(left.fen, left.played), true); else cell(left.last < 0 ? "\u2013" : P.say("to_its_end"));
    if (left.next.length) cell(left.next.slice(0, 4).map(function (node) { return tree.label(node); }).join(", "), true);
    else cell(left.last < 0 ? "\u2013" : P.say("no_more"));
    var there = left.next[0] || left.node;
    cells.push(P.el("td", {}, there ? P.el("a", { href: there.page + "#" + there.anchor }, P.say("chapter") + " "
      + there.chapter.number + ", " + there.chapter.title
      + (there.printed ? ", " + P.say("page") + "\u00a0" + there.printed : "")) : "\u2013"));
    var node = P.el("tr", {});
    cells.forEach(function (one) { node.append(one); });
    return node;
  }
})(Plyleaf);
