/* The board beside the text. A move that is touched in the text, or stepped to, is shown on it
   and marked in the text; the text follows where the move isn't in view. */
"use strict";
(function (P) {
  var tree = P.tree, state = { node: null, diagram: null }, marks = {}, links = {}, parts = {};
  var chapters = [];

  /* chapters: the slugs whose moves the page holds. */
  P.startReader = function (slugs) {
    P.showsSolutions = P.here() === "solutions.html";
    chapters = slugs.map(function (slug) { return { slug: slug, data: P.data.moves[slug], tree: tree.add(slug) }; });
    chapters.forEach(function (chapter) {
      chapter.data.diagrams.forEach(function (row) {
        marks[row[0]] = { anchor: row[0], node: chapter.tree.at(row[1]), flip: !!row[2], turned: row[3] || "" };
      });
    });
    if (isNarrow() && !P.reading.board && !location.hash) document.documentElement.dataset.board = "away";
    build();
    findLinks();
    listen();
    var asked = fromAddress(), first = asked || firstNode();
    if (first) go(first.node, { diagram: first.diagram, quiet: !asked, still: true });
    P.go = go;
  };

  P.here = function () {
    return decodeURIComponent(location.pathname.split("/").pop()) || "index.html";
  };

  /* Whether a node stands on this page, as far as there are others. */
  function isHere(node) { return !node.page || !P.pageAddress(node.page) || node.page === P.here(); }

  function firstNode() {
    var figure = document.querySelector("main .diagram");
    var diagram = figure && marks[figure.id];
    if (diagram) return { node: diagram.node, diagram: diagram };
    var start = chapters.length && (chapters[0].tree.rows[0] || chapters[0].tree.starts[0]);
    return start ? { node: start.parent || start } : null;
  }

  function fromAddress() {
    var name = decodeURIComponent(location.hash.slice(1)).replace(/^board\./, "");
    if (Object.prototype.hasOwnProperty.call(marks, name)) return { node: marks[name].node, diagram: marks[name] };
    var game = document.getElementById(name), moves = game && game.matches(".game") && game.querySelector(".line");
    var line = moves ? [0, moves.id] : /^(.*)\.0$/.exec(name);
    var first = line && tree.node(line[1] + ".1");
    var node = first ? first.parent : tree.node(name);
    return node ? { node: node } : null;
  }

  /* --- what the companion is made of --------------------------------------------------------- */

  P.tool = function (key, icon, action, style) {
    var shape = P.svg("svg", { viewBox: "0 0 20 20", "aria-hidden": "true", focusable: "false" },
      P.svg("path", { d: ICONS[icon] }));
    return P.el("button", { type: "button", class: "tool " + (style || ""), click: action,
      "aria-label": P.say(key), title: P.say(key) }, shape);
  };
  var ICONS = {
    back: "M13 3 5 10l8 7z", on: "M7 3l8 7-8 7z",
    start: "M4 3v14M15 3 7 10l8 7z", end: "M16 3v14M5 3l8 7-8 7z",
    turn: "M6 17V4M2.5 7.5 6 4l3.5 3.5M14 3v13M10.500 12.500 14 16l3.500-3.500",
    up: "M3 13l7-7 7 7", down: "M3 7l7 7 7-7"
  };

  function build() {
    var board = new P.Board({ moved: played });
    parts.board = board;
    parts.now = P.el("p", { class: "companion-now" });
    parts.status = P.el("p", { class: "unseen", role: "status" });
    parts.next = P.el("div", { class: "companion-next" });
    parts.words = P.el("p", {});
    parts.kept = P.el("p", { class: "kept", role: "status" });
    parts.back = P.tool("move_back", "back", function () { step(-1); }, "back");
    parts.on = P.tool("move_on", "on", function () { step(1); }, "on");
    parts.start = P.tool("to_start", "start", function () { toEnd(-1); }, "start");
    parts.end = P.tool("to_end", "end", function () { toEnd(1); }, "end");
    parts.turn = P.tool("turn", "turn", turn, "turn");
    parts.handle = P.el("button", { type: "button", class: "handle", click: putAway });
    parts.keep = P.el("details", { class: "keep" }, P.el("summary", {}, P.say("keep")),
      P.el("div", { class: "sheet" },
        keepButton("copy_link", function () { copy(address()); }),
        keepButton("copy_fen", function () { copy(tree.fullFen(state.node)); }),
        keepButton("copy_pgn", function () { copy(P.pgn(state.node)); }),
        keepButton("save_picture", savePicture),
        parts.kept));
    var more = P.el("details", { class: "more" }, P.el("summary", {}, P.say("in_words")),
      parts.words, P.el("p", { class: "keys" }, P.say("keys")));
    parts.aside = P.el("aside", { class: "companion", id: "companion", tabindex: "-1", "aria-label": P.say("board") },
      P.el("div", { class: "bar" }, parts.handle, parts.now),
      P.el("div", { class: "companion-board" }, board.node),
      P.el("div", { class: "side" },
        P.el("div", { class: "tools" }, parts.turn, parts.start, parts.back, parts.on, parts.end),
        parts.next, parts.keep, more),
      parts.status);
    document.querySelector("main").after(parts.aside);
    document.querySelector(".skip").after(P.el("a", { class: "skip", href: "#companion", click: function (event) {
      event.preventDefault();
      show();
      parts.aside.focus();
    } }, P.say("board")));
    tellHandle();
    if (window.ResizeObserver) new ResizeObserver(measure).observe(parts.aside);
    window.addEventListener("resize", measure);
  }

  function keepButton(key, action) {
    return P.el("button", { type: "button", class: "plain", click: action }, P.say(key));
  }

  /* How much of the page's foot the board takes: 0 where it stands beside the text. */
  function measure() {
    var box = parts.aside.getBoundingClientRect();
    var height = box.width >= document.documentElement.clientWidth ? box.height : 0;
    document.documentElement.style.setProperty("--dock", Math.round(height) + "px");
  }

  function isNarrow() { return window.matchMedia("(max-width: 59.99rem)").matches; }
  function isAway() { return document.documentElement.dataset.board === "away"; }
  function putAway() {
    setAway(!isAway());
    P.reading.board = isAway() ? "away" : "shown";
    P.keep.write("reading", P.reading);
  }
  function show() { if (isAway()) setAway(false); }
  /* On a narrow page the board makes room for an exercise that is being answered. */
  P.makeRoom = function () { if (isNarrow() && !isAway()) setAway(true); };
  function setAway(away) {
    if (away) document.documentElement.dataset.board = "away";
    else delete document.documentElement.dataset.board;
    tellHandle();
    measure();
  }
  function tellHandle() {
    var text = P.say(isAway() ? "show_board" : "put_away");
    parts.handle.replaceChildren(P.svg("svg", { viewBox: "0 0 20 20", "aria-hidden": "true" },
      P.svg("path", { d: ICONS[isAway() ? "up" : "down"] })), P.el("span", {}, text));
    parts.handle.setAttribute("aria-label", text);
    parts.handle.setAttribute("aria-expanded", String(!isAway()));
  }

  /* --- moves in the text ----------------------------------------------------------------------- */

  function findLinks() {
    document.querySelectorAll("main a.move").forEach(function (link) {
      var found = (P.data.booklet.alone ? /#(.*)$/ : /#board\.(.*)$/).exec(link.getAttribute("href"));
      if (!found) return;
      (links[found[1]] = links[found[1]] || []).push(link);
      link.addEventListener("click", function (event) {
        var node = tree.node(found[1]);
        if (!node || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
        event.preventDefault();
        show();
        go(node, { from: link });
      });
    });
    document.querySelectorAll("main .diagram").forEach(function (figure) {
      var diagram = marks[figure.id], svg = figure.querySelector(".board");
      if (!diagram || !svg || figure.closest(".exercise")) return;
      svg.classList.add("leads");
      svg.addEventListener("click", function () {
        show();
        go(diagram.node, { diagram: diagram, from: figure });
      });
    });
  }

  /* Shows a node. how: {diagram, from: the element it was asked at, quiet: the address stays,
     still: the text stays}. */
  function go(node, how) {
    how = how || {};
    state.node = node;
    var seen = how.diagram || diagramAt(node);
    if (seen && seen !== state.diagram) parts.board.flip = seen.flip;
    state.diagram = seen;
    draw();
    mark(node, how);
    if (!how.quiet) tell(how.diagram ? how.diagram.anchor : node.anchor);
  }

  function diagramAt(node) {
    return Object.keys(marks).map(function (name) { return marks[name]; }).find(function (one) {
      return one.node === node && !(document.getElementById(one.anchor) || parts.aside).closest(".exercise");
    }) || null;
  }

  function draw() {
    var node = state.node, fen = tree.fen(node), diagram = state.diagram;
    var over = tree.isOver(fen);
    var title = node.parent ? P.say("position_after", { move: tree.label(node, true) })
      : P.say(/ 1$/.test(fen) && fen.indexOf("rnbqkbnr/pppppppp/8") === 0 ? "start_position" : "given_position");
    parts.board.show({ fen: fen, last: node.uci || "", over: over, title: title,
      marks: diagram && (parts.board.flip === diagram.flip ? marksOnPage(diagram) : diagram.turned) });
    var drawn = diagram && document.getElementById(diagram.anchor + "-drawn-d");
    if (drawn) parts.board.desc.textContent = drawn.textContent;
    parts.words.textContent = parts.board.desc.textContent;
    var turnWords = over ? "" : P.say(fen.split(" ")[1] === "w" ? "white_to_move" : "black_to_move");
    parts.now.replaceChildren(P.el("span", { class: node.parent ? "move" : "" }, node.parent ? tree.label(node) : title),
      P.el("span", { class: "turn" }, turnWords));
    parts.status.textContent = (node.parent ? tree.label(node, true) : title) + ". " + turnWords;
    parts.kept.textContent = "";
    choices();
    var next = tree.next(node);
    parts.back.disabled = parts.start.disabled = !node.parent;
    parts.on.disabled = parts.end.disabled = !next.length;
    tintArrows();
  }
  /* As the page shows the diagram, its marks are drawn there already. */
  function marksOnPage(diagram) {
    var figure = document.getElementById(diagram.anchor);
    return figure ? Array.from(figure.querySelectorAll(".board > .pb-mark")) : [];
  }
  function tintArrows() { [parts.back, parts.on, parts.start, parts.end].forEach(function (one) {
    one.setAttribute("aria-disabled", String(one.disabled)); }); }

  /* The ways on, and the other moves at this place. */
  function choices() {
    var next = tree.next(state.node), beside = tree.beside(state.node);
    parts.next.replaceChildren();
    if (next.length) row("goes_on", next);
    else parts.next.append(P.el("p", { class: "ends" }, P.say("ends_here")));
    if (beside.length > 1) row("instead", beside.filter(function (one) { return one !== state.node; }));
    if (state.node.parent && !isHere(state.node)) {
      parts.next.append(P.el("p", {}, P.el("a", { href: state.node.page + "#" + state.node.anchor }, P.say("read_there"))));
    }
  }
  function row(key, nodes) {
    var list = P.el("p", { class: "row" }, P.el("span", { class: "row-name" }, P.say(key)));
    nodes.forEach(function (node) {
      list.append(" ", P.el("button", { type: "button", class: "move choice", click: function () { go(node); } },
        tree.label(node)));
    });
    parts.next.append(list);
  }

  /* Marks the node's move in the text, and brings it into view where it isn't. */
  function mark(node, how) {
    document.querySelectorAll(".move.here").forEach(function (one) {
      one.classList.remove("here");
      one.removeAttribute("aria-current");
    });
    (node.anchor && links[node.anchor] || []).forEach(function (one) {
      one.classList.add("here");
      one.setAttribute("aria-current", "true");
    });
    var target = how.from || (how.diagram ? document.getElementById(how.diagram.anchor) : placeOf(node));
    if (target && !how.still) bring(target);
  }
  function placeOf(node) {
    return node.anchor ? document.getElementById(node.anchor) : node.children[0] && document.getElementById(
      node.children[0].line + ".0");
  }
  function bring(target) {
    var box = target.getBoundingClientRect();
    var dock = parseFloat(getComputedStyle(document.documentElement).getPropertyValue("--dock")) || 0;
    var room = window.innerHeight - dock;
    if (box.top >= 48 && box.bottom <= room - 24) return;
    window.scrollTo(0, window.scrollY + box.top - Math.min(room * 0.4, Math.max(48, room - box.height - 24)));
  }

  function address() {
    var page = isHere(state.node) ? "" : state.node.page;
    var name = state.node.anchor || (state.diagram && state.diagram.anchor) || lineStart(state.node);
    return new URL(page + (name ? "#" + name : ""), location.href.split("#")[0]).href;
  }
  function lineStart(node) { return node.children.length ? node.children[0].line + ".0" : ""; }
  function tell(name) {
    if (!name || !isHere(state.node)) return;
    try { history.replaceState(null, "", "#" + name); } catch (error) { /* the address stays */ }
  }

  /* --- stepping ---------------------------------------------------------------------------------- */

  function step(by) {
    var to = by < 0 ? state.node.parent : tree.next(state.node)[0];
    if (to) go(to);
  }
  function toEnd(by) {
    var node = state.node, next;
    if (by > 0) { while ((next = tree.next(node)[0])) node = next; }
    else { while (node.parent && (node.parent.line === node.line || !node.parent.parent)) node = node.parent; }
    if (by < 0 && node === state.node) while (node.parent) node = node.parent;
    if (node !== state.node) go(node);
  }
  function other(by) {
    var all = tree.beside(state.node);
    if (all.length > 1) go(all[(all.indexOf(state.node) + by + all.length) % all.length]);
  }
  function turn() {
    parts.board.flip = !parts.board.flip;
    draw();
  }
  /* A move made on the board is followed where the booklet has it. */
  function played(from, to) {
    var found = tree.next(state.node).find(function (one) { return one.uci.slice(0, 4) === from + to; });
    if (found) go(found); else draw();
  }

  function listen() {
    document.addEventListener("keydown", function (event) {
      var at = event.target;
      if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
      if (at.closest && at.closest("input, textarea, select, [contenteditable], dialog, .table, pre, .try")) return;
      var inside = parts.aside.contains(at);
      var act = { ArrowLeft: function () { step(-1); }, ArrowRight: function () { step(1); } }[event.key];
      if (!act && inside) {
        act = { ArrowUp: function () { other(-1); }, ArrowDown: function () { other(1); },
          Home: function () { toEnd(-1); }, End: function () { toEnd(1); },
          f: turn, F: turn }[event.key];
      }
      if (!act) return;
      event.preventDefault();
      act();
    });
    window.addEventListener("hashchange", function () {
      var found = fromAddress();
      if (found) go(found.node, { diagram: found.diagram, quiet: true });
    });
  }

  /* --- keeping and sharing ------------------------------------------------------------------------- */

  /* The line through a node, to its end or a pass, as a PGN game by the standard's export form. */
  P.pgn = function (node) {
    var path = tree.path(node), next;
    while ((next = tree.next(path[path.length - 1])[0]) && next.san !== "--") path.push(next);
    var start = path[0].given || path[0].fen;
    var given = start !== tree.START;
    var tags = [["Event", P.data.booklet.title], ["Site", "?"], ["Date", "????.??.??"], ["Round", "?"],
      ["White", "?"], ["Black", "?"], ["Result", "*"]];
    if (given) tags.push(["SetUp", "1"], ["FEN", start]);
    var head = tags.map(function (tag) {
      return "[" + tag[0] + ' "' + tag[1].replace(/\\/g, "\\\\").replace(/"/g, '\\"') + '"]';
    }).join("\n");
    var lines = [""];
    path.slice(1).map(function (one, index) {
      var fen = tree.fen(one.parent).split(" "), white = fen[1] === "w";
      return (white ? fen[5] + ". " : index ? "" : fen[5] + "... ") + one.san;
    }).join(" ").concat(" *").trim().split(" ").forEach(function (word) {
      var last = lines.length - 1;
      if (lines[last].length + word.length + 1 > 79) lines.push(word);
      else lines[last] += (lines[last] ? " " : "") + word;
    });
    return head + "\n\n" + lines.join("\n") + "\n";
  };

  function copy(text) {
    var done = function () { parts.kept.textContent = P.say("copied"); };
    var refused = function () {
      var field = P.el("textarea", { readonly: true, rows: 3, "aria-label": P.say("keep") });
      field.value = text;
      parts.kept.replaceChildren(P.say("not_copied"), field);
      field.select();
      try { if (document.execCommand("copy")) done(); } catch (error) { /* it stands there */ }
    };
    if (navigator.clipboard && navigator.clipboard.writeText) navigator.clipboard.writeText(text).then(done, refused);
    else refused();
  }

  function savePicture() {
    var picture = new Image(), name = (state.node.anchor || "board").replace(/[^a-z0-9.-]+/gi, "-") + ".png";
    picture.onload = function () {
      var canvas = P.el("canvas", { width: 1848, height: 1780 }), pen = canvas.getContext("2d");
      pen.fillStyle = "#fff";
      pen.fillRect(0, 0, canvas.width, canvas.height);
      pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
      canvas.toBlob(function (blob) { if (blob) P.saveFile(name, "image/png", blob); });
    };
    picture.src = "data:image/svg+xml;charset=utf-8," + encodeURIComponent(parts.board.file());
  }

  P.readerState = function () { return { node: state.node, flip: parts.board.flip, fen: tree.fullFen(state.node) }; };
})(Plyleaf);
