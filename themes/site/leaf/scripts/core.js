/* The one namespace of the site's scripts, and what all of them need. Nothing is ever fetched:
   data files are classic scripts that assign to `Plyleaf.data`. */
"use strict";
var Plyleaf = { data: { moves: {} } };

(function (P) {
  var SVG = "http://www.w3.org/2000/svg";

  /* el("p", {class: "now", click: f}, "text", node …): functions are listeners. */
  P.el = function (tag, props) {
    return fill(document.createElement(tag), props, arguments);
  };
  P.svg = function (tag, props) {
    return fill(document.createElementNS(SVG, tag), props, arguments);
  };
  function fill(node, props, all) {
    Object.keys(props || {}).forEach(function (name) {
      var value = props[name];
      if (typeof value === "function") node.addEventListener(name, value);
      else if (value === true) node.setAttribute(name, "");
      else if (value !== false && value != null) node.setAttribute(name, value);
    });
    for (var i = 2; i < all.length; i++) if (all[i] != null) node.append(all[i]);
    return node;
  }

  /* The phrase of that key in the booklet's language, its gaps filled. */
  P.say = function (key, gaps) {
    return P.data.booklet.words[key].replace(/\{(\w+)\}/g, function (whole, name) {
      return gaps && name in gaps ? gaps[name] : whole;
    });
  };
  /* The same with moves in it, as nodes: moves are set in the face that draws figurines. */
  P.sayMoves = function (key, gaps) {
    return P.data.booklet.words[key].split(/(\{\w+\})/).map(function (part) {
      var name = /^\{(\w+)\}$/.exec(part);
      return name && name[1] in gaps ? gaps[name[1]] : part;
    });
  };

  /* --- what the reader's browser keeps; a browser that keeps nothing is no error ------------- */
  P.keep = {
    works: function () {
      try {
        localStorage.setItem("plyleaf:try", "1");
        localStorage.removeItem("plyleaf:try");
        return true;
      } catch (error) { return false; }
    },
    read: function (name) {
      try { return JSON.parse(localStorage.getItem("plyleaf:" + name)); }
      catch (error) { return null; }
    },
    write: function (name, value) {
      try { localStorage.setItem("plyleaf:" + name, JSON.stringify(value)); return true; }
      catch (error) { return false; }
    },
    drop: function (name) {
      try { localStorage.removeItem("plyleaf:" + name); } catch (error) { /* nothing was kept */ }
    }
  };

  /* --- moves as they are written --------------------------------------------------------------- */
  var STANDARD = "KQRBN";
  function swap(text, from, to) {
    return text.replace(/[A-Z]/g, function (letter) {
      var at = from.indexOf(letter);
      return at < 0 ? letter : to[at];
    });
  }
  P.reading = P.keep.read("reading") || {};
  P.figurines = function () {
    return P.reading.pieces ? P.reading.pieces === "figurines" : P.data.booklet.figurines;
  };
  /* SAN as the reader wants it; with `plain`, in letters for places without our font. */
  P.san = function (san, plain) {
    if (san === "--") return "\u2013";
    if (san.indexOf("O-O") === 0) return san.replace(/O/g, "0");
    return P.figurines() && !plain ? san : swap(san, STANDARD, P.data.booklet.letters);
  };
  /* Changes written moves between figurines and letters. */
  P.rewrite = function (text, toFigurines) {
    var letters = P.data.booklet.letters;
    return toFigurines ? swap(text, letters, STANDARD) : swap(text, STANDARD, letters);
  };

  /* The address of another page of the site. A chapter that was sent alone has what it shows on its
     own page, and nothing of the rest. */
  P.pageAddress = function (file) { return P.data.booklet.alone ? "" : file; };

  P.saveFile = function (name, type, content) {
    var address = URL.createObjectURL(new Blob([content], { type: type }));
    var link = P.el("a", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(function () { URL.revokeObjectURL(address); }, 10000);
  };

  /* Loads a data file once; `then` is called when it is there (also when it already was). */
  var loads = {};
  P.load = function (file, then) {
    var load = loads[file];
    if (!load) {
      load = loads[file] = { done: false, waiting: [] };
      document.head.append(P.el("script", { src: file, load: function () {
        load.done = true;
        load.waiting.splice(0).forEach(function (one) { one(); });
      } }));
    }
    if (load.done) then(); else load.waiting.push(then);
  };
  P.loadAll = function (files, then) {
    var left = files.length;
    if (!left) then();
    files.forEach(function (file) { P.load(file, function () { if (!--left) then(); }); });
  };
})(Plyleaf);
