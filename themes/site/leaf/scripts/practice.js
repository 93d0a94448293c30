/* The page of practice: exercises that are due, a drill of the lines, and the reader's record. */
"use strict";
(function (P) {
  var tree = P.tree;

  P.startPractice = function () {
    var host = document.getElementById("practice");
    if (!P.keep.works()) host.append(P.el("p", { class: "warning", role: "status" }, P.say("not_kept")));
    var holders = { exercises: section("exercises", "exercises"), drill: section("drill", "drill"), record: section("record", "your_record") };
    Object.keys(holders).forEach(function (name) { host.append(holders[name]); });
    var filled = P.data.booklet.chapters.filter(function (one) { return one.exercises; });
    P.loadAll(filled.map(function (one) { return "assets/moves/" + one.slug + ".js"; }), function () {
      exercises(holders.exercises, filled);
    });
    drill(holders.drill);
    record(holders.record, function () { exercises(holders.exercises, filled); });
  };

  function section(name, title) {
    return P.el("section", { class: "practice-part", id: "practice-" + name, "aria-labelledby": "practice-" + name + "-title" },
      P.el("h2", { id: "practice-" + name + "-title" }, P.say(title)));
  }
  function body(part) {
    while (part.children.length > 1) part.lastElementChild.remove();
    return part;
  }

  /* --- exercises, one after another ------------------------------------------------------------ */

  function exercises(part, chapters) {
    var waiting = [];
    chapters.forEach(function (chapter) {
      P.data.moves[chapter.slug].exercises.forEach(function (exercise) {
        if (P.record.isDue(exercise.id)) waiting.push({ exercise: exercise, chapter: chapter });
      });
    });
    waiting.sort(function (a, b) { return due(a) - due(b); });
    function due(one) { var kept = P.record.get(one.exercise.id); return kept ? kept.due : Infinity; }
    next();

    function next() {
      body(part);
      if (!waiting.length) return part.append(P.el("p", {}, P.say("nothing_due")));
      var one = waiting[0], exercise = one.exercise;
      var hint = exercise.hint ? P.el("details", { class: "hint" }, P.el("summary", {}, P.say("hint")), P.el("p", {}, exercise.hint)) : null;
      var task = new P.Task(exercise, tree.add(one.chapter.slug), hint, function () { onward.textContent = P.say("next"); });
      var onward = P.el("button", { type: "button", class: "plain", click: function () {
        waiting.shift();
        next();
      } }, P.say("later"));
      part.append(P.el("p", { class: "count" }, P.say("due") + ": " + waiting.length),
        P.el("div", { class: "asked" }, P.el("div", { class: "asked-board" }, task.ask.board.node),
          P.el("div", { class: "asked-words" },
            P.el("h3", {}, P.el("a", { href: one.chapter.page + "#" + exercise.anchor },
              P.say("exercise") + "\u00a0" + exercise.number)),
            P.el("p", {}, exercise.task), hint, task.node, P.el("p", {}, onward))));
    }
  }

  /* --- lines ------------------------------------------------------------------------------------- */

  function drill(part) {
    var chosen = P.el("select", { class: "field", id: "drill-chapter" }, P.el("option", { value: "" }, P.say("whole_booklet")));
    P.data.booklet.chapters.forEach(function (chapter) {
      chosen.append(P.el("option", { value: chapter.slug }, chapter.number + ". " + chapter.title));
    });
    var side = P.el("select", { class: "field", id: "drill-side" },
      P.el("option", { value: "w" }, P.data.booklet.board.white), P.el("option", { value: "b" }, P.data.booklet.board.black));
    side.value = P.data.booklet.side === "black" ? "b" : "w";
    chosen.addEventListener("change", function () {
      var chapter = P.data.booklet.chapters.find(function (one) { return one.slug === chosen.value; });
      var of = chapter ? chapter.side : P.data.booklet.side;
      if (of !== "both") side.value = of === "black" ? "b" : "w";
    });
    var place = P.el("div", { class: "asked" });
    part.append(P.el("p", {}, P.say("drill_about")),
      P.el("p", { class: "choices" },
        P.el("label", { for: "drill-chapter" }, P.say("chapter")), " ", chosen, " ",
        P.el("label", { for: "drill-side" }, P.say("play_side")), " ", side, " ",
        P.el("button", { type: "button", class: "solid", click: function () {
          P.withIndex(function (index) { new P.Drill(index, chosen.value, side.value, place); });
        } }, P.say("begin"))), place);
  }

  /* A run through the lines of a chapter ("" for all) by one side, "w" or "b". */
  P.Drill = function (index, slug, side, place) {
    var self = this;
    this.side = side;
    this.next = moves(slug ? index.chapters[slug] : index.nodes);
    this.counted = { right: 0, wrong: 0 };
    this.ask = new P.Ask({ answer: function (move) { self.answered(move); }, help: function () { self.help(); },
      again: function () { new P.Drill(index, slug, side, place); } });
    this.ask.board.flip = side === "b";
    place.replaceChildren();
    var start = this._start();
    if (!start) return place.append(P.el("p", {}, P.say("nothing_to_drill")));
    this.link = P.el("p", {});
    place.append(P.el("div", { class: "asked-board" }, this.ask.board.node),
      P.el("div", { class: "asked-words" }, this.ask.controls, this.link));
    this.at = start;
    this.tried = false;
    this.last = "";
    this._turn("");
    this.ask.field.focus({ preventScroll: true });
  };

  /* The moves from each position, by key, as far as these nodes have them. */
  function moves(nodes) {
    var next = Object.create(null);
    nodes.forEach(function (node) {
      if (node.game) return;
      var here = next[node.parent.key] = next[node.parent.key] || [];
      if (!here.some(function (one) { return one.uci === node.uci; })) here.push(node);
    });
    return next;
  }
  P.Drill.prototype._start = function () {
    var next = this.next, side = this.side, starts = {};
    Object.keys(next).forEach(function (key) {
      next[key].forEach(function (node) { if (!node.parent.parent) starts[key] = node.parent; });
    });
    var found = Object.keys(starts).map(function (key) { return starts[key]; });
    return found.find(function (one) { return one.given.indexOf("rnbqkbnr/pppppppp/8/8") === 0; }) || found.find(function (one) {
      return one.fen.split(" ")[1] === side; }) || found[0];
  };
  P.Drill.prototype._moves = function () { return this.next[this.at.key] || []; };
  P.Drill.prototype._good = function () {
    var good = this._moves().filter(P.isGood);
    return good.length ? good : this._moves();
  };
  /* Goes on until the reader is to move, or the line ends. */
  P.Drill.prototype._turn = function (said) {
    var fen = tree.fen(this.at), parts = said ? [].concat(said, " ") : [];
    if (!this._moves().length) {
      this.ask.rest(fen, this.at.uci);
      this.ask.again.hidden = false;
      this.ask.help.hidden = true;
      return this.ask.say(parts.concat(P.say("drill_over", this.counted)));
    }
    if (fen.split(" ")[1] !== this.side) {
      this.at = this._reply();
      return this._turn(parts.concat(P.sayMoves("answered", { move: P.moveNode(tree.label(this.at)) })));
    }
    this.tried = false;
    this.link.replaceChildren();
    this.ask.show(fen, this.at.uci);
    this.ask.say(parts.length ? parts : [P.say("answer_here")], said ? "right" : "");
  };
  /* Of the other side's moves one by chance, the likelier the further it lags behind its share: the
     games of the booklet that play it there, and one more, so that each comes in the end. */
  P.Drill.prototype._reply = function () {
    var replies = this._moves(), sum = function (list) { return list.reduce(function (a, b) { return a + b; }, 0); };
    var games = replies.map(function (node) { return node.played + 1; }), times = replies.map(met);
    var asked = (sum(times) + replies.length) / sum(games);
    var lags = games.map(function (count, at) { return Math.max(0, count * asked - times[at]); });
    var left = Math.random() * sum(lags);
    var at = lags.findIndex(function (lag) { return (left -= lag) < 0; });
    var chosen = replies[at < 0 ? lags.indexOf(Math.max.apply(null, lags)) : at];
    answers[chosen.key] = (answers[chosen.key] || 0) + 1;
    return chosen;
  };
  /* How often the reader met a reply: as the record has it, or on this page, where none was kept. */
  var answers = Object.create(null);
  function met(node) {
    var kept = P.record.get("move:" + node.key);
    return Math.max(answers[node.key] || 0, kept ? kept.right + kept.wrong : 0);
  }
  P.Drill.prototype._note = function (right) {
    if (this.tried) return;
    this.tried = true;
    this.counted[right ? "right" : "wrong"]++;
    P.record.note("move:" + this.at.key, right);
  };
  P.Drill.prototype.answered = function (move) {
    var label = P.labelled(tree.fen(this.at), move.san);
    var right = this._good().find(function (one) { return one.uci === move.uci; });
    var known = this._moves().find(function (one) { return one.uci === move.uci; });
    this._note(!!right);
    if (right) {
      this.at = right;
      return this._turn(P.sayMoves("right", { move: label }));
    }
    var reply = known && (this.next[known.key] || [])[0];
    this.ask.say(reply ? P.sayMoves("wrong_reply", { move: label, reply: P.moveNode(tree.label(reply)) })
      : P.sayMoves("wrong", { move: label }), "wrong");
    this.ask.show(tree.fen(this.at), this.at.uci);
  };
  P.Drill.prototype.help = function () {
    var node = this._good()[0];
    this._note(false);
    this.ask.say(P.sayMoves("expected", { move: P.moveNode(tree.label(node)) }));
    this.link.replaceChildren(P.el("a", { href: node.page + "#" + node.anchor }, P.say("read_there")));
  };

  /* --- the record ---------------------------------------------------------------------------------- */

  function record(part, changed) {
    var said = P.el("p", { role: "status" });
    var file = P.el("input", { type: "file", accept: ".json,application/json", id: "record-file", class: "unseen", change: function () {
      var reader = new FileReader();
      reader.onload = function () {
        var count = P.record.take(String(reader.result));
        said.textContent = count < 0 ? P.say("bad_file") : P.say("taken_in", { count: count });
        if (count > 0) changed();
      };
      if (file.files.length) reader.readAsText(file.files[0]);
      file.value = "";
    } });
    var sure = P.el("button", { type: "button", class: "plain", click: function () {
      P.record.forget();
      sure.hidden = true;
      said.textContent = "";
      changed();
    } }, P.say("forget_sure"));
    sure.hidden = true;
    part.append(P.el("p", { class: "choices" },
      P.el("button", { type: "button", class: "plain", click: function () {
        P.saveFile(P.data.booklet.id + "-record.json", "application/json", P.record.text());
      } }, P.say("save_record")),
      P.el("label", { for: "record-file", class: "plain" }, P.say("take_in")), file,
      P.el("button", { type: "button", class: "plain", click: function () { sure.hidden = !sure.hidden; } }, P.say("forget")), sure), said);
  }
})(Plyleaf);
