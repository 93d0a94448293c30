/* Exercises that are answered on their own board. */
"use strict";
(function (P) {
  var tree = P.tree;

  P.startExercises = function (slugs) {
    slugs.forEach(function (slug) {
      var held = tree.add(slug);
      P.data.moves[slug].exercises.forEach(function (exercise) {
        var section = document.getElementById(exercise.anchor);
        var figure = section && section.querySelector(".diagram"), drawn = figure && figure.querySelector(".board");
        if (!drawn) return;
        var task = new P.Task(exercise, held, section.querySelector("details.hint"));
        drawn.replaceWith(task.ask.board.node);
        (section.querySelector("details.hint") || section.querySelector(".to-solution")).before(task.node);
        section.classList.add("asks");
        [task.ask.board.node, task.node].forEach(function (one) {
          ["pointerdown", "focusin"].forEach(function (kind) { one.addEventListener(kind, function () { P.makeRoom(); }); });
        });
      });
    });
  };

  /* exercise and held: as in the chapter's data and tree. hint: what to open first, or null. */
  P.Task = function (exercise, held, hint, done) {
    var self = this;
    this.exercise = exercise;
    this.hint = hint;
    this.done = done || function () {};
    this.answers = exercise.answers.map(held.at);
    this.first = this.answers[0].parent;
    this.ask = new P.Ask({ answer: function (move) { self.answered(move); },
      help: function () { self.help(); }, again: function () { self.begin(); } });
    this.ask.board.flip = !!exercise.flip;
    this.record = P.el("p", { class: "record" });
    this.node = this.ask.controls;
    this.node.append(this.record);
    this.begin();
    this.ask.say([P.say("answer_here")]);
  };
  P.Task.prototype.begin = function () {
    this.at = this.first;
    this.counts = true;
    this.helped = 0;
    this.ask.again.hidden = true;
    this.ask.help.hidden = false;
    this.ask.say([P.say("answer_here")]);
    this._show();
  };
  P.Task.prototype._show = function (pointed) {
    this.ask.show(tree.fen(this.at), this.at.uci, pointed);
    this.record.textContent = P.record.words(this.exercise.id);
  };
  /* The moves that are right here: the solution's, and others that its author lets pass. */
  P.Task.prototype._right = function () {
    var at = this.at, main = this.at.children.filter(function (one) { return tree.isSolution(one); });
    var known = this.answers.filter(function (one) { return one.parent === at; });
    return at === this.first ? known : main.slice(0, 1).concat(known);
  };
  P.Task.prototype.answered = function (move) {
    var here = tree.fen(this.at), label = P.labelled(here, move.san), same = function (one) { return one.uci === move.uci; };
    var right = this._right().find(same);
    if (this.counts) {
      this.counts = false;
      P.record.note(this.exercise.id, !!right, this.helped > 0);
      this.done(!!right);
    }
    if (right) this._goOn(right, label); else this._refuse(this.at.children.find(same), label, move);
    this.record.textContent = P.record.words(this.exercise.id);
  };
  P.Task.prototype._goOn = function (right, label) {
    var reply = right.children.find(function (one) { return tree.isSolution(one); });
    var said = P.sayMoves("right", { move: label });
    this.at = reply || right;
    this.helped = 0;
    if (reply) said.push(" ", P.say("goes_on"), " ", P.moveNode(tree.label(reply)), ".");
    var more = reply && this._right().length;
    if (!more) said.push(" ", P.el("a", { href: P.pageAddress("solutions.html") + "#" + this.exercise.solution }, P.say("solution")), ".");
    this.ask.say(said, "right");
    if (more) this.ask.show(tree.fen(this.at), this.at.uci); else this.ask.rest(tree.fen(this.at), this.at.uci);
    this.ask.help.hidden = !more;
    this.ask.again.hidden = false;
  };
  P.Task.prototype._refuse = function (known, label, move) {
    var reply = known && known.children[0];
    this.ask.again.hidden = false;
    if (!reply) {
      this.ask.say(P.sayMoves("wrong", { move: label }), "wrong");
      return this._show();
    }
    this.ask.say(P.sayMoves("wrong_reply", { move: label, reply: P.moveNode(tree.label(reply)) }), "wrong");
    this.ask.rest(tree.fen(reply), reply.uci);
    this.ask.help.hidden = true;
  };
  /* Help in steps: the booklet's hint, the piece, its square, the move. */
  P.Task.prototype.help = function () {
    var target = this._right()[0], step = ++this.helped + (this.hint && this.at === this.first ? 0 : 1);
    var from = target.uci.slice(0, 2), to = target.uci.slice(2, 4);
    if (step === 1) { this.hint.open = true; return this.ask.say([P.say("hint"), ": ", this.hint.lastElementChild ? Array.from(
      this.hint.children).slice(1).map(function (one) { return one.textContent; }).join(" ") : ""]); }
    if (step === 2) { this._show([P.square(from)]); return this.ask.say([P.say("help_piece", { square: from })]); }
    if (step === 3) { this._show([P.square(from), P.square(to)]); return this.ask.say([P.say("help_square", { square: to })]); }
    if (this.counts) {
      this.counts = false;
      P.record.note(this.exercise.id, false);
      this.done(false);
    }
    this.ask.say(P.sayMoves("expected", { move: P.moveNode(tree.label(target)) }));
    this.record.textContent = P.record.words(this.exercise.id);
  };
})(Plyleaf);
