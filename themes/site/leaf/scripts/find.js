/* One search: words, moves in any notation, positions, opening codes and names of positions. */
"use strict";
(function (P) {
  var tree = P.tree, MOST = 40;

  P.startFinding = function () {
    var host = document.getElementById("find");
    host.append(searchPart(), P.leftPart());
    var asked = new URLSearchParams(location.hash.slice(1)).get("q");
    if (asked) {
      document.getElementById("find-words").value = asked;
      look(asked);
    }
  };

  function searchPart() {
    var field = P.el("input", { type: "search", class: "field wide", id: "find-words", autocomplete: "off", spellcheck: "false",
      focus: function () { withAll(function () { /* there when the question is written */ }); },
      keydown: function (event) { if (event.key === "Enter") { event.preventDefault(); ask(); } } });
    var changed = P.el("input", { type: "checkbox", id: "find-changed", change: ask });
    function ask() {
      try { history.replaceState(null, "", field.value.trim() ? "#q=" + encodeURIComponent(field.value.trim()) : location.pathname.split("/").pop()); }
      catch (error) { /* the address stays */ }
      look(field.value);
    }
    return P.el("section", { class: "finding", "aria-label": P.say("find") },
      P.el("p", { class: "ask" }, P.el("label", { for: "find-words" }, P.say("search_for")), field, " ",
        P.el("button", { type: "button", class: "solid", click: ask }, P.say("find"))),
      P.el("p", {}, P.el("label", {}, changed, " ", P.say("colours_changed"))),
      editor(field, ask),
      P.el("p", { class: "found-count", role: "status", id: "found-count" }),
      P.el("ol", { class: "results", id: "found" }));
  }

  function look(text) {
    var changed = document.getElementById("find-changed").checked;
    if (!text.trim()) return tell([]);
    withAll(function (index) { tell(P.find(index, text, changed)); });
  }
  function withAll(then) {
    P.withIndex(function (index) {
      P.load("assets/text.js", function () { then(index); });
    });
  }
  function tell(found, problem) {
    var list = document.getElementById("found"), shown = found.slice(0, MOST);
    list.replaceChildren();
    shown.forEach(function (one) {
      list.append(P.el("li", {}, P.el("a", { href: one.href, class: one.moves ? "move" : "" }, one.title), " ",
        P.el("span", { class: "found-in" }, one.place), one.words ? P.el("span", { class: "found-words" }, one.words()) : null));
    });
    document.getElementById("found-count").textContent = !found.length
      ? (document.getElementById("find-words").value.trim() ? P.say("nothing_found") : "")
      : P.say(found.length > shown.length ? "first_shown" : "found", { count: found.length, shown: shown.length });
  }

  /* What a question finds: [{href, title, place, words, moves, anchor}]; `words` makes the excerpt,
     which is wanted only of what is shown. */
  P.find = function (index, text, changed) {
    var asked = text.trim(), pattern = P.pattern(asked);
    if (pattern) return positions(index, pattern, changed);
    var found = moves(index, asked);
    if (/^[A-E]\d\d$/i.test(asked)) found = found.concat(codes(asked.toUpperCase()));
    return found.concat(names(asked), openings(asked), words(asked));
  };

  /* --- moves --------------------------------------------------------------------------------------- */

  var TOKEN = /^([A-Z])?([a-h])?([1-8])?[x:\u00d7-]?([a-h])([1-8])(?:=?\(?([A-Z])\)?)?(?:e\.?p\.?)?[+#\u2020\u2021!?]*$/;

  /* The written moves with their numbers, or null where something else is written. */
  P.moveWords = function (text) {
    var spaced = text.replace(/(\d+)\s*(\.{1,3}|\u2026)\s*/g, " $1$2 ").replace(/[{}();,]/g, " ");
    var found = [], number = null;
    var fine = spaced.split(/\s+/).filter(Boolean).every(function (word) {
      var told = /^(\d+)(\.+|\u2026)$/.exec(word);
      if (told) {
        number = { number: +told[1], white: told[2] === "." };
        return true;
      }
      word = plainFigures(word);
      if (!/^[0Oo]-[0Oo](-[0Oo])?[+#!?]*$/.test(word) && !TOKEN.test(word)) return false;
      found.push({ word: word, number: number });
      number = null;
      return true;
    });
    return fine && found.length ? found : null;
  };
  function plainFigures(word) {
    return word.replace(/[\u2654-\u2658\u265a-\u265e]/g, function (sign) {
      return "KQRBN"[(sign.charCodeAt(0) - 0x2654) % 6];
    });
  }
  /* What a word asks of a move, its letters read as `letters` (in the order K Q R B N). */
  function wanted(word, letters) {
    if (/^[0Oo]-/.test(word)) return { castle: word.replace(/[^0Oo]/g, "").length };
    var part = TOKEN.exec(word), piece = part[1] ? letters.indexOf(part[1]) : -2;
    var promoted = part[6] ? letters.indexOf(part[6]) : -2;
    if (piece === -1 || promoted === -1) return null;
    return { piece: piece < 0 ? "" : "KQRBN"[piece], file: part[2], rank: part[3], to: part[4] + part[5],
      promoted: promoted < 0 ? "" : "qrbn"["QRBN".indexOf("KQRBN"[promoted])] };
  }
  function fits(node, want) {
    if (want.castle) return node.san.replace(/[^O]/g, "").length === want.castle;
    if (node.san[0] === "O" || node.san === "--") return false;
    var piece = /^[KQRBN]/.test(node.san) ? node.san[0] : "";
    var anyPiece = want.file && want.rank && !want.piece;  /* `d4xc6` tells square and square */
    if ((piece !== want.piece && !anyPiece) || node.uci.slice(2, 4) !== want.to) return false;
    if (want.rank && node.uci[1] !== want.rank) return false;
    if (want.promoted && node.uci[4] !== want.promoted) return false;
    return node.uci[0] === (want.file || (piece ? node.uci[0] : want.to[0]));
  }

  function moves(index, text) {
    var told = P.moveWords(text), seen = {}, found = [], read = {};
    if (!told) return [];
    var number = told[0].number, opens = !!number && number.number === 1 && number.white;
    P.data.booklet.alphabets.forEach(function (letters) {
      var wants = told.map(function (one) { return wanted(one.word, letters); });
      var same = JSON.stringify(wants);  /* what several alphabets read alike is looked for once */
      if (read[same] || wants.some(function (want) { return !want; })) return;
      read[same] = true;
      var end = null;
      index.nodes.forEach(function (node) {
        if (!reaches(node, wants, told)) return;
        if (opens && tree.path(node)[0].given === tree.START) end = node.key;
        add(node, wants.length);
      });
      /* A game's first moves are found by other ways to the same position too. */
      if (opens) at(index, end || played(wants)).forEach(function (node) { add(node, 8); });
    });
    return found;

    function add(node, many) {
      if (!seen[node.anchor]) found.push(result(node, many));
      seen[node.anchor] = true;
    }
  }
  function at(index, key) { return index.at[key] ? index.at[key].nodes : []; }
  function reaches(node, wants, told) {
    for (var at = wants.length - 1; at >= 0; at--) {
      if (!node.parent || !fits(node, wants[at])) return false;
      var number = told[at].number;
      if (number && (tree.number(node) !== number.number || tree.byWhite(node) !== number.white)) return false;
      node = node.parent;
    }
    return true;
  }
  /* The key of the position that the moves reach from the start of a game, or "". */
  function played(wants) {
    var chess = new Chess();
    var fine = wants.every(function (want) {
      var move = chess.moves(among(want)).find(function (one) { return fits({ san: one.san, uci: one.lan }, want); });
      if (move) tree.play(chess, move.lan);
      return move;
    });
    return fine ? tree.key(chess.fen()) : "";
  }
  /* The moves that come into question: working out all of them takes long. */
  function among(want) {
    if (want.file && want.rank) return { verbose: true, square: want.file + want.rank };
    return { verbose: true, piece: want.castle ? "k" : (want.piece || "p").toLowerCase() };
  }
  function result(node, many) {
    var path = tree.path(node).slice(1), first = Math.max(0, path.length - Math.max(many, 4));
    return { href: node.page + "#" + node.anchor, anchor: node.anchor, moves: true,
      title: (first ? "\u2026 " : "") + tree.text(path.slice(first)), place: place(node.chapter) };
  }
  function place(chapter) { return P.say("chapter") + " " + chapter.number + ", " + chapter.title; }

  /* --- positions ----------------------------------------------------------------------------------- */

  /* What is asked of each square, from a FEN (whose empty squares are empty, and in which ? + and -
     stand for any piece, any white one, any black one) or from pieces with squares, as in
     `Ke1 ?d5`. Null where neither is written. */
  P.pattern = function (text) {
    var fen = /^([pnbrqkPNBRQK1-8?+\-]+(?:\/[pnbrqkPNBRQK1-8?+\-]+){7})(?:\s+([wb])(?:\s+(K?Q?k?q?|-)(?:\s+(-|[a-h][36]))?)?)?(?:\s|$)/.exec(text);
    var squares = {};
    if (fen) {
      var men = P.squares(fen[1]);
      if (fen[1].split("/").some(function (rank) { return spread(rank).length !== 8; })) return null;
      for (var square = 0; square < 64; square++) squares[square] = men[square] || "0";
      var key = /[?+-]/.test(fen[1]) || !fen[4] ? null : legalKey(text, fen);
      return { squares: squares, turn: fen[2] || "", key: key, placement: /[?+-]/.test(fen[1]) ? "" : fen[1] };
    }
    var words = text.trim().split(/[\s,]+/), placed = /^([KQRBNPkqrbnp?+\-0])([a-h][1-8])$/;
    /* `Nf3` alone is a move as well: pieces on squares are meant when a sign or a black piece says so,
       or where they are asked for by `[` in front, as the board of this page does. */
    if (text[0] !== "[") return null;
    words = text.replace(/[[\]]/g, " ").trim().split(/[\s,]+/).filter(Boolean);
    if (!words.length || !words.every(function (word) { return placed.test(word); })) return null;
    words.forEach(function (word) { squares[P.square(word.slice(1))] = word[0]; });
    return { squares: squares, turn: "", key: null };
  };
  function legalKey(text, fen) {
    try {
      return tree.key(new Chess(fen.slice(1, 5).join(" ") + " 0 1", { skipValidation: true }).fen());
    } catch (error) { return null; }
  }
  function mirrored(pattern) {
    var squares = {};
    Object.keys(pattern.squares).forEach(function (square) {
      var sign = pattern.squares[square];
      var swapped = { "+": "-", "-": "+" }[sign] || (sign < "a" ? sign.toLowerCase() : sign.toUpperCase());
      squares[square ^ 56] = swapped;
    });
    return { squares: squares, turn: { w: "b", b: "w" }[pattern.turn] || "", key: null };
  }
  /* Whether what is asked of the squares is so; `ranks` are those of the FEN, the eighth first. */
  function stands(ranks, squares) {
    return Object.keys(squares).every(function (square) {
      var sign = squares[square], man = spread(ranks[7 - (square >> 3)])[square & 7];
      if (sign === "?") return man !== "0";
      if (sign === "+") return man !== "0" && man < "a";
      if (sign === "-") return man >= "a";
      return man === sign;
    });
  }
  /* A FEN's rank with a sign for each square, "0" for an empty one. Booklets have few different ones. */
  var spreads = Object.create(null);
  function spread(rank) {
    return spreads[rank] = spreads[rank] || rank.replace(/\d/g, function (count) { return "0".repeat(+count); });
  }
  function positions(index, pattern, changed) {
    var exact = [], others = [], patterns = changed ? [pattern, mirrored(pattern)] : [pattern];
    var only = !changed && pattern.placement ? pattern.placement + " " : "";
    Object.keys(index.at).forEach(function (key) {
      if (only && key.lastIndexOf(only, 0)) return;
      var fields = key.split(" "), ranks = fields[0].split("/");
      if (!patterns.some(function (one) { return stands(ranks, one.squares); })) return;
      var shown = here(index.at[key]);
      if (!shown) return;
      (pattern.key === key || patterns.some(function (one) { return !pattern.key && one.turn === fields[1]; }) ? exact : others).push(shown);
    });
    return exact.concat(others);
  }
  function here(at) {
    if (at.nodes.length) return result(at.nodes[0], 6);
    var first = at.start && at.start.children[0];
    if (!first) return null;
    return { href: first.page + "#" + first.line + ".0", anchor: first.line + ".0", place: place(first.chapter),
      title: P.say(/^rnbqkbnr\/pppppppp\/8\/8/.test(at.start.fen) ? "start_position" : "given_position") };
  }

  /* --- codes, names, words --------------------------------------------------------------------------- */

  function codes(code) {
    return opened(function (chapter) { return chapter.eco.toUpperCase().indexOf(code) >= 0; });
  }
  function openings(text) {
    var asked = bare(text).split(/[\s,]+/).filter(Boolean);
    return opened(function (chapter) {
      var name = bare(chapter.opening);
      return name && asked.length && asked.every(function (word) { return name.indexOf(word) >= 0; });
    });
  }
  function opened(fits) {
    return P.data.booklet.chapters.filter(fits).map(function (chapter) {
      return { href: chapter.page, title: chapter.title, place: (chapter.eco + " " + chapter.opening).trim() };
    });
  }
  function bare(text) {
    return text.normalize("NFD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
  }
  function names(text) {
    var asked = bare(text).replace(/^@/, "").replace(/\s+/g, "-");
    return P.data.text.names.filter(function (one) { return bare(one[0]).indexOf(asked) >= 0; })
      .map(function (one) { return { href: one[1], title: "@" + one[0], place: one[2] }; });
  }
  function words(text) {
    var asked = bare(text).split(/\s+/).filter(Boolean);
    return P.data.text.entries.filter(function (entry) {
      var said = entry[3] = entry[3] || bare(entry[2]);
      return asked.every(function (word) { return said.indexOf(word) >= 0; });
    }).map(function (entry) {
      var chapter = P.data.booklet.chapters[entry[0]];
      return { href: entry[1], title: place(chapter), place: "",
        words: function () { return excerpt(entry[2], asked); } };
    });
  }
  /* The words around the first hit, the hits in it marked. */
  function excerpt(text, asked) {
    var low = bare(text), same = low.length === text.length;
    var first = Math.max(0, Math.min.apply(null, asked.map(function (word) { return low.indexOf(word); })) - 60);
    if (first) first = text.indexOf(" ", first) + 1;
    var cut = text.slice(first, first + 200), node = P.el("span", {}, first ? "\u2026 " : "");
    if (!same) return node.append(cut), node;
    var spots = new RegExp("(" + asked.map(function (word) { return word.replace(/[^\p{L}\p{N}]/gu, "\\$&"); }).join("|") + ")", "gi");
    cut.split(spots).forEach(function (part, index) { node.append(index % 2 ? P.el("mark", {}, part) : part); });
    if (first + 200 < text.length) node.append(" \u2026");
    return node;
  }

  /* --- pieces set on a board --------------------------------------------------------------------------- */

  function editor(field, ask) {
    var squares = {}, sign = "N";
    var board = new P.Board({ touched: function (square) {
      if (sign === "" || squares[square] === sign) delete squares[square]; else squares[square] = sign;
      draw();
      written.value = text();
      put();
    } });
    var written = P.el("input", { class: "field wide", id: "find-pieces", autocomplete: "off", spellcheck: "false",
      input: function () {
        var pattern = P.pattern("[" + written.value + "]");
        if (!pattern && written.value.trim()) return;
        squares = pattern ? pattern.squares : {};
        draw();
        put();
      } });
    function text() {
      return Object.keys(squares).map(function (square) { return squares[square] + P.squareName(+square); }).join(" ");
    }
    function put() { field.value = text() ? "[" + text() + "]" : ""; }
    function draw() {
      var rows = [];
      for (var row = 7; row >= 0; row--) {
        var rank = "";
        for (var column = 0; column < 8; column++) {
          var man = squares[row * 8 + column];
          rank += man && /[a-z]/i.test(man) ? man : "1";
        }
        rows.push(rank);
      }
      var signs = {};
      Object.keys(squares).forEach(function (square) { if (!/[a-z]/i.test(squares[square])) signs[square] = squares[square]; });
      board.show({ fen: rows.join("/") + " w - - 0 1", over: true, title: P.say("set_pieces"), signs: signs });
    }
    var palette = P.el("fieldset", { class: "palette" }, P.el("legend", {}, P.say("signs")));
    var named = { "?": "any_piece", "+": "any_white", "-": "any_black", "0": "empty_square", "": "rub_out" };
    "KQRBNPkqrbnp".split("").concat(["?", "+", "-", "0", ""]).forEach(function (one) {
      var input = P.el("input", { type: "radio", name: "find-sign", value: one, class: "unseen", change: function () { sign = one; } });
      input.checked = one === sign;
      var piece = one && /[a-z]/i.test(one);
      var name = piece ? P.data.booklet.board[one < "a" ? "white" : "black"] + ": " + P.data.booklet.board[
        { k: "king", q: "queen", r: "rook", b: "bishop", n: "knight", p: "pawn" }[one.toLowerCase()]] : P.say(named[one]);
      palette.append(P.el("label", { title: name, class: "sign" }, input, P.el("span", { class: "unseen" }, name), piece
        ? P.svg("svg", { class: "board", viewBox: "0 0 100 100", "aria-hidden": "true" },
          P.svg("use", { href: "#pb-" + (one < "a" ? "w" : "b") + one.toLowerCase() }))
        : P.el("span", { class: "letter", "aria-hidden": "true" }, one || "\u2715")));
    });
    draw();
    return P.el("details", { class: "setting" }, P.el("summary", {}, P.say("set_pieces")),
      P.el("p", {}, P.say("set_about")),
      P.el("div", { class: "asked" }, P.el("div", { class: "asked-board" }, board.node),
        P.el("div", { class: "asked-words" }, palette,
          P.el("p", { class: "ask" }, P.el("label", { for: "find-pieces" }, P.say("pieces_written")), written),
          P.el("p", {}, P.el("button", { type: "button", class: "solid", click: function () { put(); ask(); } }, P.say("find")), " ",
            P.el("button", { type: "button", class: "plain", click: function () {
              squares = {};
              written.value = "";
              draw();
              put();
            } }, P.say("clear"))))));
  }
})(Plyleaf);
