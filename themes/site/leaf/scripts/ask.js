/* A board that asks for a move: by dragging, by touching two squares, or in writing. */
"use strict";
(function (P) {
  var tree = P.tree;

  /* A legal move written in SAN or long notation, in the standard's letters or the booklet's, with
     or without its number; null for anything else. */
  P.readMove = function (fen, text) {
    var word = text.trim().replace(/^\d+\s*\.*\s*/, "").replace(/[!?]+$/, "").replace(/\u2013|\u2014/g, "-");
    "\u2654\u2655\u2656\u2657\u2658".split("").forEach(function (figure, index) {
      word = word.split(figure).join("KQRBN"[index]).split(String.fromCharCode(figure.charCodeAt(0) + 6)).join("KQRBN"[index]);
    });
    if (/^[0o]-[0o]/i.test(word)) word = word.replace(/[0o]/gi, "O");
    var own = P.rewrite(word, true), tries = [own, word];
    if (P.figurines()) tries.reverse();
    tries.push(word.charAt(0).toUpperCase() + word.slice(1));
    tries.push(P.rewrite(word.charAt(0).toUpperCase() + word.slice(1), true));
    for (var i = 0; i < tries.length; i++) {
      if (!tries[i] || tries[i] === "--") continue;
      var chess = new Chess(fen, { skipValidation: true });
      try {
        var move = chess.move(tries[i], { strict: false });
        return { san: move.san, uci: move.lan, fen: chess.fen() };
      } catch (error) { /* not this way */ }
    }
    return null;
  };
  function made(fen, from, to, promotion) {
    var chess = new Chess(fen, { skipValidation: true });
    try {
      var move = chess.move({ from: from, to: to, promotion: promotion });
      return { san: move.san, uci: move.lan, fen: chess.fen() };
    } catch (error) { return null; }
  }

  /* options: answer(move) for a legal move; help(), which may be absent. */
  P.Ask = function (options) {
    var self = this;
    this.options = options;
    this.board = new P.Board({ moved: function (from, to) { self._moved(from, to); } });
    this.field = P.el("input", { class: "field", type: "text", autocomplete: "off", autocapitalize: "off",
      spellcheck: "false", size: "8", "aria-label": P.say("your_move"), placeholder: P.say("your_move"),
      keydown: function (event) { if (event.key === "Enter") { event.preventDefault(); self._written(); } } });
    this.button = P.el("button", { type: "button", class: "solid", click: function () { self._written(); } }, P.say("answer"));
    this.help = P.el("button", { type: "button", class: "plain", click: function () { options.help(); } }, P.say("help"));
    this.help.hidden = !options.help;
    this.again = P.el("button", { type: "button", class: "plain", click: function () { options.again(); } }, P.say("again"));
    this.again.hidden = true;
    this.promotion = P.el("p", { class: "promotion", hidden: true });
    this.said = P.el("p", { class: "said", role: "status" });
    this.controls = P.el("div", { class: "try" }, this.said, this.promotion,
      P.el("p", { class: "try-controls" }, this.field, " ", this.button, " ", this.help, " ", this.again));
  };
  P.Ask.prototype.show = function (fen, last, pointed) {
    this.fen = fen;
    this.promotion.hidden = true;
    this.board.locked = false;
    this.board.show({ fen: fen, last: last || "", pointed: pointed, over: tree.isOver(fen),
      title: fen.split(" ")[1] === "w" ? P.say("white_to_move") : P.say("black_to_move") });
  };
  /* Shows a position that isn't asked about. */
  P.Ask.prototype.rest = function (fen, last) {
    this.show(fen, last);
    this.board.locked = true;
    this.fen = null;
  };
  P.Ask.prototype.say = function (parts, kind) {
    this.said.className = "said" + (kind ? " is-" + kind : "");
    this.said.replaceChildren.apply(this.said, parts);
  };
  P.Ask.prototype._moved = function (from, to) {
    if (!this.fen) return;
    var self = this, move = made(this.fen, from, to), queen = move ? null : made(this.fen, from, to, "q");
    if (!queen) return move && this.options.answer(move);
    this.promotion.replaceChildren(P.say("promote") + " ");
    "qrbn".split("").forEach(function (piece) {
      self.promotion.append(P.el("button", { type: "button", class: "solid move", click: function () {
        self.promotion.hidden = true;
        self.options.answer(made(self.fen, from, to, piece));
      } }, P.san(piece.toUpperCase())), " ");
    });
    this.promotion.hidden = false;
    this.promotion.querySelector("button").focus();
  };
  P.Ask.prototype._written = function () {
    var text = this.field.value;
    if (!text.trim() || !this.fen) return;
    var move = P.readMove(this.fen, text);
    if (!move) return this.say([P.say("not_a_move", { move: text.trim() })], "wrong");
    this.field.value = "";
    this.options.answer(move);
  };

  /* A move among words. */
  P.moveNode = function (text) { return P.el("span", { class: "move" }, text); };
  P.labelled = function (fen, san) {
    var fields = fen.split(" ");
    return P.moveNode(fields[5] + (fields[1] === "w" ? "." : "...") + P.san(san));
  };
})(Plyleaf);
