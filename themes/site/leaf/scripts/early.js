/* Runs before the page is drawn: what the reader chose of light, size and signs, so that nothing
   jumps. `script` on the root tells the style sheet that the page has a board. */
(function () {
  "use strict";
  var root = document.documentElement;
  root.classList.add("script");
  try {
    var kept = JSON.parse(localStorage.getItem("plyleaf:reading")) || {};
    if (kept.light === "day" || kept.light === "night") root.dataset.light = kept.light;
    if (/^[a-z]+$/.test(kept.size || "")) root.dataset.size = kept.size;
    if (kept.board === "away") root.dataset.board = "away";
  } catch (error) { /* A browser may keep nothing for files: then the usual holds. */ }
})();
