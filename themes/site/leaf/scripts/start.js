/* Begins what the page is for; the builder names it on this very script. */
"use strict";
(function (P) {
  var told = document.currentScript.dataset;
  var slugs = (told.moves || "").split(" ").filter(Boolean);
  P.startSettings();
  if (slugs.length && P.startReader) P.startReader(slugs);
})(Plyleaf);
