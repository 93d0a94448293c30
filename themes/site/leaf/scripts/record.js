/* What the reader got right and wrong, and when it is asked again. It stays in the browser (or,
   where that keeps nothing, on the page), and travels only as a file that the reader saves. */
"use strict";
(function (P) {
  var DAY = 24 * 60 * 60 * 1000, LONGEST_LOG = 40;
  /* Days until the next time, each about twice the one before. Our own choice. */
  var STEPS = [1, 3, 7, 16, 35, 80, 180];
  var items = null;

  function name() { return "record:" + P.data.booklet.id; }
  function all() {
    if (!items) items = clean((P.keep.read(name()) || {}).items) || {};
    return items;
  }
  function write() { P.keep.write(name(), { items: all() }); }

  P.record = {
    STEPS: STEPS,
    now: function () { return Date.now(); },
    get: function (id) { return Object.prototype.hasOwnProperty.call(all(), id) ? all()[id] : null; },
    /* Notes an answer. One found with help counts as right, but is asked again the next day. */
    note: function (id, right, helped) {
      var one = P.record.get(id) || { right: 0, wrong: 0, step: -1, due: 0, log: [] };
      var now = P.record.now();
      if (right) {
        one.right++;
        one.step = helped ? 0 : Math.min(one.step + 1, STEPS.length - 1);
        one.due = now + STEPS[one.step] * DAY;
      } else {
        one.wrong++;
        one.step = -1;
        one.due = now;
      }
      one.log = one.log.concat([[now, right ? 1 : 0]]).slice(-LONGEST_LOG);
      all()[id] = one;
      write();
    },
    isDue: function (id) {
      var one = P.record.get(id);
      return !one || one.due <= P.record.now();
    },
    words: function (id) {
      var one = P.record.get(id);
      if (!one) return P.say("not_tried");
      var next = new Date(Math.max(one.due, P.record.now()));
      return P.say("record_line", { right: one.right, wrong: one.wrong, date: next.toLocaleDateString(
        P.data.booklet.language, { day: "numeric", month: "long", year: "numeric" }) });
    },
    text: function () {
      return JSON.stringify({ record: "plyleaf", version: 1, booklet: P.data.booklet.id, items: all() }, null, 1) + "\n";
    },
    /* Takes in a saved record; of two entries the later stays. Gives how many were taken, or -1
       for what is no record of this booklet. */
    take: function (text) {
      var read = null, count = 0;
      try { read = JSON.parse(text); } catch (error) { return -1; }
      if (!read || read.record !== "plyleaf" || read.version !== 1 || read.booklet !== P.data.booklet.id) return -1;
      var taken = clean(read.items);
      if (!taken) return -1;
      Object.keys(taken).forEach(function (id) {
        var mine = P.record.get(id);
        if (mine && last(mine) >= last(taken[id])) return;
        all()[id] = taken[id];
        count++;
      });
      write();
      return count;
    },
    forget: function () {
      items = {};
      P.keep.drop(name());
    }
  };

  function last(one) { return one.log.length ? one.log[one.log.length - 1][0] : 0; }

  /* Only what has the right shape, whatever a file says; null where there is nothing like it. */
  function clean(read) {
    if (!read || typeof read !== "object" || Array.isArray(read)) return null;
    var found = Object.create(null);
    var count = function (value) { return Number.isFinite(value) && value >= 0 ? Math.floor(value) : 0; };
    Object.keys(read).slice(0, 100000).forEach(function (id) {
      var one = read[id];
      if (!one || typeof one !== "object" || id.length > 200) return;
      found[id] = { right: count(one.right), wrong: count(one.wrong), due: count(one.due),
        step: Number.isInteger(one.step) ? Math.max(-1, Math.min(one.step, STEPS.length - 1)) : -1,
        log: (Array.isArray(one.log) ? one.log : []).slice(-LONGEST_LOG)
          .filter(function (entry) { return Array.isArray(entry) && Number.isFinite(entry[0]); })
          .map(function (entry) { return [count(entry[0]), entry[1] ? 1 : 0]; }) };
    });
    return found;
  }
})(Plyleaf);
