/* A board drawn as the builder draws it, from the page's own sheet of pieces; it can also be
   played on by dragging, or by touching a piece and then a square. */
"use strict";
(function (P) {
  var VIEW = "-62 -16 924 890", UNIT = 100;
  var count = 0;

  /* options: label, moved(from, to) if it can be played on, touched(square) if squares can be. */
  P.Board = function (options) {
    var self = this;
    this.ident = "live-" + ++count;
    this.flip = false;
    this.options = options;
    this.under = P.svg("g", { class: "pb-under" });
    this.men = P.svg("g", { class: "pb-men" });
    this.over = P.svg("g", { class: "pb-over" });
    this.title = P.svg("title", { id: this.ident + "-t" });
    this.desc = P.svg("desc", { id: this.ident + "-d" });
    this.coordinates = P.svg("use", { href: "#pb-coordinates" });
    this.mover = P.svg("use", {});
    this.node = P.svg("svg", { class: "board live", id: this.ident, viewBox: VIEW, role: "img",
      "aria-labelledby": this.ident + "-t", "aria-describedby": this.ident + "-d" },
      this.title, this.desc, P.svg("use", { href: "#pb-ground" }), this.coordinates, this.mover,
      this.under, this.men, this.over);
    if (options && (options.moved || options.touched)) {
      this.node.classList.add("playable");
      this.node.addEventListener("pointerdown", function (event) { self._down(event); });
      this.node.addEventListener("pointermove", function (event) { self._move(event); });
      this.node.addEventListener("pointerup", function (event) { self._up(event); });
      this.node.addEventListener("pointercancel", function () { self._drop(); });
    }
  };

  /* view: {fen, last: uci or "", over: nobody is to move, title, pointed: squares, signs: {square:
     letter}, marks: a diagram's, as SVG text or as nodes}. */
  P.Board.prototype.show = function (view) {
    var fields = view.fen.split(" ");
    this.view = view;
    this.placement = P.squares(fields[0]);
    this.coordinates.setAttribute("href", this.flip ? "#pb-flipped" : "#pb-coordinates");
    this.mover.setAttribute("href", "#pb-mover-" + fields[1]);
    this.mover.setAttribute("x", 8 * UNIT);
    this.mover.setAttribute("y", (fields[1] === "w") !== this.flip ? 7 * UNIT : 0);
    this.mover.style.display = view.over ? "none" : "";
    this.chosen = null;
    this._pieces();
    this._signs();
    this.title.textContent = view.title || "";
    this.desc.textContent = P.describe(view.fen, view.over);
  };
  P.Board.prototype.turn = function (flip) {
    this.flip = flip;
    if (this.view) this.show(this.view);
  };
  /* Where a square (0 = a1 … 63 = h8) is drawn. */
  P.Board.prototype.corner = function (square) {
    var column = square % 8, row = 7 - (square >> 3);
    return this.flip ? [(7 - column) * UNIT, (7 - row) * UNIT] : [column * UNIT, row * UNIT];
  };

  P.Board.prototype._pieces = function () {
    var self = this;
    this.men.replaceChildren();
    Object.keys(this.placement).forEach(function (square) {
      var letter = self.placement[square], at = self.corner(+square);
      self.men.append(P.svg("use", { "data-square": square, x: at[0], y: at[1],
        href: "#pb-" + (letter < "a" ? "w" : "b") + letter.toLowerCase() }));
    });
  };
  /* The last move, the chosen square, pointed-out squares and the diagram's marks. */
  P.Board.prototype._signs = function () {
    var self = this;
    this.under.replaceChildren();
    this.over.replaceChildren();
    if (this.view.last && this.view.last !== "0000") {
      [this.view.last.slice(0, 2), this.view.last.slice(2, 4)].forEach(function (name) {
        self.under.append(self._square(P.square(name), "last-square"));
      });
    }
    (this.view.pointed || []).forEach(function (square) {
      self.over.append(self._square(square, "pointed-square"));
    });
    Object.keys(this.view.signs || {}).forEach(function (square) {
      var at = self.corner(+square);
      self.over.append(P.svg("text", { class: "wild", x: at[0] + UNIT / 2, y: at[1] + 70, "text-anchor": "middle",
        "font-size": "62" }, self.view.signs[square] === "-" ? "\u2212" : self.view.signs[square]));
    });
    if (this.chosen !== null) this.under.append(this._square(this.chosen, "chosen-square"));
    var marks = this.view.marks || [];
    if (typeof marks === "string") {
      var text = '<svg xmlns="http://www.w3.org/2000/svg">' + marks + "</svg>";
      var read = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
      marks = read.localName === "svg" ? Array.from(read.childNodes) : [];
    }
    marks.forEach(function (node) { self.over.append(document.importNode(node, true)); });
  };
  P.Board.prototype._square = function (square, style) {
    var at = this.corner(square);
    return P.svg("rect", { class: style, x: at[0] + 3, y: at[1] + 3, width: UNIT - 6, height: UNIT - 6 });
  };

  /* --- the reader's hand ----------------------------------------------------------------------- */
  P.Board.prototype._at = function (event) {
    var box = this.node.getScreenCTM();
    if (!box) return null;
    var x = (event.clientX - box.e) / box.a, y = (event.clientY - box.f) / box.d;
    var column = Math.floor(x / UNIT), row = Math.floor(y / UNIT);
    if (column < 0 || column > 7 || row < 0 || row > 7) return null;
    return { x: x, y: y, square: this.flip ? row * 8 + 7 - column : (7 - row) * 8 + column };
  };
  P.Board.prototype._down = function (event) {
    var at = this._at(event);
    if (!at || event.button > 0) return;
    if (this.options.touched) {
      event.preventDefault();
      return this.options.touched(at.square);
    }
    if (this.locked) return;
    event.preventDefault();
    if (this.chosen !== null && this.chosen !== at.square && !this._mine(at.square)) {
      return this._played(this.chosen, at.square);
    }
    var again = this.chosen === at.square;
    this.chosen = null;
    if (this._mine(at.square)) {
      this.chosen = at.square;
      var man = this.men.querySelector('[data-square="' + at.square + '"]');
      this.drag = { man: man, from: at.square, again: again, x: event.clientX, y: event.clientY, far: false };
      this.men.append(man);
      try { this.node.setPointerCapture(event.pointerId); } catch (error) { /* gone already */ }
    }
    this._signs();
  };
  P.Board.prototype._mine = function (square) {
    var letter = this.placement[square];
    return !!letter && (letter < "a") === (this.view.fen.split(" ")[1] === "w");
  };
  P.Board.prototype._move = function (event) {
    var drag = this.drag, at = drag && this._at(event);
    if (!drag) return;
    if (Math.hypot(event.clientX - drag.x, event.clientY - drag.y) > 6) drag.far = true;
    if (!drag.far || !at) return;
    drag.man.setAttribute("x", at.x - UNIT / 2);
    drag.man.setAttribute("y", at.y - UNIT / 2);
  };
  P.Board.prototype._up = function (event) {
    var drag = this.drag, at = drag && this._at(event);
    if (!drag) return;
    this.drag = null;
    if (drag.far) this._pieces();
    if (drag.far && at && at.square !== drag.from) return this._played(drag.from, at.square);
    if (drag.again && !drag.far) { this.chosen = null; this._signs(); }
  };
  P.Board.prototype._drop = function () {
    this.drag = null;
    this._pieces();
  };
  P.Board.prototype._played = function (from, to) {
    this.chosen = null;
    this._signs();
    this.options.moved(P.squareName(from), P.squareName(to));
  };

  /* --- squares and words --------------------------------------------------------------------- */
  P.square = function (name) { return name.charCodeAt(0) - 97 + 8 * (name.charCodeAt(1) - 49); };
  P.squareName = function (square) { return "abcdefgh"[square % 8] + (1 + (square >> 3)); };
  /* The piece placement field as {square: letter}. */
  P.squares = function (placement) {
    var found = {};
    placement.split("/").forEach(function (rank, row) {
      var column = 0;
      rank.split("").forEach(function (sign) {
        if (sign >= "1" && sign <= "8") column += +sign;
        else found[(7 - row) * 8 + column++] = sign;
      });
    });
    return found;
  };
  /* The position in words, as under the builder's own boards. */
  P.describe = function (fen, over) {
    var words = P.data.booklet.board, fields = fen.split(" "), men = P.squares(fields[0]);
    var names = { k: "king", q: "queen", r: "rook", b: "bishop", n: "knight", p: "pawn" };
    var told = ["white", "black"].map(function (side) {
      var groups = [];
      "kqrbnp".split("").forEach(function (kind) {
        var letter = side === "white" ? kind.toUpperCase() : kind;
        var on = Object.keys(men).map(Number)
          .filter(function (square) { return men[square] === letter; })
          .map(P.squareName).sort();
        if (on.length) {
          var word = words[names[kind] + (on.length > 1 ? "s" : "")];
          groups.push(words.piece.replace("{piece}", word).replace("{squares}", on.join(" ")));
        }
      });
      return words.side.replace("{side}", words[side])
        .replace("{pieces}", groups.join(words.comma) || words.no_pieces);
    });
    if (!over) told.push(fields[1] === "w" ? words.white_to_move : words.black_to_move);
    return told.join(" ");
  };

  /* A board as a picture file's text, in ink on white. */
  P.Board.prototype.file = function () {
    var copy = this.node.cloneNode(true), sheet = document.querySelector(".board-symbols defs");
    copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
    copy.setAttribute("width", 924);
    copy.setAttribute("height", 890);
    copy.querySelectorAll("rect").forEach(function (one) {
      one.setAttribute("fill", "none");
      one.setAttribute("stroke", "#1a1714");
      one.setAttribute("stroke-width", "3");
    });
    copy.prepend(sheet.cloneNode(true));
    return new XMLSerializer().serializeToString(copy);
  };
})(Plyleaf);
