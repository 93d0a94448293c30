/* Every position of the booklet, by what makes two positions the same: placement, side to move,
   castling rights, and en passant where it is possible. Solutions and what follows a pass are
   left out. Loaded when it is asked for. */
"use strict";
(function (P) {
  var tree = P.tree, built = null;

  /* then(index): {at: {key: {nodes, next}}, chapters: {slug: [nodes]}}, all in reading order. `next`
     holds the booklet's moves there, those with a bad sign last, of equal ones the first. What is only
     in games isn't `taught`, and stands behind what is. */
  P.withIndex = function (then) {
    if (built) return then(built);
    var files = P.data.booklet.chapters.map(function (one) { return "assets/moves/" + one.slug + ".js"; });
    P.loadAll(files.concat("assets/positions.js"), function () {
      built = built || build();
      then(built);
    });
  };

  function build() {
    var index = { at: Object.create(null), chapters: {}, nodes: [] }, keys = P.data.positions.keys;
    P.data.booklet.chapters.forEach(function (chapter) {
      var data = P.data.moves[chapter.slug], held = tree.add(chapter.slug), of = P.data.positions.of[chapter.slug];
      held.starts.forEach(function (node, at) {
        node.key = keys[of.starts[at]];
        node.counts = true;
      });
      index.chapters[chapter.slug] = [];
      var printed = (P.data.positions.pages || {})[chapter.slug] || [];
      var played = (P.data.positions.played || {})[chapter.slug] || [];
      held.rows.forEach(function (node, at) {
        node.key = keys[of.rows[at]];
        node.counts = node.parent.counts && node.san !== "--" && !tree.isSolution(node);
        node.chapter = node.chapter || chapter;
        node.played = played[at] || 0;  /* how many of the booklet's games play it there */
        if (!node.counts) return;
        index.chapters[chapter.slug].push(node);
        if (data.lines[data.rows[at][0]][2]) return;  /* its own chapter tells it */
        node.chapter = chapter;
        node.printed = printed[at];  /* its page in the PDF, if there is one */
        index.nodes.push(node);
      });
    });
    var taught = index.nodes.filter(function (node) { return !node.game; });
    taught.concat(index.nodes.filter(function (node) { return node.game; })).forEach(function (node) {
      var here = place(index, node.key), before = place(index, node.parent.key);
      here.nodes.push(node);
      if (!node.parent.parent && !before.start) before.start = node.parent;
      if (node.game) return;
      here.taught = before.taught = true;
      if (!before.next.some(function (one) { return one.uci === node.uci; })) before.next.push(node);
    });
    Object.keys(index.at).forEach(function (key) {
      var next = index.at[key].next;
      index.at[key].next = next.filter(isGood).concat(next.filter(function (one) { return !isGood(one); }));
    });
    return index;
  }
  function place(index, key) {
    return index.at[key] = index.at[key] || { nodes: [], next: [], start: null };
  }
  /* NAGs 2, 4, 6: a bad, a very bad, a doubtful move (PGN standard, section 10). */
  function isGood(node) {
    return !node.nags.some(function (nag) { return nag === 2 || nag === 4 || nag === 6; });
  }
  P.isGood = isGood;
})(Plyleaf);
